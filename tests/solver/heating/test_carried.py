"""Current along the metal of an electrode: never more than is said, however it divides."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import case_from
from ohmscape.solver.heating import most_along, most_in_a_rod
from ohmscape.solver.solved_soil import Field
from ohmscape.solver.thin_wire import second_opinion


def test_no_branch_of_a_network_carries_more():
    """Random meshed metal of random impedances, fed and tapped at random."""
    generator = np.random.default_rng(3)
    for _ in range(40):
        nodes = int(generator.integers(3, 9))
        edges = [(k, int(generator.integers(k))) for k in range(1, nodes)]
        edges += [tuple(generator.choice(nodes, 2, replace=False)) for _ in range(nodes // 2)]
        incidence = np.zeros((len(edges), nodes))
        for row, (one, other) in enumerate(edges):
            incidence[row, [one, other]] = 1, -1
        admittance = generator.uniform(0.1, 10, len(edges))
        entering = generator.normal(size=nodes) + 1j * generator.normal(size=nodes)
        entering -= entering.mean()
        matrix = incidence.T @ (admittance[:, None] * incidence)
        voltage = np.linalg.lstsq(matrix, entering, rcond=None)[0]
        along = admittance * (incidence @ voltage)
        assert np.abs(along).max() <= most_along(entering) * (1 + 1e-9)


def test_all_of_a_fault_that_leaves_by_several_ways():
    # 2.6 kA come in by a lead; 1.56 kA enter the soil, 1.04 kA leave by shield wires.
    assert most_along(np.array([2600.0, -1560.0, -1040.0])) == 2600.0


GRID = {"kind": "grid", "name": "grid", "corner": ["0 m", "0 m"], "size": ["6 m", "4 m"],
        "meshes": [2, 1], "depth": "0.5 m", "diameter": "10 mm"}  # fmt: skip
RODS = {"kind": "rods", "name": "rods", "length": "2.5 m", "diameter": "16 mm"}


def field_of(*parts):
    content = {
        "ohmscape": 1,
        "title": "Rods",
        "soil": {"layers": [{"resistivity": "90 ohm*m"}]},
        "electrodes": [{"name": "main", "drive": {"current": "50 A"}, "parts": list(parts)}],
    }
    case = case_from(content)
    opinion = second_opinion(case.conductors, soil=case.soil)
    return case, Field(opinion, np.array([210.0]))


def test_the_rod_that_lets_out_most():
    places = [["0 m", "0 m"], ["6 m", "4 m"], ["3 m", "0 m"]]
    rods = RODS | {"points": places, "top_depth": "0.5 m"}
    case, field = field_of(GRID, rods)
    metal = case.conductors
    of_rods = np.flatnonzero(metal.part[field.solution.elements.piece] == 1)
    by_place = {}
    for k in of_rods:
        place = tuple(np.round(field.solution.elements.start[k, :2], 6))
        by_place[place] = by_place.get(place, 0.0) + field.element_current[k]
    assert len(by_place) == 3
    assert_allclose(most_in_a_rod(field, part=1), max(by_place.values()))
    assert_allclose(sum(by_place.values()), field.part_current()[1])
    # A corner rod lets out more than one between corners.
    assert by_place[(0.0, 0.0)] > 1.02 * by_place[(3.0, 0.0)]


def test_one_rod_alone_lets_out_all():
    rod = {"kind": "rod", "name": "rod", "at": ["0 m", "0 m"], "top_depth": "0 m",
           "length": "2.5 m", "diameter": "16 mm"}  # fmt: skip
    _, field = field_of(rod)
    assert_allclose(most_in_a_rod(field, part=0), field.element_current.sum())


@pytest.mark.parametrize("depth", ["1.5 m", "3 m"])
def test_rods_between_two_grids_may_carry_on_what_enters_above(depth):
    rods = RODS | {"points": [["0 m", "0 m"], ["6 m", "4 m"]], "top_depth": "0.5 m"}
    second = GRID | {"name": "lower", "depth": depth}
    _, field = field_of(GRID, rods, second)
    assert most_in_a_rod(field, part=1) is None
