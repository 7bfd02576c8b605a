"""Options side by side: what each reaches in each condition, and the cheapest that passes."""

from collections.abc import Sequence
from dataclasses import dataclass

from ..design import BillLine
from ..verdict import Judgement, Verdict, headline
from .result import Result


@dataclass(frozen=True)
class Held:
    """An option in one condition, by finite elements.

    Attributes
    ----------
    resistance : float
        Largest to remote earth of a driven electrode with its bonds. [Ω]
    rise : float
        Largest potential over remote earth. [V]
    verdict : Verdict or None
        None where the case declares no limits.
    """

    resistance: float
    rise: float
    verdict: Verdict | None

    @property
    def worst(self) -> Judgement | None:
        """The exposure that takes the largest share of its limit."""
        return None if self.verdict is None else self.verdict.tightest

    @property
    def passes(self) -> bool:
        """Whether the verdict says so; nothing passes that is not judged."""
        return headline(self.verdict).finding == "passes"


@dataclass(frozen=True)
class Option:
    """What may be built.

    Attributes
    ----------
    name : str
        Empty for what the case has as it stands.
    bill : tuple of BillLine
    price : float
        Of all of it.
    held : tuple of Held or None
        One for each condition, in their order; None where it was not solved.
    """

    name: str
    bill: tuple[BillLine, ...]
    price: float
    held: tuple[Held | None, ...]

    @property
    def whole(self) -> bool:
        """Whether it was solved in every condition."""
        return None not in self.held

    @property
    def passes(self) -> bool:
        """Whether it was solved in every condition, and the verdict of each says so."""
        return all(each is not None and each.passes for each in self.held)


@dataclass(frozen=True)
class Options:
    """Options against conditions.

    Attributes
    ----------
    conditions : tuple of str
        In which any of them was solved; empty text for the case as it stands.
    options : tuple of Option
        In the order of the case.
    currency : str
    """

    conditions: tuple[str, ...]
    options: tuple[Option, ...]
    currency: str

    @property
    def cheapest(self) -> Option | None:
        """The cheapest that passes in all conditions, of equal ones the first; or None."""
        passing = [option for option in self.options if option.passes]
        return min(passing, key=lambda option: option.price, default=None)


def options_of(results: Sequence[Result]) -> Options | None:
    """Options among results; None without prices, or where there is one alone.

    Parameters
    ----------
    results : sequence of Result
        Of a case and its variants, as `run_variants` gives them.
    """
    priced = [(result.option, result) for result in results if result.option is not None]
    names = list(dict.fromkeys(option.name for option, _ in priced))
    if len(names) < 2:
        return None
    conditions = tuple(dict.fromkeys(option.condition for option, _ in priced))
    held = {(option.name, option.condition): _held(result) for option, result in priced}
    first = {option.name: option for option, _ in reversed(priced)}
    return Options(
        conditions,
        tuple(
            Option(
                name,
                first[name].bill,
                first[name].price,
                tuple(held.get((name, condition)) for condition in conditions),
            )
            for name in names
        ),
        priced[0][0].currency,
    )


def _held(result: Result) -> Held:
    driven = [number for number, drive in enumerate(result.drives) if drive.kind != "floating"]
    return Held(max(map(result.resistance, driven)), result.rise, result.verdict)
