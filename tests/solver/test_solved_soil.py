"""One exposure judged on soils solved by every method, and on one of a closed form."""

import field_layouts as lay
import numpy as np
import pytest
from half_sphere import Hemisphere
from measuring import solved
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from ohmscape.solver.axisymmetric import solve_rod
from ohmscape.solver.errors import CaseError
from ohmscape.solver.exposure.places import TouchableMetal
from ohmscape.solver.exposure.surface import Area, surface_map
from ohmscape.solver.exposure.worst import worst_step, worst_touch
from ohmscape.solver.limits import Ieee80
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.solved_soil import Field
from ohmscape.solver.thin_wire import second_opinion
from ohmscape.solver.verdict import Exposure, Safety, Scene, Timing, judge

AREA = Area((-3.0, -3.0), (3.0, 3.0), 0.25)
HEAD = TouchableMetal("head", 0, "points", np.array([[0.0, 0.0]]), 1.0)
PUBLIC = Ieee80("public", 50.0)
TOUCH = Exposure("at the head", "touch", PUBLIC, ("head",), (0,))
STEP = Exposure("walking", "step", PUBLIC)
LAYERED = Soil((100.0, 30.0), (1.7,))
VOLTS = np.array([200.0])
METHODS = ("finite elements", "thin conductors", "axisymmetric")


@pytest.fixture(scope="module")
def rods():
    """The same rod by every method."""
    rod = lay.rod(length=3.0, radius=0.008)
    return {
        "finite elements": solved(rod, soil=LAYERED),
        "thin conductors": second_opinion(rod, soil=LAYERED),
        "axisymmetric": solve_rod(rod, soil=LAYERED),
    }


@pytest.fixture(scope="module")
def rings():
    """A ring with rods by the methods that take one."""
    ring = lay.ring(diameter=4.0, radius=0.005, depth=0.5, sides=24)
    corners = [(2.0, 0.0), (-2.0, 0.0), (0.0, 2.0), (0.0, -2.0)]
    metal = lay.together(ring, lay.rods(corners, length=2.0, radius=0.008, top=0.5))
    return {
        "finite elements": solved(metal, soil=LAYERED),
        "thin conductors": second_opinion(metal, soil=LAYERED),
    }


def scene_of(solution, *, voltage=VOLTS):
    field = Field(solution, voltage)
    surface = surface_map(AREA, field=field, metals=[HEAD], pace=1.0)
    return Scene(field, surface, AREA, (HEAD,), *[field.voltage_error] * 3)


def judged(scene, *exposures, outline=None):
    safety = Safety(exposures, step_outline=outline)
    return judge(safety, scene=scene, timing=Timing(0.5, 0.5, "given"))


def agree(solutions):
    """Worst voltages of every method are no farther apart than both errors, added."""
    scenes = [scene_of(solution) for solution in solutions.values()]
    verdicts = [judged(scene, TOUCH, STEP).judgements for scene in scenes]
    for one, mine in zip(scenes, verdicts, strict=True):
        for other, theirs in zip(scenes, verdicts, strict=True):
            allowed = one.touch_error + other.touch_error
            for a, b in zip(mine, theirs, strict=True):
                assert abs(a.worst.voltage - b.worst.voltage) <= allowed
    return scenes


@pytest.mark.slow
def test_one_rod_is_judged_alike_by_all_methods(rods):
    scenes = agree(rods)
    for scene in scenes:
        # Errors that would let anything agree show nothing.
        assert 0 < scene.touch_error < 0.01 * VOLTS[0]
        field, surface = scene.field, scene.surface
        (touch,) = worst_touch(surface, index=0, metal=HEAD, field=field, area=AREA)
        (step,) = worst_step(surface, field=field, area=AREA)
        assert_allclose(np.hypot(*touch.foot), 1.0, atol=0.02)
        assert np.linalg.norm([step.foot, step.other_foot], axis=1).min() < 0.03
    maps = [scene.surface.potential for scene in scenes]
    assert_allclose(maps[0], maps[2], atol=0.005 * VOLTS[0])
    assert_allclose(maps[1], maps[2], atol=0.002 * VOLTS[0])


