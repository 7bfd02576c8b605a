"""What a judgement found, as plain data."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..heating import Heating
from ..limits import Effect, Limit
from ..model import Flags, Floats, Integers
from ..polygons import inside, on_or_inside
from .person import PersonThere

Outcome = Literal[
    "pass",
    "fail",
    "within the numerical error",
    "within the drop along the metal",
    "not evaluated",
]


@dataclass(frozen=True)
class JudgedPlace:
    """One voltage held against its limit.

    Attributes
    ----------
    metals : tuple of str
        What is touched; empty for a step.
    foot, other_foot : tuple of float, length 2, or None
        Plan places of the feet. None where there is none: no other foot in touch, no foot at
        all from hand to hand, remote earth for a voltage carried away. [m]
    ground : str
        What decides under the feet: the native soil or a surface layer by name.
    voltage : float
        Prospective (open-circuit) voltage, growth and decrement included. [V]
    limit : Limit
        What is permissible.
    effect : Effect or None
        What it does to a body; None where the limit set cannot say.
    signed : float or None
        The voltage as metal less foot, foot less other foot or metal less metal, in phase with
        the largest rise: below zero the soil is above the metal. None in results of earlier
        releases. [V]
    alike : int
        How many more places were found with as large a share on the same ground, as far from
        metal: round a rod, or at the corners of a grid.
    """

    metals: tuple[str, ...]
    foot: tuple[float, float] | None
    other_foot: tuple[float, float] | None
    ground: str
    voltage: float
    limit: Limit
    effect: Effect | None
    signed: float | None = None
    alike: int = 0

    @property
    def share(self) -> float:
        """Voltage over what is permissible; above 1 is unsafe."""
        return self.voltage / self.limit.voltage


@dataclass(frozen=True)
class GroundLimit:
    """What is permissible on one kind of ground.

    Attributes
    ----------
    name : str
        The native soil, or the user's name of a surface layer.
    outline : ndarray of float, shape (n, 2), or None
        Where it lies; None for the native soil. [m]
    limit : Limit
        What is permissible there.
    resistivity : float or None
        Of what the feet stand on; None in results of earlier releases. [Ω·m]
    """

    name: str
    outline: Floats | None
    limit: Limit
    resistivity: float | None = None


@dataclass(frozen=True)
class Judgement:
    """One exposure judged.

    Attributes
    ----------
    name, kind : str
        Of the exposure.
    metals : tuple of str
        What is touched; empty for a step.
    limit_name, limit_source, caution : str
        The limit set that decided, its standard, and for whom it does not hold.
    instead : str
        Why another limit set decided than the one asked for; empty where it did not.
    duration : float
        How long the voltage lasts. [s]
    error : float
        Estimated numerical error of the voltages. [V]
    places : tuple of JudgedPlace
        The worst ten at most that are not alike, worst first; empty where nobody can meet it.
    grounds : tuple of GroundLimit
        What is permissible on the native soil and on each surface layer.
    outline : ndarray of float, shape (n, 2), or None
        Where people stand; None anywhere in the mapped area. [m]
    pace : float
        Distance between the feet of a step. [m]
    share : ndarray of float or None, shape (n,)
        Voltage over what is permissible at each place of the surface map, not a number
        where nobody stands or reaches; None where a map means nothing.
    protects : str
        Whom the limit protects; empty in results of earlier releases.
    not_judged : str
        Why nothing can be judged for those who are there; empty where it can.
    step, step_direction : ndarray of float or None, shape (n,)
        Step voltage at each place of the surface map [V] and where it leads [rad], in the
        direction of the largest share: near edges of a ground not always that of the largest
        voltage. None where that is that of the map, and in results of earlier releases.
    drop : float
        What the voltages may be too low by, as metal is not at one potential; 0 where that
        is little. [V]
    """

    name: str
    kind: str
    metals: tuple[str, ...]
    limit_name: str
    limit_source: str
    caution: str
    instead: str
    duration: float
    error: float
    places: tuple[JudgedPlace, ...]
    grounds: tuple[GroundLimit, ...]
    outline: Floats | None
    pace: float
    share: Floats | None
    protects: str = ""
    not_judged: str = ""
    step: Floats | None = None
    step_direction: Floats | None = None
    drop: float = 0.0

    def stands(self, places: Floats) -> Flags:
        """Whether people stand at each plan place of shape (n, 2), shape (n,)."""
        if self.outline is None:
            return np.ones(len(places), dtype=bool)
        return on_or_inside(places, outline=self.outline)

    def permissible(self, places: Floats) -> Floats:
        """Permissible voltage at plan places of shape (n, 2), shape (n,). [V]"""
        if not self.grounds:
            return np.full(len(places), np.nan)
        return permissible(self.grounds, places=places)

    @property
    def worst(self) -> JudgedPlace | None:
        """The worst place."""
        return self.places[0] if self.places else None

    @property
    def worst_share(self) -> float:
        """Largest voltage over what is permissible; not a number where nobody meets it."""
        return self.places[0].share if self.places else float(np.nan)

    @property
    def outcome(self) -> Outcome:
        """Whether it is safe; all but "pass" counts as unsafe.

        An error in volts weighs more where the limit is low: a place that uses a smaller
        share of a lower limit than the worst one may be the one too close to it.
        """
        worst = self.worst
        if worst is None:
            return "not evaluated"
        if not worst.voltage <= worst.limit.voltage:  # also true for NaN
            return "fail"
        if not self._keeps(self.error):
            return "within the numerical error"
        return "pass" if self._keeps(self.doubt) else "within the drop along the metal"

    @property
    def doubt(self) -> float:
        """What voltages must keep from their limits: error and drop. [V]"""
        return self.error + self.drop

    def _keeps(self, more: float) -> bool:
        """Whether every place keeps its limit if voltages are larger by so much. [V]"""
        return all(item.voltage + more <= item.limit.voltage for item in self.places)


def deciding(grounds: Sequence[GroundLimit], *, places: Floats) -> Integers:
    """Row of the ground that decides at each place, the one of the lowest limit, shape (n,).

    Of the grounds the native soil comes first.
    """
    row = np.zeros(len(places), dtype=np.int64)
    lowest = np.full(len(places), np.inf)
    for number, ground in enumerate(grounds):
        if ground.outline is None:
            continue
        voltage = ground.limit.voltage
        lower = inside(places, outline=ground.outline) & (voltage < lowest)
        row[lower], lowest[lower] = number, voltage
    return row


def permissible(grounds: Sequence[GroundLimit], *, places: Floats) -> Floats:
    """Permissible voltage at plan places of shape (n, 2), shape (n,). [V]"""
    voltages = np.array([ground.limit.voltage for ground in grounds])
    return np.asarray(voltages[deciding(grounds, places=places)])


@dataclass(frozen=True)
class StepOutline:
    """Where the step voltage has a chosen value.

    Attributes
    ----------
    voltage : float
        The chosen value. [V]
    segments : ndarray of float, shape (n, 2, 2)
        Straight pieces of the outline; outside all of it, every step is below. [m]
    centre : tuple of float, length 2
        Middle of the live metal in plan. [m]
    radius : float
        Distance from there beyond which every step in the mapped area is below; 0 where
        every step is. [m]
    whole : bool
        Whether the mapped area holds all of the outline.
    distance : float or None
        The same from the nearest live metal in plan: metal of a group with current of its own
        into the soil. None in results of earlier releases, whose centre and radius were those
        of all metal, dead metal too. [m]
    polygons : tuple of ndarray of float, each of shape (n, 2)
        The segments joined, those of holes left out: closed outlines, the last corner joined
        to the first. [m]
    """

    voltage: float
    segments: Floats
    centre: tuple[float, float]
    radius: float
    whole: bool
    distance: float | None = None
    polygons: tuple[Floats, ...] = ()


@dataclass(frozen=True)
class Verdict:
    """All exposures of a run judged.

    Attributes
    ----------
    shortest, longest : float
        Duration of the fault, `math.inf` where nothing is certain to clear it. [s]
    duration_words : str
        Where the duration comes from.
    growth_factor, decrement_factor : float
        What the voltages of the operating point were multiplied with.
    judgements : tuple of Judgement
        One for each exposure, in the user's order.
    step_outline : StepOutline or None
        Where the step has the value asked for.
    broken_rules : tuple of str
        Rules for choosing protection that the case does not keep, in words.
    under_feet : str
        Where the ground under the feet comes from, in words; empty in results of earlier
        releases.
    heating : Heating or None
        Conductors and joints held against their temperature; None where nobody asked.
    people : tuple of PersonThere
        What somebody at the worst places gets with solved feet; empty where nobody asked. It
        decides on nothing.
    """

    shortest: float
    longest: float
    duration_words: str
    growth_factor: float
    decrement_factor: float
    judgements: tuple[Judgement, ...]
    step_outline: StepOutline | None
    broken_rules: tuple[str, ...] = ()
    under_feet: str = ""
    heating: Heating | None = None
    people: tuple[PersonThere, ...] = ()

    @property
    def passes(self) -> bool:
        """Whether every exposure is safe, every rule kept, and metal asked about holds."""
        safe = all(judgement.outcome == "pass" for judgement in self.judgements)
        holds = self.heating is None or not self.heating.failing
        return safe and holds and not self.broken_rules

    def outline_at(self, voltage: float, factors: tuple[float, float]) -> StepOutline | None:
        """The outline, if it is that of a voltage at such growth and decrement."""
        mine, found = (self.growth_factor, self.decrement_factor), self.step_outline
        return found if found and found.voltage == voltage and mine == factors else None

    @property
    def tightest(self) -> Judgement | None:
        """The exposure that uses the largest share of its limit."""
        met = [judgement for judgement in self.judgements if judgement.places]
        return max(met, key=lambda judgement: judgement.worst_share, default=None)
