"""Coated pipes, leads, joints and breaks in metal with impedance."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.constants import mu_0

from ohmscape.solver.errors import CaseError, TrustError
from ohmscape.solver.field.along_metal import solve_along
from ohmscape.solver.field.driven import Driven
from ohmscape.solver.metal.internal import Bar
from ohmscape.solver.metal.places import Feed
from ohmscape.solver.metal.wiring import REMOTE_EARTH, Break, Lead, Port, Terminal, Wiring
from ohmscape.solver.model import Conductors, Soil

from ..metal.whole_networks import COPPER, STEEL, metal_of, wire
from .along_metal_cases import bars_of, mesh_of, polar, solved

CABLE = Bar(COPPER, 1.0)
FAR = Terminal("far")


def pipe(coating, length=5000.0):
    """A pipe of 219.1 mm 1.5 m deep, with the resistance of its coating. [Ω·m²]"""
    bare = Conductors.bare([[0, 0, -1.5]], end=[[length, 0, -1.5]], radius=0.2191 / 2)
    return replace(bare, contact=np.full(1, coating))


@pytest.mark.parametrize(
    ("coating", "frequency", "expected"),
    [
        # Impedance fed at one end, and the far end: computed for this purpose by other code,
        # by thin wires with the soil; 0.2 %, the last 0.3 %.
        (1e4, 50, (3.5546, 18.47, 2.7736, -11.43)),
        (1e4, 0, (3.0401, 0, 2.9222, 0)),
        (300.0, 50, (0.6956, 35.8, 0.0254 * 0.6956, None)),
    ],
)
def test_coated_pipes(coating, frequency, expected):
    size, angle, far, lag = expected
    conductors = pipe(coating)
    bars = (Bar(metal_of(2.0e-7, 300.0), 300.0, wall=0.0063),)
    ports = Port("a", Feed(0, 0.0)), Port("b", Feed(0, 5000.0))
    soil = Soil((100.0,))
    found = solve_along(
        mesh_of(conductors, soil),
        soil=soil,
        conductors=conductors,
        wiring=Wiring(bars, float(frequency), ports),
    ).port_matrix
    assert polar(found[0, 0]) == (pytest.approx(size, rel=2e-3), pytest.approx(angle, abs=0.1))
    assert abs(found[1, 0]) == pytest.approx(far, rel=5e-3)
    if lag is not None:
        assert polar(found[1, 0])[1] == pytest.approx(lag, abs=0.1)


def two_rings():
    """Two square rings of copper 200 m apart, a group each."""
    corners = np.array([[0, 0, -0.8], [20, 0, -0.8], [20, 20, -0.8], [0, 20, -0.8]])
    corners = np.concatenate([corners, corners[:1]])
    ends = [corners, corners + np.array([200, 0, 0])]
    start = np.concatenate([each[:-1] for each in ends])
    end = np.concatenate([each[1:] for each in ends])
    return Conductors.bare(start, end=end, radius=0.0055, group=[0] * 4 + [1] * 4)


ROUTE = ((20.0, 0.0, -1.1), (200.0, 0.0, -1.1))
ONE, OTHER = Feed(1, 0.0), Feed(4, 0.0)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("leads", "expected"),
    [
        # Impedance, second ring at two corners, current of the lead; source as above, 0.3 %.
        ((), (2.891, 0.07, 0.0797, 0.0797, 0.0)),
        (
            (Lead("lead", (ONE, OTHER), bar=CABLE, radius=0.004, route=ROUTE),),
            (1.5033, 1.39, 1.4686, 1.4676, 0.4941),
        ),
        (
            (
                Lead("lead", (ONE, FAR), bar=CABLE, radius=0.004, route=ROUTE),
                Lead("joint", (FAR, OTHER), impedance=0.1),
            ),
            (1.5273, 1.33, 1.4446, None, 0.4856),
        ),
    ],
)
def test_two_rings_and_a_lead(leads, expected):
    size, angle, near, far, current = expected
    found = solved(
        two_rings(),
        Soil((100.0,)),
        material=COPPER,
        frequency=50,
        feeds=[Feed(0, 0.0), OTHER, Feed(5, 20.0)],
        fineness=1.4,
        leads=leads,
    )
    matrix = found.port_matrix[:, 0]
    assert polar(matrix[0]) == (pytest.approx(size, rel=3e-3), pytest.approx(angle, abs=0.1))
    assert abs(matrix[1]) == pytest.approx(near, rel=3e-3)
    if far is not None:
        assert abs(matrix[2]) == pytest.approx(far, rel=3e-3)
    drive = Driven(found, np.array([1.0, 0.0, 0.0]))
    assert list(drive.lead_current) == [lead.name for lead in leads]
    for through in drive.lead_current.values():
        assert abs(through) == pytest.approx(current, rel=3e-3)


@pytest.mark.parametrize("frequency", [0, 50])
def test_a_wire_cut_in_two_and_joined_again_is_unchanged(frequency):
    given = {"material": STEEL, "frequency": frequency}
    given["feeds"] = [Feed(0, 0.0), Feed(0, 200.0), Feed(0, 80.0, "before")]
    conductors, soil = wire(200, diameter=0.01), Soil((50.0,))
    place = Feed(0, 80.0)
    # A piece that is not cut has one node there, whatever the side.
    whole = solved(conductors, soil, **given).port_matrix
    joined = solved(conductors, soil, breaks=(Break("joint", place, 0.0),), **given)
    assert_allclose(joined.port_matrix, whole, rtol=1e-9)
    by_lead = solved(
        conductors,
        soil,
        breaks=(Break("gap", place),),
        leads=(Lead("strap", (Feed(0, 80, "before"), Feed(0, 80, "after")), impedance=0.0),),
        **given,
    )
    assert_allclose(by_lead.port_matrix, whole, rtol=1e-9)
    drive = Driven(joined, np.array([1.0, 0.0, 0.0]))
    strapped = Driven(by_lead, np.array([1.0, 0.0, 0.0]))
    assert drive.lead_current["joint"] == pytest.approx(strapped.lead_current["strap"])
    assert 0.1 < abs(drive.lead_current["joint"]) < 1.0


def test_an_open_break_parts_metal_and_a_joint_lies_between():
    conductors, soil = wire(200, diameter=0.01), Soil((50.0,))
    given = {"material": COPPER, "frequency": 0, "feeds": [Feed(0, 0.0), Feed(0, 200.0)]}
    whole = solved(conductors, soil, **given).port_matrix
    through = []
    for impedance in (0.0, 0.5, 1e9, None):
        joint = Break("joint", Feed(0, 100.0), impedance)
        through.append(solved(conductors, soil, breaks=(joint,), **given).port_matrix)
    feeds, leaks = [each[0, 0] for each in through], [each[1, 0] for each in through]
    assert feeds == sorted(feeds)
    assert leaks == sorted(leaks, reverse=True)
    assert feeds[3] > 1.3 * whole[0, 0]
    assert_allclose(through[2], through[3], rtol=1e-6)
    # The far half hangs in the potential of the soil alone.
    assert 0.02 * feeds[3] < leaks[3] < 0.3 * feeds[3]


def test_a_piece_comes_off_what_it_meets():
    # A star of three arms: one is taken off, and joined to the middle again.
    start, end = (
        np.zeros((3, 3)),
        np.array([[60, 0, 0], [0, 60, 0], [-60, -60, 0]], dtype=float),
    )
    start[:, 2] = end[:, 2] = -0.8
    conductors, soil = Conductors.bare(start, end=end, radius=0.005), Soil((50.0,))
    given = {"material": COPPER, "frequency": 50}
    given["feeds"] = [Feed(0, 0.0), Feed(1, 0.0), Feed(2, 0.0)]
    whole = solved(conductors, soil, **given).port_matrix
    assert_allclose(whole, whole[0, 0], rtol=1e-9)
    off = solved(conductors, soil, breaks=(Break("gap", Feed(1, 0.0)),), **given).port_matrix
    assert off[0, 0] == pytest.approx(off[2, 0])
    assert abs(off[1, 0]) < 0.8 * abs(off[0, 0])
    back = solved(conductors, soil, breaks=(Break("gap", Feed(1, 0.0), 0.0),), **given)
    assert_allclose(back.port_matrix, whole, rtol=1e-9)


def test_a_lead_without_inductance_is_in_series():
    conductors, soil = wire(100, diameter=0.01), Soil((50.0,))
    wiring = Wiring(
        bars_of(STEEL, conductors),
        50.0,
        (Port("metal", Feed(0, 0.0)), Port("far", FAR)),
        leads=(Lead("cable", (Feed(0, 0.0), FAR), impedance=0.3 + 0.4j),),
    )
    found = solve_along(
        mesh_of(conductors, soil), soil=soil, conductors=conductors, wiring=wiring
    )
    metal, both = found.port_matrix.diagonal()
    assert both == pytest.approx(metal + 0.3 + 0.4j)
    assert found.port_matrix[0, 1] == pytest.approx(metal)
    assert Driven(found, np.array([1.0, 0.0])).terminal_voltage["far"] == pytest.approx(metal)


def test_a_lead_to_remote_earth_is_in_parallel():
    conductors, soil = wire(100, diameter=0.01), Soil((50.0,))
    given = {"material": COPPER, "frequency": 0, "feeds": [Feed(0, 100.0)]}
    alone = solved(conductors, soil, **given).port_matrix[0, 0]
    earth = Lead("other earth", (Feed(0, 100.0), REMOTE_EARTH), impedance=0.25)
    found = solved(conductors, soil, leads=(earth,), **given)
    assert found.port_matrix[0, 0] == pytest.approx(1 / (1 / alone + 4))
    drive = Driven(found, np.ones(1))
    leaving = drive.lead_current["other earth"]
    assert drive.source_current.sum() + leaving == pytest.approx(1.0)
    assert leaving == pytest.approx(found.port_matrix[0, 0] / 0.25)


@pytest.mark.parametrize(
    ("resistivity", "expected"), [(100, 6.178e-3 + 0.10663j), (10, 13.775e-3 + 0.09283j)]
)
def test_grounded_leads_side_by_side(resistivity, expected):
    # 500 m long, 10 m apart, on the surface, 50 Hz; computed for this purpose by other code,
    # double integral of the kernel with earth return, 0.1 %.
    conductors, soil = wire(50, diameter=0.01), Soil((float(resistivity),))
    names = [Terminal("one"), Terminal("other")]
    leads = tuple(
        Lead(
            end.name,
            (end, REMOTE_EARTH),
            bar=CABLE,
            radius=0.005,
            # Far from the metal, which has nothing to do with it.
            route=((5e4, y, 0.0), (5e4 + 500.0, y, 0.0)),
        )
        for end, y in zip(names, (0.0, 10.0), strict=True)
    )
    found = solve_along(
        mesh_of(conductors, soil),
        soil=soil,
        conductors=conductors,
        wiring=Wiring(
            bars_of(COPPER, conductors),
            50.0,
            tuple(Port(end.name, end) for end in names),
            leads=leads,
        ),
    ).port_matrix
    assert found[0, 1].real == pytest.approx(expected.real, rel=3e-3)
    assert found[0, 1].imag == pytest.approx(expected.imag, rel=1e-3)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (
            {"leads": [Lead(n, (Feed(0, 0.0), Feed(0, 9.0)), impedance=0) for n in "ab"]},
            "'b' has no impedance and closes a loop",
        ),
        (
            {"leads": [Lead("a", (Feed(0, 5.0), Feed(0, 5.0)), impedance=0)]},
            "of a place with itself",
        ),
        (
            {"leads": [Lead("a", (FAR, Terminal("else")), impedance=1)]},
            "lead 'a' has no way into the soil",
        ),
        ({"ports": [Port("p", FAR)]}, "port 'p' has no way into the soil"),
        ({"ports": [Port("p", REMOTE_EARTH)]}, "port 'p' is at remote earth"),
        ({"ports": [Port("p", Feed(0, 101.0))]}, "101 m along piece 0, which is 100 m long"),
        ({"ports": [Port("p", Feed(3, 1.0))]}, "piece 3 of metal is asked for; there are 1"),
        ({"breaks": [Break("b", Feed(0, 0.0))]}, "touches no other metal"),
        (
            {"breaks": [Break("b", Feed(0, 50.0)), Break("c", Feed(0, 50.0))]},
            "two breaks 50 m along piece 0",
        ),
        (
            {"breaks": [Break("b", Feed(0, 50.0))], "ports": [Port("p", Feed(0, 50.0))]},
            "say whether before or after",
        ),
    ],
)
def test_what_cannot_be_wired_is_refused(given, said):
    conductors, soil = wire(100, diameter=0.01), Soil((50.0,))
    given = {name: tuple(each) for name, each in given.items()}
    wiring = {"ports": (Port("a", Feed(0, 0.0)),)} | given
    with pytest.raises(CaseError, match=said):
        solve_along(
            mesh_of(conductors, soil),
            soil=soil,
            conductors=conductors,
            wiring=Wiring(bars_of(COPPER, conductors), 50.0, **wiring),
        )


def test_a_ladder_of_leads_is_that_of_its_formula():
    # Endless: Z = z/2 + sqrt(z²/4 + z g), and what metal it starts from in parallel.
    conductors, soil = wire(50, diameter=0.01), Soil((100.0,))
    span, footing, ends = 0.1 + 0.15j, 10.0, [Feed(0, 0.0)]
    ends += [Terminal(f"pole {k}") for k in range(200)]
    leads = [
        Lead(f"span {k}", (ends[k], ends[k + 1]), impedance=span) for k in range(len(ends) - 1)
    ]
    leads += [
        Lead(f"footing {k}", (end, REMOTE_EARTH), impedance=footing)
        for k, end in enumerate(ends[1:])
    ]
    given = {"material": COPPER, "frequency": 50, "feeds": [Feed(0, 0.0)]}
    alone = solved(conductors, soil, **given).port_matrix[0, 0]
    found = solved(conductors, soil, leads=tuple(leads), **given).port_matrix[0, 0]
    ladder = span / 2 + np.sqrt(span**2 / 4 + span * footing)
    assert found == pytest.approx(1 / (1 / alone + 1 / ladder), rel=1e-6)


@pytest.mark.parametrize("resistivity", [10.0, 100.0, 1000.0])
def test_a_kilometre_of_a_long_lead(resistivity):
    # What 100 km more take: internal impedance, and (jωμ/2π) ln(1.85/γa) of an endless wire at
    # the surface (Sunde 1949; from memory; 0.01 % of Pollaczek's integral).
    conductors, soil = wire(50, diameter=0.01), Soil((resistivity,))
    found = []
    for length in (1e5, 2e5):
        # Runs of it are longer than the kernel reaches: 200 in all.
        route = ((1e6, 0.0, 0.0), (1e6 + length, 0.0, 0.0))
        lead = Lead("line", (FAR, REMOTE_EARTH), bar=CABLE, radius=0.005, route=route)
        wiring = Wiring(bars_of(COPPER, conductors), 50.0, (Port("far", FAR),), leads=(lead,))
        mesh = mesh_of(conductors, soil)
        solution = solve_along(mesh, soil=soil, conductors=conductors, wiring=wiring)
        found.append(solution.port_matrix[0, 0])
    each = (found[1] - found[0]) / 1e5
    each -= CABLE.impedance(np.array([0.005]), frequency=50.0)[0]
    omega_mu = 2 * np.pi * 50 * mu_0
    gamma = np.sqrt(1j * omega_mu / resistivity)
    log = np.log(1.85 / (abs(gamma) * 0.005))
    assert each.imag == pytest.approx(omega_mu / (2 * np.pi) * log, rel=5e-4)
    assert each.real == pytest.approx(omega_mu / 8, rel=0.01)


def test_a_loop_of_leads_with_impedance_has_a_current():
    # Two straps side by side share it by their admittance.
    conductors, soil = wire(100, diameter=0.01), Soil((50.0,))
    ends = Feed(0, 0.0), Feed(0, 100.0)
    leads = tuple(Lead(n, ends, impedance=z) for n, z in (("a", 0.01), ("b", 0.03)))
    found = solved(
        conductors, soil, material=STEEL, frequency=50, feeds=[Feed(0, 0.0)], leads=leads
    )
    through = Driven(found, np.ones(1)).lead_current
    assert through["a"] == pytest.approx(3 * through["b"])
    assert abs(through["a"]) > 0.1


def test_leads_in_one_place_are_refused():
    conductors, soil = wire(100, diameter=0.01), Soil((50.0,))
    route = ((0.0, 0.0, 3.0), (100.0, 0.0, 3.0))
    ends = Feed(0, 0.0), Feed(0, 100.0)
    leads = tuple(Lead(n, ends, bar=CABLE, radius=0.005, route=route) for n in "ab")
    with pytest.raises(TrustError, match="give leads routes that lie apart"):
        solved(conductors, soil, material=COPPER, frequency=50, feeds=[ends[0]], leads=leads)