@pytest.mark.slow
def test_a_ring_with_rods_is_judged_alike_by_both_methods(rings):
    scenes = agree(rings)
    assert all(0 < scene.touch_error < 0.02 * VOLTS[0] for scene in scenes)
    # The metal is 0.5 m down and 2 m off, and not at what can be touched.
    shares = [judged(scene, TOUCH, STEP).tightest.worst_share for scene in scenes]
    assert_allclose(*shares, rtol=0.02)


def test_resistances_agree_within_their_stated_errors(rods, rings):
    for solutions in (rods, rings):
        for one in solutions.values():
            for other in solutions.values():
                apart = abs(one.current_matrix[0, 0] / other.current_matrix[0, 0] - 1)
                assert apart <= one.resistance_error + other.resistance_error


@pytest.mark.parametrize("method", METHODS)
def test_inside_the_metal_is_the_value_at_its_face(rods, method):
    field = Field(rods[method], VOLTS)
    depth = np.array([0.0, 0.5, 1.0, 2.0, 2.5])
    axis, inside, face = (
        field.potential(np.column_stack([np.full(5, x), np.zeros(5), -depth]))
        for x in (0.0, 0.004, 0.008)
    )
    assert_allclose(axis, VOLTS[0], rtol=0.005)
    for value in (inside, face):
        assert_allclose(value, axis, rtol=0.002)
    # And it is no other a hair outside.
    outside = field.potential(np.column_stack([np.full(5, 0.0081), np.zeros(5), -depth]))
    assert_allclose(outside, axis, rtol=0.005)


def test_under_a_film_it_is_the_soil_at_the_face_and_not_the_metal():
    bare = lay.rod(length=3.0, radius=0.008)
    filmed = Conductors(**vars(bare) | {"contact": np.array([2.0])})
    places = np.array([[0.0, 0.0, -1.0], [0.0, 0.0, -2.0]])
    methods = (solved(filmed, soil=LAYERED), second_opinion(filmed, soil=LAYERED))
    found = [Field(one, VOLTS).potential(places) for one in methods]
    exact = Field(solve_rod(filmed, soil=LAYERED), VOLTS).potential(places)
    # The film takes most of the rise.
    assert (exact < 0.7 * VOLTS[0]).all()
    for value in found:
        assert_allclose(value, exact, atol=0.01 * VOLTS[0])


@pytest.mark.parametrize("method", METHODS)
def test_elements_hold_the_current_and_lie_along_the_metal(rods, method):
    solution = rods[method]
    field = Field(solution, VOLTS)
    elements = solution.elements
    assert_allclose(field.element_current.sum(), VOLTS[0] * solution.current_matrix[0, 0])
    assert_allclose(field.part_current(), [field.element_current.sum()])
    assert_allclose(elements.length.sum(), 3.0, rtol=1e-6)
    assert_allclose(field.leakage * elements.length, field.element_current)
    # Good soil begins at 1.7 m: what is below takes its share.
    middle = 0.5 * (elements.start + elements.end)[:, 2]
    top, lower = (
        field.leakage[(middle > a) & (middle < b)].mean()
        for a, b in ((-1.4, -0.3), (-2.6, -1.9))
    )
    assert_allclose(lower / top, 100.0 / 30.0, rtol=0.25)


def test_pieces_end_to_end_are_one_rod_and_know_their_elements():
    radius = 0.008
    whole = lay.rod(length=3.0, radius=radius)
    halves = Conductors.bare(
        [[0, 0, -3.0], [0, 0, 0]], end=[[0, 0, -1.2], [0, 0, -1.2]], radius=radius
    )
    one, two = (solve_rod(metal, soil=LAYERED) for metal in (whole, halves))
    assert_allclose(two.current, one.current)
    middle = 0.5 * (two.elements.start + two.elements.end)[:, 2]
    np.testing.assert_array_equal(two.elements.piece, np.where(middle > -1.2, 1, 0))


