"""Metal with impedance in the soil: against another method, bounds and what must be true."""

import numpy as np
import pytest
import scipy.sparse as sparse
from numpy.testing import assert_allclose

from ohmscape.solver.bodies import Body, Cylinder
from ohmscape.solver.errors import CaseError, ConvergenceError
from ohmscape.solver.field import along_metal
from ohmscape.solver.field.along_metal import solve_along
from ohmscape.solver.field.driven import Driven
from ohmscape.solver.field.solution import solve
from ohmscape.solver.field.symmetric_gradients import symmetric_gradients
from ohmscape.solver.metal import tableau
from ohmscape.solver.metal.drop import Metal, drops
from ohmscape.solver.metal.network import network_of
from ohmscape.solver.metal.places import Feed
from ohmscape.solver.metal.step_by_step import StepByStep
from ohmscape.solver.metal.wiring import Port, Wiring
from ohmscape.solver.model import Conductors, Soil

from ..metal.whole_networks import (
    COPPER,
    GALVANISED,
    STEEL,
    Whole,
    metal_of,
    square_grid,
    wire,
)
from .along_metal_cases import bars_of, feed_at, mesh_of, polar, solved


@pytest.mark.parametrize(
    ("length", "material", "diameter", "resistivity", "frequency", "expected"),
    [
        # Impedance and its angle, far end over fed end, touch voltage 1 m beside the feed, of
        # wires 0.8 m deep: computed for this purpose by other code, by thin wires with the
        # image in the surface; 0.2 %, 0.1° and 0.5 %, and 0.1 % high at free ends.
        (200, COPPER, 0.008, 10, 0, (0.14066, 0, 0.7695, 0.0811)),
        (200, COPPER, 0.008, 10, 50, (0.14950, 14.67, 0.7132, 0.0873)),
        (500, COPPER, 0.008, 10, 50, (0.1355, 27.6, 0.1940, 0.0800)),
        (500, COPPER, 0.008, 100, 0, (0.5900, 0, 0.8591, 0.3196)),
        (500, COPPER, 0.008, 100, 50, (0.6072, 10.35, 0.8296, 0.3309)),
        (500, COPPER, 0.008, 100, 60, (0.6143, 12.25, 0.8181, 0.3355)),
        (500, STEEL, 0.010, 100, 0, (0.8182, 0, 0.4779, 0.4553)),
        (500, STEEL, 0.010, 100, 50, (1.0452, 18.64, 0.3129, 0.5973)),
        (1000, COPPER, 0.008, 100, 0, (0.3932, 0, 0.6083, None)),
        (1000, COPPER, 0.008, 100, 50, (0.4720, 24.14, 0.4783, 0.2587)),
        (1000, COPPER, 0.008, 1000, 50, (3.025, 4.59, 0.9372, 1.570)),
        (2000, STEEL, 0.010, 1000, 50, (3.553, 20.34, 0.2274, 1.893)),
        (2000, COPPER, 0.008, 10, 50, (0.1374, 27.8, 0.007, None)),
    ],
)
def test_wires_fed_at_an_end(length, material, diameter, resistivity, frequency, expected):
    size, angle, far, touch = expected
    found = solved(
        wire(length, diameter=diameter),
        Soil((float(resistivity),)),
        material=material,
        frequency=frequency,
        feeds=[Feed(0, 0.0), Feed(0, float(length))],
    )
    matrix = found.port_matrix
    assert abs(matrix[0, 0]) == pytest.approx(size, rel=2e-3)
    assert polar(matrix[0, 0])[1] == pytest.approx(angle, abs=0.1)
    loose = 0.03 if far < 0.02 else 2.5e-3
    assert abs(matrix[1, 0] / matrix[0, 0]) == pytest.approx(far, rel=loose, abs=5e-4)
    # Fed at either end a wire is the same, and so is what it hands over.
    assert_allclose(matrix, matrix.T, rtol=1e-8)
    assert matrix[1, 1] == pytest.approx(matrix[0, 0], rel=1e-3)
    if touch is not None:
        soil = Driven(found, np.array([1.0, 0.0])).potential(np.array([[0.0, 1.0, 0.0]]))
        assert abs(matrix[0, 0] - soil[0]) == pytest.approx(touch, rel=5e-3)


