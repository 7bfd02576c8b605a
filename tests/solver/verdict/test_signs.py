"""Which of metal and soil is above: kept beside the size of a voltage."""

import field_layouts as lay
import numpy as np
from numpy.testing import assert_allclose

from ohmscape.solver.exposure.places import TouchableMetal
from ohmscape.solver.exposure.surface import Area, surface_map
from ohmscape.solver.limits import OwnVoltage
from ohmscape.solver.model import Soil
from ohmscape.solver.solved_soil import Field
from ohmscape.solver.thin_wire import second_opinion
from ohmscape.solver.verdict import Exposure, Safety, Scene, Timing, judge
from ohmscape.viz.verdict_words import between
from ohmscape.viz.words.text import plain

AREA = Area((-1.0, -2.0), (7.0, 2.0), 0.5)
LIMIT = OwnVoltage("any", ((1.0, 50.0),))


def scene_at(volts):
    """A rod at the origin and another 3 m off, which reach out for 1 m each."""
    metal = lay.in_groups(
        lay.rod(length=2.0, radius=0.008),
        lay.rods([[3.0, 0.0]], length=2.0, radius=0.008),
    )
    solution = second_opinion(metal, soil=Soil((100.0,)))
    field = Field(solution, np.array(volts))
    metals = tuple(
        TouchableMetal(name, group, "points", np.array([[3.0 * group, 0.0]]), 1.0)
        for group, name in enumerate(("pole", "fence"))
    )
    surface = surface_map(AREA, field=field, metals=metals, pace=1.0)
    return Scene(field, surface, AREA, metals, 0.1, 0.1, 0.1)


def worst_of(volts):
    exposures = tuple(
        Exposure(name, "touch", LIMIT, (name,), (group,))
        for group, name in enumerate(("pole", "fence"))
    )
    timing = Timing(1.0, 1.0, "given")
    found = judge(Safety(exposures), scene=scene_at(volts), timing=timing).judgements
    return [(item, item.worst) for item in found]


def test_soil_above_a_fence_is_told_and_keeps_its_sign():
    # A fence tied to remote earth beside a rod at 100 V.
    (pole, at_pole), (fence, at_fence) = worst_of([100.0, 0.0])
    assert at_pole.signed == at_pole.voltage > 0
    assert_allclose(at_fence.signed, -at_fence.voltage)
    texts = [
        plain(between(place, item), units="SI", vocabulary="earth")
        for item, place in ((pole, at_pole), (fence, at_fence))
    ]
    assert "ABOVE" not in texts[0]
    assert texts[1].endswith("the soil ABOVE 'fence'")


def test_which_is_above_goes_by_the_side_of_the_largest_rise():
    signs = [
        [np.sign(place.signed) for _, place in worst_of(volts)]
        for volts in ([100.0, 0.0], [-100.0, 0.0], [100.0j, 0.0j])
    ]
    assert signs == [[1, -1]] * 3