@pytest.mark.parametrize(
    "metal",
    [
        lay.rod_pair(length=3.0, radius=0.008, spacing=3.0),
        lay.star(arms=2, arm=3.0, radius=0.005, depth=0.5),
    ],
    ids=["two rods", "lying"],
)
def test_what_is_not_one_rod_is_refused(metal):
    with pytest.raises(CaseError, match="not one vertical rod"):
        solve_rod(metal, soil=LAYERED)


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("point", [[1.0, 0.0, 0.2], [np.nan, 0.0, -1.0]], ids=str)
def test_points_in_the_air_or_nowhere_are_refused_by_all(rods, method, point):
    with pytest.raises(CaseError, match="points must be finite and have z <= 0"):
        Field(rods[method], VOLTS).potential(np.array([point]))


@pytest.mark.parametrize("method", METHODS)
def test_out_of_phase_voltages_are_as_their_parts(rods, method):
    places = np.array([[0.4, 0.1], [2.0, -1.0]])
    turned = Field(rods[method], VOLTS * np.exp(0.7j)).surface_potential(places)
    plain = Field(rods[method], VOLTS).surface_potential(places)
    assert_allclose(turned, plain * np.exp(0.7j), rtol=1e-12)


def test_a_hemisphere_of_ones_own_is_judged_exactly():
    a = 0.3
    scene = scene_of(Hemisphere(a))
    touch, step = judged(scene, TOUCH, STEP).judgements
    # The foot at the end of reach, 1 m from the centre.
    assert_allclose(touch.worst.voltage, VOLTS[0] * (1 - a), rtol=1e-4)
    assert_allclose(np.hypot(*touch.worst.foot), 1.0, rtol=1e-4)
    # One foot on the rim of the metal, the other straight outwards: V (1 - a / (a + 1)).
    assert_allclose(step.worst.voltage, VOLTS[0] / (1 + a), rtol=1e-3)
    feet = sorted(np.hypot(*foot) for foot in (step.worst.foot, step.worst.other_foot))
    assert_allclose(feet, [a, 1 + a], atol=0.01)
    # (1000 + 1.5 ρ) 0.116 / √t and (1000 + 6 ρ) 0.116 / √t, IEEE Std 80-2000 (from memory).
    for found, ohms in ((touch, 1150.0), (step, 1600.0)):
        limit = ohms * 0.116 / np.sqrt(0.5)
        assert_allclose(found.worst.limit.voltage, limit, rtol=1e-12)
        assert_allclose(found.worst_share, found.worst.voltage / limit, rtol=1e-12)
    assert (touch.outcome, step.outcome) == ("pass", "pass")


def test_steps_round_a_hemisphere_fall_as_the_closed_form():
    a, chosen = 0.3, 20.0
    scene = scene_of(Hemisphere(a))
    r = np.hypot(*scene.surface.places.T)

    def outwards(r):
        return VOLTS[0] * a * (1 / r - 1 / (r + 1))

    # A foot here and one a pace away, inwards where that is steeper than outwards.
    far = r > 1 + a
    assert_allclose(scene.surface.step[far], outwards(r[far] - 1), rtol=2e-3)
    outline = judged(scene, STEP, outline=chosen).step_outline
    exact = 1 + brentq(lambda x: outwards(x) - chosen, a, 10.0)
    assert_allclose(outline.radius, exact, rtol=0.02)


def test_an_error_stated_by_the_method_takes_the_verdict_back():
    solution = Hemisphere(0.3)
    limit = 1150 * 0.116 / np.sqrt(0.5)
    voltage = np.array([0.98 * limit / 0.7])
    exact = judged(scene_of(solution, voltage=voltage), TOUCH).judgements[0]
    rough = Hemisphere(0.3, resistance_error=0.05)
    doubtful = judged(scene_of(rough, voltage=voltage), TOUCH).judgements[0]
    assert exact.outcome == "pass"
    assert doubtful.outcome == "within the numerical error"