@pytest.mark.parametrize(
    ("frequency", "expected"),
    [(0, (0.14274, 0, 0.0358, 0.0577)), (50, (0.17994, 18.32, 0.0206, 0.0755))],
)
def test_a_wire_fed_in_its_middle(frequency, expected):
    # 1 km of steel in 10 Ω·m; source as above.
    size, angle, far, touch = expected
    found = solved(
        wire(1000, diameter=0.008),
        Soil((10.0,)),
        material=STEEL,
        frequency=frequency,
        feeds=[Feed(0, 500.0), Feed(0, 0.0), Feed(0, 1000.0)],
    )
    matrix = found.port_matrix
    assert abs(matrix[0, 0]) == pytest.approx(size, rel=2e-3)
    assert polar(matrix[0, 0])[1] == pytest.approx(angle, abs=0.1)
    assert abs(matrix[1, 0] / matrix[0, 0]) == pytest.approx(far, rel=0.01)
    assert matrix[2, 0] == pytest.approx(matrix[1, 0], rel=2e-3)
    points = np.array([[500.0, 1.0, 0.0], [500.0, -1.0, 0.0]])
    soil = Driven(found, np.array([1.0, 0.0, 0.0])).potential(points)
    assert_allclose(abs(matrix[0, 0] - soil), touch, rtol=5e-3)


def test_the_surface_along_a_wire_is_that_of_much_shorter_elements(monkeypatch):
    given = {"material": STEEL, "frequency": 50, "feeds": [Feed(0, 500.0)]}
    conductors, soil = wire(1000, diameter=0.008), Soil((10.0,))
    points = np.array([[500.0 + x, 1.0, 0.0] for x in (0, 10, 50, 100)])
    one = np.ones(1)
    usual = Driven(solved(conductors, soil, **given), one).potential(points)
    monkeypatch.setattr(along_metal, "_of_length", 0.03)
    fine = Driven(solved(conductors, soil, **given), one).potential(points)
    assert_allclose(abs(usual - fine), 0.0, atol=0.005 * abs(fine[0]))


def test_power_currents_and_port_matrix_balance():
    found = solved(
        wire(500, diameter=0.01),
        Soil((200.0, 30.0), (2.0,)),
        material=STEEL,
        frequency=60,
        feeds=[Feed(0, 100.0), Feed(0, 460.0)],
    )
    checks = found.checks
    assert checks.current < 1e-12
    assert checks.power < 1e-9
    assert checks.symmetry < 1e-9
    assert checks.residual < 1e-7
    assert max(checks.iterations) < 40
    # What enters leaks out, whatever the share of each port.
    drive = Driven(found, np.array([2.0, -0.5j]))
    assert drive.source_current.sum() == pytest.approx(2.0 - 0.5j)
    assert_allclose(drive.port_voltage, found.port_matrix @ drive.current)


@pytest.mark.parametrize("frequency", [0, 50])
def test_metal_without_resistance_is_at_one_potential(frequency):
    # Of alternating current induction is left; at 0.01 Hz it is nothing.
    soil = Soil((10.0,))
    conductors = square_grid(40, meshes=2)
    found = solved(
        conductors,
        soil,
        material=metal_of(1e-16, 1.0),
        frequency=frequency and 0.001,
        feeds=[feed_at(conductors, 0, 0), feed_at(conductors, 20, 20)],
    )
    even = solve(mesh_of(conductors, soil), soil=soil, conductors=conductors)
    assert_allclose(found.port_matrix, 1 / even.current_matrix[0, 0], rtol=1e-3)
    points = np.array([[-1.0, 0.5, 0.0], [10.0, 10.0, 0.0], [25.0, 50.0, 0.0]])
    rise = np.array([1.0]) / even.current_matrix[0]
    assert_allclose(
        Driven(found, np.array([1.0, 0.0])).potential(points),
        even.potential(points, voltage=rise),
        rtol=1e-3,
    )


