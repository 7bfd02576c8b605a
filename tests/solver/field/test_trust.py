"""Results that miss their own limits are not returned."""

from dataclasses import replace

import field_layouts as lay
import numpy as np
import pytest

from ohmscape.solver.drives import Drive, operating_point
from ohmscape.solver.errors import (
    CaseError,
    ConvergenceError,
    MeshError,
    ToleranceError,
    TrustError,
)
from ohmscape.solver.exposure.worst import WorstVoltage
from ohmscape.solver.field import checks, linear, solution
from ohmscape.solver.field.linear import conjugate_gradients
from ohmscape.solver.results.accuracy import compare
from ohmscape.solver.solved_soil import Field


def _again(rod_solution):
    return solution.solve(
        rod_solution.mesh,
        soil=rod_solution.soil,
        conductors=lay.rod(length=3.0, radius=0.008),
    )


@pytest.mark.parametrize(
    ("limit", "message"),
    [
        (
            "balance_limit",
            r"current balance .* is above -1e\+00; the result is not",
        ),
        ("symmetry_limit", r"asymmetry of the current matrix .* is above -1e\+00"),
        ("boundary_limit", r"effect of the outer boundary .* is above -1e\+00"),
    ],
)
def test_a_missed_limit_is_refused(rod_solution, monkeypatch, limit, message):
    monkeypatch.setattr(checks, limit, -1.0)
    with pytest.raises(TrustError, match=message):
        _again(rod_solution)


@pytest.mark.parametrize("gap", [1.0, float("nan")])
def test_energy_that_does_not_add_up_is_refused(rod_solution, monkeypatch, gap):
    monkeypatch.setattr(checks, "_energy_gap", lambda *args, **kwargs: gap)
    with pytest.raises(TrustError, match=r"energy balance .* is above 1e-05"):
        _again(rod_solution)


def test_too_few_iterations_are_refused(rod_solution, monkeypatch):
    monkeypatch.setattr(linear, "iteration_limit", 2)
    with pytest.raises(ConvergenceError, match=r"relative residual .* after 2 iterations \("):
        _again(rod_solution)


def test_numbers_that_are_none_are_refused():
    with pytest.raises(ConvergenceError, match="relative residual nan is above 1e-07"):
        conjugate_gradients(
            np.array([1.0, 2.0]),
            operator=lambda x: x * np.nan,
            preconditioner=lambda x: x,
        )


def test_conjugate_gradients_solve_what_they_say():
    matrix = np.array([[4.0, 1.0, 0.0], [1.0, 3.0, -1.0], [0.0, -1.0, 5.0]])
    right = np.array([1.0, -2.0, 0.5])
    found = conjugate_gradients(
        right, operator=lambda x: matrix @ x, preconditioner=lambda x: x
    )
    np.testing.assert_allclose(found.unknowns, np.linalg.solve(matrix, right), rtol=1e-6)
    assert found.residual < 1e-8
    assert 0 < found.iterations <= 3


@pytest.mark.parametrize(
    "point", [[1.0, 0.0, 0.2], [np.nan, 0.0, 0.0], [0.0, np.inf, -1.0]], ids=str
)
def test_points_in_the_air_or_nowhere_are_refused(rod_solution, point):
    field = Field(rod_solution, np.array([1.0]))
    with pytest.raises(CaseError, match="points must be finite and have z <= 0"):
        field.potential(np.array([point]))


def test_points_beyond_the_mesh_are_refused(rod_solution):
    field = Field(rod_solution, np.array([1.0]))
    with pytest.raises(MeshError, match="the mesh reaches 60 m from"):
        field.surface_potential(np.array([[90.0, 0.0]]))


def test_no_points_are_no_potentials(rod_solution):
    assert Field(rod_solution, np.array([1.0])).potential(np.zeros((0, 3))).shape == (0,)


def _compare(operating, worst, rod_solution):
    return compare(
        operating,
        worst=worst,
        metal_groups={"rod": 0},
        coarse=rod_solution,
        rougher=operating_point(rod_solution.current_matrix, drives=[Drive("current", 10.0)]),
        growth=(0.4, 0.6),
        tolerance=0.04,
    )


@pytest.fixture
def operating(rod_solution):
    return operating_point(rod_solution.current_matrix, drives=[Drive("current", 10.0)])


def test_the_same_mesh_again_changes_nothing(operating, rod_solution):
    accuracy = _compare(operating, (), rod_solution)
    assert (accuracy.resistance, accuracy.touch, accuracy.step) == (0.0, 0.0, 0.0)
    # The error left falls as the square of the size: 1.5² - 1 = 1.25.
    assert accuracy.estimate(0.05) == pytest.approx(0.04, rel=1e-12)
    # No change at all is no proof: 2 % of the square of the growth is stated at least.
    assert accuracy.estimate(0.0) == pytest.approx(0.02 * 0.16, rel=1e-12)


def test_a_resistance_that_moves_is_refused(operating, rod_solution):
    moved = replace(operating, resistance=0.9 * operating.resistance)
    # 1 / 0.9 - 1 = 0.111 of change, over 1.25; held to half of the tolerance of the voltages.
    message = r"error of the resistance is 8\.89 %, above the 2 % that the tolerance allows"
    with pytest.raises(ToleranceError, match=message) as raised:
        _compare(moved, (), rod_solution)
    excess = raised.value.excess["resistance"]
    assert excess == pytest.approx((1 / 0.9 - 1) / 1.25 / 0.02, rel=1e-12)


def test_a_change_that_is_no_number_is_refused(operating, rod_solution):
    lost = replace(operating, resistance=np.nan * operating.resistance)
    with pytest.raises(ToleranceError, match="error of the resistance is nan %"):
        _compare(lost, (), rod_solution)


@pytest.mark.parametrize(
    ("kind", "name", "other"),
    [("touch", "rod", None), ("step", "", (2.0, 0.0))],
)
def test_a_voltage_that_moves_is_refused(operating, rod_solution, kind, name, other):
    item = WorstVoltage(kind, name, 0.9 * float(operating.voltage[0]), (1.0, 0.0), other)
    with pytest.raises(ToleranceError, match=rf"error of the {kind} voltage \(of the rise\)"):
        _compare(operating, (item,), rod_solution)
