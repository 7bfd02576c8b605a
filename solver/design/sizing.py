"""What came of a search: designs tried, what is proven, and what each step more would buy."""

from collections.abc import Mapping
from dataclasses import dataclass

from .evaluation import Evaluation, Need
from .front import Chosen, Tried
from .quantities import BillLine
from .targets import Targets


@dataclass(frozen=True)
class Excluded:
    """A design that was ruled out unsolved.

    Attributes
    ----------
    chosen : tuple of int
    by : tuple of int
        The design that has all its metal and more, and does not reach what is asked.
    what : {"resistance", "rise"}
        The target that it misses.
    """

    chosen: Chosen
    by: Chosen
    what: str


@dataclass(frozen=True)
class Step:
    """One option more or less of one choice, and what it buys or loses.

    Attributes
    ----------
    choice, before, after : str
        The user's names.
    start, tried : Tried
        The design it goes from and the one it leads to, both by thin conductors.
    """

    choice: str
    before: str
    after: str
    start: Tried
    tried: Tried

    @property
    def cost(self) -> float:
        """What it costs more."""
        return self.tried.cost - self.start.cost

    @property
    def ohms(self) -> float:
        """By how much it changes the largest resistance of all conditions. [Ω]"""
        assert self.start.thin is not None
        assert self.tried.thin is not None
        return self.tried.thin.resistance - self.start.thin.resistance

    def volts(self, targets: Targets) -> float:
        """By how much it changes what decides on the design it goes from. [V]

        The voltage of that exposure in that condition, or the rise; not a number where the
        new design does not meet it.
        """
        assert self.start.thin is not None
        need = self.start.thin.deciding(targets)
        before, after = (_volts(item.thin, need) for item in (self.start, self.tried))
        return after - before


def _volts(evaluation: Evaluation | None, need: Need | None) -> float:
    """The voltage that a need is about, in another design. [V]"""
    assert evaluation is not None  # steps are between designs that were tried
    if need is None or need.met is None:
        return evaluation.rise
    return next(
        (
            met.voltage
            for each in evaluation.conditions
            if each.variant == need.condition.variant
            for met in each.met
            if met.exposure == need.met.exposure
        ),
        float("nan"),
    )


@dataclass(frozen=True)
class Sizing:
    """What came of a search.

    Attributes
    ----------
    title, units : str
        Of the case.
    choices : tuple of (str, tuple of str)
        Names of the choices, and of the options of each.
    targets : Targets
        What had to be reached.
    currency : str or None
        Of the prices; None where designs are ranked by metres of metal.
    possible : int
        Number of possible designs.
    tried : tuple of Tried
        Those that were tried, in the order of choices and options.
    bills : mapping of tuple of int to tuple of BillLine
        What each of them takes; none of one that cannot be built.
    excluded : tuple of Excluded
        Those ruled out unsolved.
    front : tuple of Tried
        Of cost against what they take of what is allowed; all solved by finite elements.
    cheapest : Tried or None
        The cheapest design found that passes; None where none does.
    nearest : Tried or None
        The one that takes least of what is allowed, where none passes.
    unsettled : tuple of Tried
        Cheaper designs of which it is not known whether they pass.
    steps : tuple of Step
        Each single step from the design that is shown.
    onward : tuple of Step
        One dearer step after the other, each buying most for its cost, until none helps.
    """

    title: str
    units: str
    choices: tuple[tuple[str, tuple[str, ...]], ...]
    targets: Targets
    currency: str | None
    possible: int
    tried: tuple[Tried, ...]
    bills: Mapping[Chosen, tuple[BillLine, ...]]
    excluded: tuple[Excluded, ...]
    front: tuple[Tried, ...]
    cheapest: Tried | None
    nearest: Tried | None
    unsettled: tuple[Tried, ...] = ()
    steps: tuple[Step, ...] = ()
    onward: tuple[Step, ...] = ()

    @property
    def shown(self) -> Tried:
        """The cheapest design that passes, or the nearest to passing."""
        found = self.cheapest or self.nearest
        assert found is not None  # a search without either raises
        return found

    @property
    def whole(self) -> bool:
        """Whether every possible design was tried or ruled out."""
        return len(self.tried) + len(self.excluded) == self.possible

    @property
    def proven(self) -> bool:
        """Whether no cheaper design passes, as far as the errors stated hold."""
        return self.cheapest is not None and self.whole and not self.unsettled

    def options(self, chosen: Chosen) -> tuple[str, ...]:
        """Names of the options of a design."""
        return tuple(
            options[number] for (_, options), number in zip(self.choices, chosen, strict=True)
        )