@pytest.mark.parametrize("feed", [0.0, 150.0])
@pytest.mark.parametrize("soil", [Soil((10.0,)), Soil((100.0, 10.0), (2.0,))])
def test_direct_current_lies_between_its_bounds(soil, feed):
    # Rayleigh and Thomson: rigorous, of the discrete system too where it has the same elements.
    conductors, feeds = wire(300, diameter=0.01), [Feed(0, feed)]
    mesh = mesh_of(conductors, soil)
    found = solved(conductors, soil, material=STEEL, frequency=0, feeds=feeds)
    even = solve(mesh, soil=soil, conductors=conductors)
    resistance = 1 / even.current_matrix[0, 0]
    network = network_of(conductors, elements=even.elements, feeds=feeds)
    metal = Metal.of(
        network,
        conductors=conductors,
        bars=bars_of(STEEL, conductors),
        soil=soil,
        frequency=0.0,
        fed=np.array(network.fed),
    )
    leakage = even.current[0] * resistance
    worst, _ = drops(metal, leakage=leakage, places=[np.array(network.fed)])
    drop = worst.voltage[network.fed[0]].real
    assert resistance < found.port_matrix[0, 0] < resistance + drop
    assert drop > 0.1 * resistance


def test_a_slow_current_is_a_direct_one():
    conductors, soil = wire(200, diameter=0.01), Soil((20.0,))
    given = {"material": STEEL, "feeds": [Feed(0, 0.0), Feed(0, 200.0)]}
    direct = solved(conductors, soil, frequency=0, **given).port_matrix
    slow = solved(conductors, soil, frequency=1e-3, **given).port_matrix
    assert_allclose(slow, direct, rtol=1e-4)


def test_halves_of_a_grid_fed_at_its_centre_are_equal():
    conductors = square_grid(60, meshes=4)
    found = solved(
        conductors,
        Soil((30.0,)),
        material=GALVANISED,
        frequency=50,
        feeds=[feed_at(conductors, *place) for place in ((30, 30), (0, 0), (60, 0), (60, 60))],
    )
    corners = found.port_matrix[1:, 0]
    assert_allclose(corners, corners[0], rtol=2e-3)


def test_metal_apart_floats_by_itself():
    # Two bare wires 10 m apart, the first fed at its end; source as above, 0.2 %.
    start = [[0, 0, -0.8], [0, 10, -0.8]]
    end = [[500, 0, -0.8], [500, 10, -0.8]]
    conductors = Conductors.bare(start, end=end, radius=0.004, group=[0, 1])
    feeds = [Feed(0, 0.0), Feed(0, 500.0), Feed(1, 0.0), Feed(1, 500.0)]
    # On the usual mesh 0.24 % off.
    given = {"material": COPPER, "feeds": feeds, "fineness": 1.4}
    direct = solved(conductors, Soil((100.0,)), frequency=0, **given).port_matrix[:, 0]
    assert_allclose(direct, [0.58912, 0.50629, 0.22775, 0.22685], rtol=2e-3)
    found = solved(conductors, Soil((100.0,)), frequency=50, **given)
    matrix = found.port_matrix[:, 0]
    assert_allclose(abs(matrix[[0, 2, 3]]), [0.60639, 0.23319, 0.22475], rtol=2e-3)
    assert_allclose(np.degrees(np.angle(matrix[[0, 2, 3]])), [10.36, 7.68, -5.49], atol=0.1)
    # Largest current along the second, 2 %.
    network = found.wired.network
    second = network.piece == 1
    along = found.branch_current[0, : len(second)][second]
    assert abs(along).max() == pytest.approx(0.0114, rel=0.02)
    best = solved(conductors, Soil((10.0,)), frequency=50, **given).port_matrix[:, 0]
    assert_allclose(abs(best[[0, 2, 3]]), [0.1354, 0.03975, 0.01510], rtol=4e-3)


