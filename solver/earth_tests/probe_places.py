"""Where a potential probe reads true under a given length of cable, and what to multiply by."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ..model import Flags, Floats
from .fall_of_potential import FallOfPotential, golden
from .leads import Leads

# Shares of the lead at which the plateau is looked at, beside 61.8 %.
_beside = (0.5, 0.7)
_least, _most = 0.1, 0.95  # shares of the lead between which a place is of use in line
_apart = 0.02  # of the lead: places nearer than that are one
_unseen = 0.1  # of a correction
slack = 0.5
"""How far a probe is taken to stand off its place. [m]"""


@dataclass(frozen=True)
class ProbePlace:
    """A place for the potential probe, and what is read there in each soil held.

    Attributes
    ----------
    leads : Leads
        Those to it and to the current probe.
    distance : float
        From the start of the leads. [m]
    why : str
        What is special about it.
    reading, true : ndarray of float, shape (s,)
        In each soil, the first as the case stands. [Ω]
    moved : float
        Largest relative change of the first reading if the probe stands `slack` nearer in or
        farther out.
    """

    leads: Leads
    distance: float
    why: str
    reading: Floats
    true: Floats
    moved: float

    @property
    def place(self) -> tuple[float, float]:
        """On the plan of the case. [m]"""
        x, y, _ = self.leads.potential_points(np.array([self.distance]))[0].tolist()
        return x, y

    @property
    def error(self) -> Floats:
        """Reading over true resistance less one, shape (s,)."""
        return self.reading / self.true - 1.0

    @property
    def factor(self) -> Floats:
        """What a reading is multiplied by to be true, shape (s,)."""
        return self.true / self.reading

    @property
    def doubt(self) -> float:
        """How far the truth may be from a reading times the first factor, relative.

        What the factor differs between soils, what a step of the probe changes, and a part of
        what it corrects: a tenth for what no soil held shows, all of it where only one is.
        """
        spread = float(np.abs(self.factor / self.factor[0] - 1.0).max())
        part = 1.0 if len(self.factor) == 1 else _unseen
        return spread + self.moved + part * abs(float(self.factor[0]) - 1.0)


Curves = Callable[[Leads, Sequence[float]], Sequence[FallOfPotential]]


def probe_places(curves: Curves, *, leads: Leads, longest: float) -> tuple[ProbePlace, ...]:
    """Places of the potential probe that are worth a reading, nearest first, in line first.

    Parameters
    ----------
    curves : callable
        Gives the readings along some leads at some distances in each soil held, the first as
        the case stands.
    leads : Leads
        In line with the current probe. The other lead goes off at a right angle.
    longest : float
        Longest lead to the potential probe. [m]

    Returns
    -------
    places : tuple of ProbePlace
        In line: 61.8 % with places beside it, where the reading is true as the case stands,
        and where the factor differs least between soils; across: the same without shares.
    """
    across = Leads(leads.start, leads.azimuth, leads.distance, leads.angle + 0.5 * np.pi)
    return tuple(
        place
        for each in (leads, across)
        for place in _along(curves, each, longest=longest, in_line=each is leads)
    )


def steadiest(places: Sequence[ProbePlace]) -> ProbePlace:
    """The place whose reading, corrected, is least in doubt; the farther of two alike."""
    return min(places, key=lambda one: (round(one.doubt, 4), -one.distance))


def _along(
    curves: Curves, leads: Leads, *, longest: float, in_line: bool
) -> Iterator[ProbePlace]:
    found = curves(leads, ())
    within = found[0].curve_distance / leads.distance
    useful = (within >= _least) & (within <= (_most if in_line else longest / leads.distance))
    wanted = list(_wanted(found, useful, in_line=in_line))
    kept: list[tuple[float, str]] = []
    for distance, why in wanted:  # in order of what is said of them
        if all(abs(distance - other) > _apart * leads.distance for other, _ in kept):
            kept.append((distance, why))
    kept.sort()
    asked = [distance + step for distance, _ in kept for step in (0.0, -slack, slack)]
    readings = [one.reading.reshape(-1, 3) for one in curves(leads, asked)]
    true = np.array([one.true_resistance for one in found])
    for number, (distance, why) in enumerate(kept):
        here, nearer, farther = readings[0][number]
        moved = max(abs(nearer / here - 1.0), abs(farther / here - 1.0))
        values = np.array([one[number, 0] for one in readings])
        yield ProbePlace(leads, distance, why, values, true, float(moved))


def _wanted(
    found: Sequence[FallOfPotential], useful: Flags, *, in_line: bool
) -> Iterator[tuple[float, str]]:
    """Distances and why, what matters most first."""
    first = found[0]
    low, high = first.curve_distance[useful][[0, -1]]
    if in_line:
        yield golden * first.leads.distance, "61.8 % of the lead"
    for best in first.best:
        if low <= best <= high:
            yield best, "reads true as the case stands"
    if len(found) > 1:
        factors = np.array([one.true_resistance / one.curve[useful] for one in found])
        spread = np.ptp(factors, axis=0) / factors[0]
        at = int(spread.argmin())
        yield float(first.curve_distance[useful][at]), "factor differs least between soils"
    if in_line:
        for share in _beside:
            yield share * first.leads.distance, f"{100 * share:.0f} %, for the slope"
    elif not first.best:
        yield float(high), "as far as the cable goes"
