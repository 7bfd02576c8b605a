"""Words on uncertainty that text, tables and picture share."""

from collections.abc import Iterator

from ...solver.uncertainty.answers import Chance
from ...solver.uncertainty.found import Answer, Uncertainty
from ...solver.wording import number_text, percent_text
from ..cautions import FOR_ENGINEERS
from ..wording import share_text, significant, with_unit

ABOUT_UNCERTAINTY = (
    FOR_ENGINEERS,
    "Probabilities are those of the distributions that the case states and of the readings of "
    "its survey: what neither holds (soil that is not layers, metal of neighbours, another "
    "season, a mistake) is in none of them. A probability of passing is no permission.",
    "Draws are tried by thin conductors; a few are solved by finite elements beside them.",
)


def answer_name(answer: Answer) -> str:
    """What an answer is of, with its condition."""
    names = {
        "resistance": "resistance",
        "rise": "rise",
        "share": f"{answer.exposure}: share of the limit",
        "worst": "largest share of any limit",
    }
    where = "" if answer.what == "worst" or not answer.condition else f" ({answer.condition})"
    return names[answer.what] + where


def value_text(answer: Answer, value: float) -> str:
    """A value of an answer with its unit."""
    if answer.what == "resistance":
        return f"{significant(value)} Ω"
    if answer.what == "rise":
        return with_unit(value, symbol="V")
    return share_text(value)


def chance_text(chance: Chance) -> str:
    """How probable a pass is, with the error of sampling."""
    error = percent_text(chance.error, decimals=1)
    if chance.share == 0.0:
        return f"in no draw (below {error})"
    if chance.share == 1.0:
        return f"in every draw (above {percent_text(1 - chance.error, decimals=1)})"
    return f"{percent_text(chance.share, decimals=1)} ± {error}"


def main_answers(found: Uncertainty) -> list[Answer]:
    """The answers that inputs and pictures are told of: resistance, what decides."""
    last = found.answer("worst") or found.answer("rise")
    return [item for item in (found.answer("resistance"), last) if item is not None]


def notes(found: Uncertainty) -> Iterator[str]:
    """What was drawn and how far it is to be trusted."""
    draws = number_text(len(found.shares), "draw")
    yield f"{draws} of {number_text(len(found.inputs), 'input')}, seed {found.seed}."
    if found.soils:
        yield (
            "The soil is drawn as probable as the readings of its survey leave it, with the "
            f"number of layers chosen; {found.soils:,.0f} soils count."
        )
    if found.unjudged:
        yield f"NOT JUDGED in some draw: {', '.join(found.unjudged)}."
    for proof in found.proofs:
        yield (
            f"Draw {proof.number} (near {proof.at}) by finite elements: resistance "
            f"{_apart(proof.resistance)}{_share(proof.share)}."
        )


def _apart(values: tuple[float, float]) -> str:
    return f"{percent_text(values[1] / values[0] - 1, decimals=2, signed=True)} from it"


def _share(values: tuple[float, float]) -> str:
    if values[0] != values[0]:
        return ""
    return f", largest share of a limit {_apart(values)}"