def test_voltage_along_metal_is_linear_between_its_nodes():
    found = solved(
        wire(100, diameter=0.01),
        Soil((20.0,)),
        material=STEEL,
        frequency=50,
        feeds=[Feed(0, 30.0)],
    )
    drive = Driven(found, np.array([10.0]))
    at = np.array([0.0, 30.0, 70.0, 100.0, 130.0])
    voltage = drive.metal_voltage(np.zeros(5, dtype=int), at)
    assert voltage[1] == pytest.approx(drive.port_voltage[0])
    assert voltage[3] == voltage[4]
    assert (np.diff(abs(voltage[1:4])) < 0).all()
    highest, lowest = drive.rises
    assert highest.place == pytest.approx((30, 0, -0.8))
    assert lowest.place == pytest.approx((100, 0, -0.8))
    assert highest.voltage == pytest.approx(voltage[1])
    assert lowest.voltage == pytest.approx(voltage[3])


def test_a_head_in_the_surface_has_the_voltage_of_its_metal():
    # Two rods at the ends of a steel wire: a foot on each is at the voltage of each.
    start = [[0, 0, -0.5], [0, 0, 0], [0, 0, -0.5], [200, 0, 0], [200, 0, -0.5]]
    end = [[200, 0, -0.5], [0, 0, -0.5], [0, 0, -3], [200, 0, -0.5], [200, 0, -3]]
    conductors = Conductors.bare(start, end=end, radius=[0.005, 0.01, 0.01, 0.01, 0.01])
    found = solved(
        conductors,
        Soil((20.0,)),
        material=STEEL,
        frequency=50,
        feeds=[Feed(1, 0.0), Feed(3, 0.0)],
    )
    drive = Driven(found, np.array([1.0, 0.0]))
    feet = drive.potential(np.array([[0.0, 0.0, 0.0], [200.0, 0.0, 0.0]]))
    assert_allclose(feet, drive.port_voltage, rtol=1e-3)
    assert abs(feet[1]) < 0.6 * abs(feet[0])


def test_a_solution_is_spared_what_another_has():
    conductors, soil = wire(100, diameter=0.01), Soil((20.0,))
    mesh = mesh_of(conductors, soil)
    even = solve(mesh, soil=soil, conductors=conductors)
    wiring = Wiring(bars_of(STEEL, conductors), 50.0, (Port("a", Feed(0, 0.0)),))
    alone = solve_along(mesh, soil=soil, conductors=conductors, wiring=wiring)
    beside = solve_along(mesh, soil=soil, conductors=conductors, wiring=wiring, like=even)
    assert beside.space is even.space
    assert_allclose(beside.port_matrix, alone.port_matrix, rtol=1e-12)


@pytest.mark.parametrize("along", [0.0, 7.3])
def test_a_system_that_was_kept_is_taken_over(along):
    # Between joints elements have to be shorter than those at one potential.
    conductors, soil = square_grid(60, meshes=3), Soil((200.0, 20.0), (2.0,))
    mesh = mesh_of(conductors, soil)
    even = solve(mesh, soil=soil, conductors=conductors, keep=True)
    feeds = Feed(0, along), feed_at(conductors, 40, 60)
    ports = tuple(Port(name, feed) for name, feed in zip("ab", feeds, strict=True))
    wiring = Wiring(bars_of(STEEL, conductors), 50.0, ports)
    over = solve_along(mesh, soil=soil, conductors=conductors, wiring=wiring, like=even)
    even.let_go()
    anew = solve_along(mesh, soil=soil, conductors=conductors, wiring=wiring, like=even)
    assert over.sources.same_as(even.sources) == (along == 0)
    assert_allclose(over.port_matrix, anew.port_matrix, rtol=1e-7)
    assert max(over.checks.iterations) <= max(anew.checks.iterations) + 2


