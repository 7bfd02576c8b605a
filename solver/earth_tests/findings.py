"""What to mind in one predicted test."""

import math
from collections.abc import Iterator

from ..anisotropy import isotropic
from ..model import Soil
from ..wording import percent_text, spoken
from .clamp import ClampReading
from .driven_rod import DrivenRodTest
from .fall_of_potential import FallOfPotential

# Rule of the trade (IEEE Std 81, from memory): the current probe at five times the largest
# dimension of the electrode at least.
_far_enough = 5.0
# Readings a tenth of the lead on either side within this of each other count as a plateau.
_flat = 0.05
_noticeable = 0.02
_contrast = 2.0


def potential_findings(
    test: FallOfPotential, *, extent: float, soil: Soil, paths_connected: bool = False
) -> tuple[str, ...]:
    """What to mind in a fall-of-potential test, most of it to be seen only by simulation.

    Parameters
    ----------
    extent : float
        Largest dimension of the electrode. [m]
    paths_connected : bool, default False
        Whether paths beside the soil stay connected.
    """
    left_on = (
        "paths left on are in the reading, and carry current past the soil at the electrode: "
        "it is not the electrode's resistance, and 61.8 % is not the place to read it",
    )
    found = tuple(_of_potential(test, extent=extent, soil=soil))
    return (*left_on, *found) if paths_connected else found


def _of_potential(test: FallOfPotential, *, extent: float, soil: Soil) -> Iterator[str]:
    error, distance = test.usual_error, test.leads.distance
    if test.leads.in_line and abs(test.change) > _flat:
        yield (
            f"no plateau: between a tenth of the lead nearer in and farther out the reading "
            f"changes by {percent_text(abs(test.change))}: a single reading tells little"
        )
    if not test.leads.in_line and not test.best:
        yield "no place of the potential probe along this lead reads true"
    if extent > 0 and distance < _far_enough * extent:
        yield (
            f"the current probe is at {distance / extent:.2g} times the largest dimension of "
            f"the electrode; {_far_enough:g} times at least is usual (IEEE Std 81, from memory)"
        )
    soil = isotropic(soil)
    deep, top = soil.resistivity[-1], soil.resistivity[0]
    reach = distance / sum(soil.thickness) if soil.thickness else math.inf
    if soil.thickness and deep > _contrast * top and abs(error) > _noticeable:
        yield (
            f"better soil over worse: current spreads sideways and the leads are only "
            f"{reach:.2g} times as long as the upper layers are thick; the 61.8 % rule is for "
            "even soil"
        )
    if abs(error) > _noticeable:
        yield (
            f"the reading at 61.8 % is {percent_text(abs(error))} too "
            f"{'low' if error < 0 else 'high'}" + _remedy(test)
        )
    if test.slope is not None and test.slope.place is None:
        yield (
            f"slope coefficient {test.slope.coefficient:.2f} is out of the range of the slope "
            "method: the current probe is too near, or the leads start on the electrode"
        )


def _remedy(test: FallOfPotential) -> str:
    if not test.best:
        return ""
    share = test.best[-1] / test.leads.distance
    where = percent_text(share, decimals=1)
    return (
        f"; in this soil the true value is read at {where}, a place that only a model of "
        "the soil can tell: lead the current probe farther away if you can"
    )


def clamp_findings(reading: ClampReading) -> tuple[str, ...]:
    """What to mind in a two-clamp test."""
    if math.isinf(reading.reading):
        return (
            "there is no loop: a lone rod, or an open neutral, cannot be measured by clamps; "
            "the tester shows over-range",
        )
    found = []
    if reading.metal_loop:
        found.append(
            "the loop closes in metal: the reading is of wires and joints and says nothing "
            "about the soil"
        )
    if reading.true_resistance is not None and not reading.metal_loop:
        found.append(
            "the reading is the electrode and the rest of the loop in series; it is near the "
            "truth only while the rest is small beside it"
        )
    if reading.error is not None and abs(reading.error) > _noticeable:
        found.append(f"here it is {percent_text(reading.error, signed=True)} off")
    return tuple(found)


def rod_findings(test: DrivenRodTest) -> tuple[str, ...]:
    """What to mind in a driven-rod test."""
    longest = float(test.driven_length.max())
    found = [
        "the readings see the soil down to about the driven length, "
        f"{spoken(longest, figures=2)}; a grid sees deeper",
        "a rod that whips while it is driven leaves a gap and reads high, most in dry topsoil",
    ]
    if abs(test.error).max() > _noticeable:
        found.append(
            "the deepest readings are off by the leads: move the current probe farther away"
        )
    return tuple(found)
