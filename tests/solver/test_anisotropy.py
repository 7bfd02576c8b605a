"""Layers that lead better sideways than upright: against independent values and integrals."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from scipy.special import j0

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.solver.anisotropy import isotropic, stretched, twin_of, unstretched
from ohmscape.solver.axisymmetric import solve_rod
from ohmscape.solver.bodies import Body, Prism
from ohmscape.solver.errors import CaseError, LayersOnlyError
from ohmscape.solver.field.conductivity import layered_elements
from ohmscape.solver.field.sensitivity import soil_shares
from ohmscape.solver.field.solution import solve
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.solved_soil import Field
from ohmscape.solver.thin_wire import second_opinion


def soil(horizontal, vertical, thickness=()):
    return Soil(horizontal, thickness, vertical_resistivity=vertical)


def rod(length=3.0):
    return Conductors.bare([0.0, 0.0, 0.0], end=[0.0, 0.0, -length], radius=0.008)


def grid(side=10.0, depth=0.5, radius=0.005):
    lines = np.linspace(-side / 2, side / 2, 3)
    along = [((x, lines[k], -depth), (x, lines[k + 1], -depth)) for x in lines for k in (0, 1)]
    along += [((a[1], a[0], a[2]), (b[1], b[0], b[2])) for a, b in along]
    start, end = (np.array([piece[k] for piece in along]) for k in (0, 1))
    return Conductors.bare(start, end=end, radius=radius)


def solved(metal, ground, fineness=1.6):
    plan = mesh_plan(metal, soil=ground, fineness=fineness, growth_limit=0.4)
    return solve(build_mesh(plan), soil=ground, conductors=metal)


def resistance(solution):
    return 1.0 / float(solution.current_matrix[0, 0])


def volts_per_ampere(solution, points):
    volts = np.array([resistance(solution)])
    return solution.potential(np.array(points, dtype=float), voltage=volts)


# Computed independently: coordinate stretch, thin wire, elements of two radii at free ends;
# bands 0.2 % of R, potentials 0.3 % of R.
ROWS = [
    (rod(), soil((100.0,), (400.0,)), 36.922, {(1, 0, 0): 12.826, (3, 0, 0): 7.532}),
    (rod(), soil((200.0,), (50.0,)), 58.953, {(1, 0, 0): 12.451, (3, 0, 0): 5.087}),
    (
        grid(),
        soil((100.0,), (400.0,)),
        8.945,
        {(2.5, 2.5, 0): 6.547, (6, 0, 0): 5.851, (6, 6, 0): 4.424},
    ),
]


@pytest.mark.parametrize(("metal", "ground", "ohms", "potentials"), ROWS)
def test_rods_and_grid_in_uniform_anisotropic_soil(metal, ground, ohms, potentials):
    for found in (solved(metal, ground), second_opinion(metal, soil=ground)):
        assert_allclose(resistance(found), ohms, rtol=0.002)
        at = volts_per_ampere(found, list(potentials))
        assert_allclose(at, list(potentials.values()), atol=0.003 * ohms)


def test_a_rod_with_its_true_face_agrees():
    ground = soil((100.0,), (400.0,))
    found = solve_rod(rod(), soil=ground)
    assert_allclose(resistance(found), 36.922, rtol=0.002)
    assert_allclose(volts_per_ampere(found, [(1, 0, 0)]), 12.826, atol=0.003 * 36.9)
    assert_allclose(found.elements.end[-1], [0.0, 0.0, -3.0], atol=1e-9)
    assert_allclose(found.elements.length.sum(), 3.0, rtol=1e-9)


def test_alike_upright_and_sideways_is_isotropic_to_the_last_digit():
    plain = Soil((100.0, 30.0), (1.0,))
    same = soil((100.0, 30.0), (100.0, 30.0), (1.0,))
    metal = rod()
    assert isotropic(same) is same
    assert twin_of(metal, soil=same).conductors is metal
    one, other = solved(metal, plain), solved(metal, same)
    assert_array_equal(one.current_matrix, other.current_matrix)
    # And nothing jumps on the way there.
    near = soil((100.0, 30.0), (100.0 * (1 + 1e-9), 30.0), (1.0,))
    assert_allclose(
        second_opinion(metal, soil=near).current_matrix,
        second_opinion(metal, soil=plain).current_matrix,
        rtol=1e-7,
    )


def point_source(points, at, horizontal, vertical):
    """Potential of 1 A in an anisotropic half-space, in real coordinates (Maillet 1947)."""
    total = 0.0
    for sign in (1.0, -1.0):
        away = points - np.asarray(at) * [1.0, 1.0, sign]
        metric = horizontal * (away[..., :2] ** 2).sum(axis=-1) + vertical * away[..., 2] ** 2
        total = total + horizontal * np.sqrt(vertical) / (4 * np.pi * np.sqrt(metric))
    return total


@pytest.mark.slow
def test_far_away_it_is_the_closed_form_of_a_point():
    ground = soil((60.0,), (540.0,))
    wire = Conductors.bare([-0.1, 0.0, -2.0], end=[0.1, 0.0, -2.0], radius=0.004)
    places = np.array([(7.0, 3.0, 0.0), (0.0, 6.0, -4.0), (2.0, -4.0, -9.0), (0.0, 0.0, -8.0)])
    exact = point_source(places, (0.0, 0.0, -2.0), 60.0, 540.0)
    for found in (solved(wire, ground), second_opinion(wire, soil=ground)):
        assert_allclose(volts_per_ampere(found, places), exact, rtol=0.004)


def wire_in_real_coordinates(start, end, radius, *, horizontal, vertical, series=0.0):
    """Resistance of a straight wire by moments in the point source itself, nothing stretched.

    Even currents on lengths of the axis, the first of 1.5 radii; potentials the means over
    the face of the round wire, 24 places round it, each length of the axis by the exact
    integral of the anisotropic 1/r and its mirror. In series a drop per leakage [Ω·m].
    """
    start, end = np.array(start, float), np.array(end, float)
    length = float(np.linalg.norm(end - start))
    parts = int(0.5 * np.pi * np.sqrt(length / (1.5 * radius)))
    cuts = 0.5 * (1 - np.cos(np.pi * np.linspace(0, 1, parts + 1)))
    ends = start + cuts[:, None] * (end - start)
    along = (end - start) / np.linalg.norm(end - start)
    one = np.cross(along, [0.3, 0.4, 0.8])
    one /= np.linalg.norm(one)
    other = np.cross(along, one)
    angle = 2 * np.pi * (np.arange(24) + 0.5) / 24
    ring = radius * (np.cos(angle)[:, None] * one + np.sin(angle)[:, None] * other)
    node, weight = np.polynomial.legendre.leggauss(8)
    share = cuts[:-1, None] + 0.5 * (node + 1) * np.diff(cuts)[:, None]
    points = (start + share[..., None] * (end - start))[:, :, None] + ring
    metric = np.array([horizontal, horizontal, vertical])
    matrix = np.diag(series / (length * np.diff(cuts)))
    for sign in (1.0, -1.0):
        low, high = (each * [1.0, 1.0, sign] for each in (ends[:-1], ends[1:]))
        for k in range(parts):
            step = high[k] - low[k]
            off = points - low[k]
            a, b = step @ (metric * step), (off * metric) @ step
            c = (off**2 * metric).sum(axis=-1)
            # The integral of dt / sqrt(a t² - 2 b t + c) from 0 to 1.
            root = np.sqrt(np.maximum(a * c - b**2, 1e-300))
            value = (np.arcsinh((a - b) / root) + np.arcsinh(b / root)) / np.sqrt(a)
            mean = value.mean(axis=2) @ weight / 2
            matrix[:, k] += horizontal * np.sqrt(vertical) / (4 * np.pi) * mean
    return 1.0 / np.linalg.solve(matrix, np.ones(parts)).sum()


@pytest.mark.parametrize("ends", [
    ((0.0, 0.0, -0.8), (2.4, 0.6, -2.5)),  # inclined
    ((0.0, 0.0, -0.8), (0.9, 0.2, -3.3)),  # steep
    ((0.0, 0.0, -0.8), (3.0, 0.5, -0.8)),  # level
    ((0.0, 0.0, -0.8), (0.0, 0.0, -3.5)),  # vertical
])  # fmt: skip
@pytest.mark.parametrize(("horizontal", "vertical"), [(100.0, 900.0), (300.0, 60.0)])
def test_round_wires_of_any_inclination(ends, horizontal, vertical):
    ground = soil((horizontal,), (vertical,))
    exact = wire_in_real_coordinates(*ends, 0.004, horizontal=horizontal, vertical=vertical)
    wire = Conductors.bare(ends[0], end=ends[1], radius=0.004)
    found = second_opinion(wire, soil=ground)
    assert_allclose(resistance(found), exact, rtol=0.002)


def test_an_inclined_wire_by_finite_elements():
    ends = ((0.0, 0.0, -0.8), (2.4, 0.6, -2.5))
    exact = wire_in_real_coordinates(*ends, 0.004, horizontal=100.0, vertical=900.0)
    found = solved(
        Conductors.bare(*ends[:1], end=ends[1], radius=0.004), soil((100.0,), (900.0,))
    )
    assert_allclose(resistance(found), exact, rtol=0.002)


def of_two_layers(point, source, *, ground):
    """Potential at a point for 1 A from a point source, by quadrature of the Hankel integral.

    In each layer σ_v φ'' = k² σ_h φ; potential and vertical current go on through the plane.
    Secondary waves by solving these conditions at each wavenumber; what of the source is in
    its own layer in closed form.
    """
    first, second = np.sqrt(np.divide(ground.vertical_resistivity, ground.resistivity))
    h, d, z = ground.thickness[0], -source[2], -point[2]
    r = float(np.hypot(*np.subtract(point[:2], source[:2])))
    steep = first, second
    flow = (
        1 / (ground.vertical_resistivity[0] / first),
        1 / (ground.vertical_resistivity[1] / second),
    )
    layer, at = int(d >= h), int(z >= h)
    mean = np.sqrt(ground.resistivity[layer] * ground.vertical_resistivity[layer])
    decay = 0.02  # secondary waves are short by then: all places are off the plane by more
    edges = np.concatenate([[0.0], np.geomspace(1e-4, 40.0 / decay, 3000)])
    node, weight = np.polynomial.legendre.leggauss(6)
    k = (0.5 * (edges[:-1] + edges[1:]) + 0.5 * node[:, None] * np.diff(edges)).ravel()
    w = (0.5 * weight[:, None] * np.diff(edges)).ravel()
    # Unknown waves: from the surface down, from the plane up, from the plane down.
    matrix, right = np.zeros((len(k), 3, 3)), np.zeros((len(k), 3))
    through = np.exp(-k * steep[0] * h)
    matrix[:, 0, 0], matrix[:, 0, 1] = -1.0, through  # no current into the air
    matrix[:, 1] = np.stack([through, np.ones(len(k)), -np.ones(len(k))], axis=1)
    matrix[:, 2] = np.stack([-flow[0] * through, flow[0] * k**0, flow[1] * k**0], axis=1)
    wave = np.exp(-k * steep[layer] * abs(d - h))
    if layer == 0:
        right[:, 0] = -np.exp(-k * steep[0] * d)
        right[:, 1], right[:, 2] = -wave, flow[0] * wave
    else:
        right[:, 1], right[:, 2] = wave, flow[1] * wave
    down, up, below = np.linalg.solve(matrix, right[..., None])[..., 0].T
    if at == 0:
        kernel = down * np.exp(-k * steep[0] * z) + up * np.exp(-k * steep[0] * (h - z))
    else:
        kernel = below * np.exp(-k * steep[1] * (z - h))
    total = float((w * kernel) @ j0(k * r))
    if layer == at:
        total += 1 / np.hypot(r, steep[layer] * (z - d))
    return mean / (4 * np.pi) * total


def test_the_quadrature_is_right_without_a_plane():
    ground = soil((60.0, 60.0), (240.0, 240.0), (1.5,))
    source, point = (0.0, 0.0, -0.7), np.array([1.1, 0.4, -2.3])
    exact = point_source(point, source, 60.0, 240.0)
    assert_allclose(of_two_layers(point, source, ground=ground), exact, rtol=1e-5)


TWO_LAYERS = [
    soil((100.0, 300.0), (900.0, 75.0), (1.2,)),
    soil((400.0, 40.0), (400.0, 360.0), (1.2,)),
]


@pytest.mark.slow
@pytest.mark.parametrize("ground", TWO_LAYERS)
def test_rod_through_two_anisotropic_layers(ground):
    # The currents that leave the rod, put into the integral where they really are, make it
    # one potential, and the field round it.
    found = second_opinion(rod(), soil=ground)
    for solution in (found, solved(rod(), ground)):
        elements, current = solution.elements, solution.current[0] * resistance(solution)
        middle = 0.5 * (elements.start + elements.end)
        where = [(1.0, 0.0, 0.0), (4.0, 0.0, 0.0), (0.5, 0.2, -0.6), (0.6, 0.0, -2.2)]
        exact = [
            sum(
                amperes * of_two_layers(point, place, ground=ground)
                for amperes, place in zip(current, middle, strict=True)
            )
            for point in where
        ]
        at = volts_per_ampere(solution, where)
        assert_allclose(at, exact, atol=0.002 * resistance(solution))
    assert_allclose(resistance(solution), resistance(found), rtol=0.003)


@pytest.mark.slow
@pytest.mark.parametrize("ground", TWO_LAYERS)
def test_a_rod_is_at_one_potential_by_the_integral(ground):
    found = second_opinion(rod(), soil=ground)
    wires, current = found.elements, found.current[0] * resistance(found)
    # Even currents of short lengths: places along each, no nearer than a few radii.
    for depth in (0.9, 1.7):
        point, total = np.array([0.0, 0.0, -depth]), 0.0
        metric = [0.008, 0.0, 0.0]
        for amperes, start, end in zip(current, wires.start, wires.end, strict=True):
            parts = max(3, int(np.ceil(np.linalg.norm(end - start) / 0.004)))
            if abs(0.5 * (start + end)[2] + depth) > 0.3:
                parts = 3
            share = (np.arange(parts) + 0.5) / parts
            places = start + share[:, None] * (end - start)
            for place in places:
                total += amperes / parts * of_two_layers(point + metric, place, ground=ground)
        assert_allclose(total, resistance(found), rtol=0.01)


def test_places_go_there_and_back():
    ground = soil((100.0, 20.0, 50.0), (400.0, 20.0, 8.0), (0.7, 1.1))
    points = np.array([(1.0, 2.0, 0.0), (0.0, 0.0, -0.7), (3.0, 1.0, -1.2), (0.0, 5.0, -9.0)])
    there = stretched(points, soil=ground)
    assert_allclose(there[:, 2], [0.0, -1.4, -1.9, -2.5 - 7.2 * 0.4], rtol=1e-12)
    assert_allclose(unstretched(there, soil=ground), points, rtol=1e-12)


def test_metal_bends_where_layers_change_and_keeps_its_pieces():
    ground = soil((100.0, 100.0), (900.0, 100.0), (1.0,))
    metal = Conductors.bare([[0.0, 0.0, 0.0]], end=[[2.0, 0.0, -2.0]], radius=0.01)
    twin = twin_of(metal, soil=ground)
    assert_allclose(twin.conductors.end[:, 2], [-3.0, -4.0])
    assert_array_equal(twin.piece, [0, 0])
    # Half-axes a and λ a / s, s the growth of the length.
    assert_allclose(twin.conductors.radius, [0.005 * (1 + 3 / np.sqrt(5)), 0.01])
    found = second_opinion(metal, soil=ground)
    assert set(found.elements.piece.tolist()) == {0}
    assert_allclose(found.elements.length.sum(), np.sqrt(8.0), rtol=1e-12)
    plumb = twin_of(rod(), soil=ground)
    assert_allclose(plumb.conductors.length, [5.0])
    assert_array_equal(plumb.conductors.radius, [0.008])


def test_leakage_is_per_real_length():
    ground = soil((100.0,), (400.0,))
    found = solved(rod(), ground)
    field = Field(found, np.array([resistance(found)]))
    assert_allclose(found.elements.length.sum(), 3.0, rtol=1e-6)
    assert_allclose(field.leakage @ found.elements.length, 1.0, rtol=1e-9)
    assert_allclose(field.part_current(), 1.0, rtol=1e-9)


@pytest.mark.parametrize(("contact", "outer", "fill"), [(8.0, 0.004, 1.0), (0.5, 0.012, 400.0)])
@pytest.mark.parametrize("end", [(2.4, 0.6, -2.5), (3.0, 0.5, -0.8), (0.0, 0.0, -3.5)])
def test_films_and_fill_add_their_drop_straight_outwards(end, contact, outer, fill):
    # Current leaves round metal evenly all round, so that film and shell are in series.
    start, a = (0.0, 0.0, -0.8), 0.004
    series = (contact / a + fill * np.log(outer / a)) / (2 * np.pi)
    exact = wire_in_real_coordinates(
        start, end, outer, horizontal=100.0, vertical=400.0, series=series
    )
    wire = replace(
        Conductors.bare(start, end=end, radius=a),
        contact=np.array([contact]),
        sheath_radius=np.array([outer]),
        sheath_resistivity=np.array([fill]),
    )
    ground = soil((100.0,), (400.0,))
    found, other = solved(wire, ground), second_opinion(wire, soil=ground)
    assert_allclose(resistance(other), exact, rtol=0.002)
    # Bare ends of metal leak a little more, which wires leave out.
    assert_allclose(resistance(found), exact, rtol=0.005)
    # Half way through the shell is half way between metal and face, by the logarithm.
    if outer > a and end[0] == 0:  # elsewhere the face of the twin is no circle
        places = [(r, 0.0, -2.0) for r in (np.sqrt(a * outer), 1.0001 * outer)]
        half, face = volts_per_ampere(found, places)
        share = (contact / a + fill * np.log(outer / a) / 2) / (2 * np.pi * series)
        volts = resistance(found)
        assert_allclose((volts - half) / (volts - face), share, rtol=0.01)


def test_shares_of_layers_add_up_and_tell_what_a_layer_does():
    ground = soil((100.0, 300.0), (900.0, 75.0), (1.2,))
    found = solved(rod(), ground)
    shares = soil_shares(found, electrode_set=np.array([0])).layers[0]
    assert_allclose(shares.sum(), 1.0, atol=0.002)
    more = soil((102.0, 300.0), (918.0, 75.0), (1.2,))
    less = soil((98.0, 300.0), (882.0, 75.0), (1.2,))
    up, down = (resistance(second_opinion(rod(), soil=each)) for each in (more, less))
    # The central difference is off by the square of its step.
    assert_allclose(shares[0], (up - down) / 0.04 / resistance(found), rtol=0.01)


def test_what_has_no_twin_is_refused():
    ground = soil((100.0,), (400.0,))
    shallow = Conductors.bare([0.0, 0.0, -0.02], end=[3.0, 0.0, -0.02], radius=0.01)
    with pytest.raises(CaseError, match=r"piece 1.*0\.02 m from the surface.*0\.06 m away"):
        twin_of(shallow, soil=ground)
    with pytest.raises(CaseError, match=r"from the layer plane 1 m deep"):
        twin_of(
            Conductors.bare([0.0, 0.0, -1.0], end=[3.0, 0.0, -1.0], radius=0.01),
            soil=soil((100.0, 50.0), (100.0, 200.0), (1.0,)),
        )
    pad = Body("pad", Prism(((1.0, 1.0), (2.0, 1.0), (2.0, 2.0), (1.0, 2.0)), 0.0, 0.5), 50.0)
    deep = soil((100.0, 50.0), (100.0, 200.0), (1.0,))
    assert twin_of(rod(), soil=replace(deep, bodies=(pad,))).soil.bodies == (pad,)
    with pytest.raises(CaseError, match=r"body 'pad' goes down to layer 1"):
        twin_of(rod(), soil=replace(ground, bodies=(pad,)))


def test_methods_that_know_nothing_of_it_say_so():
    ground = soil((100.0,), (400.0,))
    found = solved(rod(), ground)
    with pytest.raises(LayersOnlyError, match="leads alike in all directions"):
        layered_elements(found.mesh, soil=ground)


def test_one_vertical_resistivity_for_each_layer():
    with pytest.raises(CaseError, match=r"2 resistivities and 1 vertical"):
        soil((100.0, 50.0), (400.0,), (1.0,))
    with pytest.raises(CaseError, match=r"positive and finite"):
        soil((100.0,), (-400.0,))