@pytest.mark.parametrize("frequency", [0, 50])
def test_much_metal_is_solved_in_steps_to_the_same_end(frequency, monkeypatch):
    conductors, soil = square_grid(60, meshes=3), Soil((200.0, 20.0), (2.0,))
    given = {"material": STEEL, "frequency": frequency}
    given["feeds"] = [feed_at(conductors, 0, 0), feed_at(conductors, 40, 60)]
    at_once = solved(conductors, soil, **given)
    monkeypatch.setattr(tableau, "_directly", 0)
    in_steps = solved(conductors, soil, **given)
    assert_allclose(in_steps.port_matrix, at_once.port_matrix, rtol=1e-9)
    assert_allclose(in_steps.branch_current, at_once.branch_current, atol=1e-9)
    assert in_steps.checks.current < 1e-12


def test_equations_that_steps_do_not_solve_are_refused():
    # What is taken for near has nothing to do with it.
    rng = np.random.default_rng(1)
    some = rng.normal(size=(90, 90))
    whole = sparse.csc_matrix(some + some.T)
    in_steps = StepByStep(whole, near=sparse.eye_array(90, format="csc"), induction=None)
    with pytest.raises(ConvergenceError, match="90 unknowns are not solved in 60 steps"):
        in_steps(np.ones(90))


def test_a_system_that_is_not_positive_is_solved_all_the_same():
    # Complex symmetric with a real preconditioner; and one that breaks the recurrence down.
    rng = np.random.default_rng(2)
    some = rng.normal(size=(40, 40))
    matrix = some @ some.T + 40 * np.eye(40) + 1j * (some + some.T)
    right = rng.normal(size=40) + 1j * rng.normal(size=40)
    found = symmetric_gradients(right, operator=matrix.__matmul__, preconditioner=np.copy)
    assert_allclose(matrix @ found.unknowns, right, atol=1e-6)
    # rᵀr = 0 from the start: the longer way is taken.
    turned = np.array([1.0, 1j])
    found = symmetric_gradients(
        turned, operator=np.array([[2, 1], [1, 3]]).__matmul__, preconditioner=np.copy
    )
    assert_allclose(found.unknowns, [(3 - 1j) / 5, (2j - 1) / 5], atol=1e-7)
    with pytest.raises(ConvergenceError, match="alternating current"):
        symmetric_gradients(np.array([1.0, 1j]), operator=np.zeros_like, preconditioner=np.copy)


@pytest.mark.slow
def test_metal_through_a_body_is_cut_at_ports_too():
    # Of no resistance it is at one potential; of steel fed at an end its voltage falls through
    # the better body, where it leaks most.
    concrete = Body("block", Cylinder((10.0, 0.0), 3.0, 0.0, 2.0), 20.0)
    soil = Soil((200.0,), bodies=(concrete,))
    conductors, feeds = wire(30, diameter=0.02), [Feed(0, 0.0), Feed(0, 12.0), Feed(0, 30.0)]
    even = solve(mesh_of(conductors, soil), soil=soil, conductors=conductors)
    given = {"feeds": feeds, "frequency": 0}
    ideal = solved(conductors, soil, material=metal_of(1e-16, 1.0), **given)
    assert_allclose(ideal.port_matrix, 1 / even.current_matrix[0, 0], rtol=1e-3)
    poor = solved(conductors, soil, material=metal_of(1e-4, 1.0), **given).port_matrix[:, 0]
    assert poor[0] > 1.05 * poor[1] > 1.05 * poor[2]
    assert poor[0] - poor[1] > 1.5 * (poor[1] - poor[2])


