"""Runs of metal that winds, or of which there is much: against a formula and all of them."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.constants import mu_0

from ohmscape.solver.field.along_metal import solve_along
from ohmscape.solver.metal import runs as runs_module
from ohmscape.solver.metal.induction import inductance, induction_of
from ohmscape.solver.metal.network import network_of
from ohmscape.solver.metal.runs import MOST_RUNS, runs_of
from ohmscape.solver.metal.wiring import REMOTE_EARTH, Lead, Port, Terminal, Wiring
from ohmscape.solver.model import Conductors, Soil

from ..field.along_metal_cases import bars_of, feed_at, mesh_of, solved
from .whole_networks import COPPER, metal_of, square_grid, wire


def circle(radius, *, sides, diameter, depth=0.8):
    """A ring of straight pieces."""
    angle = 2 * np.pi * np.arange(sides + 1) / sides
    corners = radius * np.column_stack([np.cos(angle), np.sin(angle)])
    corners = np.column_stack([corners, np.full(sides + 1, -depth)])
    return Conductors.bare(corners[:-1], end=corners[1:], radius=diameter / 2)


def runs_in(conductors, *, reach=1000.0, fed=()):
    network = network_of(conductors, elements=_as_lines(conductors))
    fed = np.array(fed, dtype=int)
    return network, runs_of(network, conductors=conductors, reach=reach, fed=fed)


def test_a_ring_of_many_sides_has_the_inductance_of_a_circle():
    # L = μ R (ln(8R/a) - 2) without what is inside the wire (Rosa and Grover 1912; from
    # memory). What the soil adds is one constant along so small a ring, and cancels round it.
    radius, diameter = 50.0, 0.01
    conductors = circle(radius, sides=1500, diameter=diameter)
    network, runs = runs_in(conductors)
    assert len(runs) <= MOST_RUNS < len(network.first)
    # No shorter than it must be, and all of it: 314 m.
    found = inductance(runs, soil=Soil((1e4,)), frequency=1.0)
    mean = runs.of_branch.T @ np.ones(len(network.first))
    assert_allclose(abs(mean), 1.0)
    loop = (mean @ found @ mean).imag / (2 * np.pi)
    assert loop == pytest.approx(mu_0 * radius * (np.log(8 * radius / 0.005) - 2), rel=2e-3)


def test_a_winding_run_is_what_its_straight_lengths_are_together(monkeypatch):
    conductors = circle(30.0, sides=90, diameter=0.01)
    _, fine = runs_in(conductors)
    monkeypatch.setattr(runs_module, "MOST_RUNS", 20)
    network, coarse = runs_in(conductors)
    assert len(coarse) <= 20 < len(fine)
    current = np.ones(len(network.first))
    totals = []
    for runs in (fine, coarse):
        each = inductance(runs, soil=Soil((100.0,)), frequency=50.0)
        mean = runs.of_branch.T @ current
        totals.append(mean @ each @ mean)
    # One current all along: however it is cut, to the rule of the near pairs.
    assert totals[1] == pytest.approx(totals[0], rel=1e-6)


def test_rods_do_not_make_runs_of_a_grid_longer():
    grid = square_grid(100, meshes=10)
    top = np.unique(np.round(np.concatenate([grid.start, grid.end]), 6), axis=0)
    # 605 rods, five at each node.
    top = np.concatenate([top + np.array([0.01 * k, 0.0, 0.0]) for k in range(5)])
    rods = Conductors.bare(top, end=top - [0, 0, 3.0], radius=0.008)
    start, end = (
        np.concatenate([one, other])
        for one, other in ((grid.start, rods.start), (grid.end, rods.end))
    )
    both = Conductors.bare(start, end=end, radius=0.005)
    _, alone = runs_in(grid)
    _, runs = runs_in(both)
    together, others = runs.parted()
    level = np.abs(together.end - together.start)[:, 2] < 1e-9
    assert level.sum() == len(alone) == 220
    assert others is not None
    assert (np.abs(others.end - others.start)[:, 2] > 2.9).all()
    assert len(together) == MOST_RUNS
    assert len(others) == len(runs) - MOST_RUNS


@pytest.mark.slow
def test_what_is_left_out_is_told(monkeypatch):
    # The change of the impedance is known, where all can be taken together.
    conductors, soil = square_grid(90, meshes=3), Soil((10.0,))
    given = {"material": COPPER, "frequency": 50, "feeds": [feed_at(conductors, 0, 0)]}
    whole = solved(conductors, soil, **given)
    assert whole.apart is None
    # Lines of it, twelve runs or more, cannot be merged so far; the four outer ones go first.
    monkeypatch.setattr(runs_module, "MOST_RUNS", 4)
    found = solved(conductors, soil, **given)
    told = found.apart
    assert told.runs == told.of - 4
    one, other = whole.port_matrix[0, 0], found.port_matrix[0, 0]
    change = abs(one / other - 1)
    assert change > 0.01
    assert told.share == pytest.approx(change, rel=0.3)


def test_a_winding_lead_is_as_long_as_a_straight_one(monkeypatch):
    # Its single current is that of all its corners, in so many runs or in few.
    conductors, soil = wire(50, diameter=0.01), Soil((100.0,))
    far, radius = Terminal("far"), 0.005
    angle = np.linspace(0, 40 * np.pi, 900)
    x, y = 5e4 + 50.0 * np.arange(900), 20.0 * np.sin(angle)
    route = tuple(zip(x.tolist(), y.tolist(), [5.0] * 900, strict=True))
    cable = bars_of(metal_of(1e-8, 1.0), conductors)[0]
    lead = Lead("line", (far, REMOTE_EARTH), bar=cable, radius=radius, route=route)
    wiring = Wiring(bars_of(COPPER, conductors), 50.0, (Port("far", far),), leads=(lead,))
    found = []
    for most in (MOST_RUNS, 2000):
        monkeypatch.setattr(runs_module, "MOST_RUNS", most)
        solution = solve_along(
            mesh_of(conductors, soil), soil=soil, conductors=conductors, wiring=wiring
        )
        assert solution.apart is None
        found.append(solution.port_matrix[0, 0])
    assert found[0] == pytest.approx(found[1], rel=1e-3)


def test_many_runs_keep_their_own_impedance():
    # Star of 701 level arms: 600 taken together, the rest by themselves.
    angle = 2 * np.pi * np.arange(701) / 701
    tips = np.column_stack([30 * np.cos(angle), 30 * np.sin(angle), np.full(701, -0.8)])
    star = Conductors.bare(np.tile([[0, 0, -0.8]], (701, 1)), end=tips, radius=0.005)
    network, runs = runs_in(star)
    found = induction_of(runs, soil=Soil((100.0,)), frequency=50.0)
    assert len(found.runs) == MOST_RUNS
    assert len(found.alone) == 101
    mine = np.flatnonzero(found.own)
    assert len(mine) == 101
    assert_allclose(found.own[mine], found.mutual[0, 0], rtol=1e-9)
    assert len(network.first) == 701


def _as_lines(conductors):
    """Each piece as one line element."""

    class Elements:
        piece = np.arange(len(conductors.radius))
        start, end = conductors.start, conductors.end

    return Elements()
