"""What the texts of the guide take from elsewhere, so that it is said once: as Markdown."""

from collections.abc import Iterable, Sequence

from ...solver.soil_survey.kinds import USUAL_RESISTIVITY
from ...solver.soil_survey.seasons import BY_TEMPERATURE, BY_WATER
from ..cautions import ABOUT_EARTH_TESTS, ABOUT_SOUNDINGS, NEVER_ENERGISE
from ..words.vocabulary import terms


def insert(name: str) -> str:
    """Markdown of what is put in by that name; `KeyError` if there is none."""
    match name:
        case "never energise":
            return f"**{NEVER_ENERGISE}**"
        case "cautions of surveys":
            return _bullets(ABOUT_SOUNDINGS)
        case "cautions of tests":
            return _bullets(ABOUT_EARTH_TESTS)
        case "usual soils":
            rows = [(kind, f"{low:g} to {high:g}") for kind, low, high in USUAL_RESISTIVITY]
            return _table(("soil", "usual resistivity [Ω·m]"), rows)
        case "soil by temperature":
            rows = [(state, f"{value:g}") for state, value in BY_TEMPERATURE]
            return _table(("sandy loam with 15 % of water", "resistivity [Ω·m]"), rows)
        case "soil by water":
            lines = [(f"{share:g} %", f"{top:g}", f"{loam:g}") for share, top, loam in BY_WATER]
            return _table(("water by weight", "top soil [Ω·m]", "sandy loam [Ω·m]"), lines)
        case "both vocabularies":
            # No braces: these are the words themselves.
            return _table(("earth terms", "ground terms"), sorted(terms.values()))
        case _:
            raise KeyError(name)


def _bullets(items: Iterable[str]) -> str:
    return "\n".join(f"- {item}" for item in items)


def _table(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [header, ["---"] * len(header), *rows]
    return "\n".join(f"| {' | '.join(cells)} |" for cells in lines)