def test_a_material_for_each_part_is_asked_for():
    conductors, soil = wire(100, diameter=0.01), Soil((20.0,))
    wiring = Wiring((), 50.0, (Port("a", Feed(0, 0.0)),))
    with pytest.raises(CaseError, match="materials of 0 parts for metal of 1"):
        solve_along(mesh_of(conductors, soil), soil=soil, conductors=conductors, wiring=wiring)


def test_a_current_for_each_port_is_asked_for():
    found = solved(
        wire(100, diameter=0.01),
        Soil((20.0,)),
        material=STEEL,
        frequency=0,
        feeds=[Feed(0, 0.0)],
    )
    with pytest.raises(CaseError, match="1 ports"):
        Driven(found, np.ones(2))


@pytest.mark.slow
@pytest.mark.parametrize("soil", [Soil((300.0, 20.0), (2.0,)), Soil((20.0, 400.0), (3.0,))])
@pytest.mark.parametrize("grid", [False, True])
def test_metal_in_layers_against_thin_wires(soil, grid):
    # Leakage by another method, in layers by images; what metal takes is the same code.
    conductors = square_grid(60, meshes=3) if grid else wire(300, diameter=0.01)
    far = (60, 60) if grid else (300, 0)
    feeds = [feed_at(conductors, 0, 0), feed_at(conductors, *far)]
    found = solved(
        conductors, soil, material=STEEL, frequency=50, feeds=feeds, fineness=1.4
    ).port_matrix[:, 0]
    whole = Whole(conductors, soil, longest=conductors.length.sum() / 500)
    node = whole.node(0, 0)
    voltage, _ = whole.solved(STEEL, 50.0, node)
    assert_allclose(found, voltage[[node, whole.node(*far)]], rtol=5e-3)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("size", "material", "resistivity", "frequency", "corner", "centre"),
    [
        # Fed at a corner: impedance, far corner, touch voltage 1 m outward of both corners and
        # in the mesh at each; fed at the centre: impedance, corner, touch in the mesh beside.
        # Square grids of 10 × 10 meshes, 11 mm, 0.8 m deep; computed for this purpose by other
        # code, by thin wires: 0.2 %, touch 0.7 % (200 m) and 1.5 %, far ones of the last 3 %.
        (
            200,
            COPPER,
            10,
            50,
            (0.03798, 0.02132, 0.01372, 0.00508, 0.01491, 0.00431),
            (0.02620, 0.02361, 0.00456),
        ),
        (
            200,
            GALVANISED,
            100,
            50,
            (0.33269, 0.22359, 0.1089, 0.0537, 0.1139, 0.0458),
            (0.26813, 0.23529, 0.0431),
        ),
        (
            500,
            COPPER,
            10,
            50,
            (0.04886, 0.00394, 0.0200, 0.00059, 0.0289, 0.00063),
            (0.02060, 0.00880, 0.00999),
        ),
    ],
)
def test_large_grids(size, material, resistivity, frequency, corner, centre):
    conductors, half, inside = square_grid(size), size / 2, size / 20
    feeds = [feed_at(conductors, *place) for place in ((0, 0), (size, size), (half, half))]
    found = solved(
        conductors,
        Soil((float(resistivity),)),
        material=material,
        frequency=frequency,
        feeds=feeds,
    )
    matrix, out = abs(found.port_matrix), np.sqrt(0.5)
    assert_allclose(matrix[:2, 0], corner[:2], rtol=3e-3, atol=5e-6)
    assert_allclose(matrix[[2, 0], 2], centre[:2], rtol=3e-3)
    plan = [-out, size + out, inside, size - inside, half + inside]
    soil = [
        Driven(found, np.eye(3)[k]).potential(np.column_stack([plan, plan, np.zeros(5)]))
        for k in (0, 2)
    ]
    metal = found.port_matrix[[0, 1, 0, 1], 0]
    assert_allclose(abs(metal - soil[0][:4]), corner[2:], rtol=0.01, atol=6e-6)
    assert abs(found.port_matrix[2, 2] - soil[1][4]) == pytest.approx(centre[2], rel=0.01)
