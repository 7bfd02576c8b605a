"""The preconditioner: what it must be, and that thin layers do not stall the solver."""

import field_layouts as lay
import numpy as np
import pytest
import scipy.sparse as sparse
from measuring import solved
from numpy.testing import assert_allclose, assert_array_equal

from ohmscape.solver.errors import ConvergenceError
from ohmscape.solver.field import linear
from ohmscape.solver.field.linear import TwoLevel, conjugate_gradients
from ohmscape.solver.field.tied import columns, tied_unknowns
from ohmscape.solver.model import Soil


def _chain(steps):
    """Resistors in a chain from a held end: symmetric positive definite."""
    count = len(steps)
    matrix = sparse.diags_array(steps + np.append(steps[1:], 0.0)).tolil()
    for k in range(1, count):
        matrix[k - 1, k] = matrix[k, k - 1] = -steps[k]
    return matrix.tocsr()


def _linear_prolongation(count):
    """From every second unknown to all."""
    coarse = np.arange(0, count, 2)
    columns = [np.interp(np.arange(count), coarse, row) for row in np.eye(len(coarse))]
    return sparse.csr_matrix(np.array(columns).T)


def test_unknowns_are_tied_where_one_conductance_dwarfs_the_others():
    matrix = _chain(np.array([1.0, 1.0, 1.0, 1000.0, 1.0, 1.0]))
    # Entries over the mean of the diagonals: at most 1 / 2 before each unknown leaks 3 S ...
    leaking = matrix + 3.0 * sparse.eye_array(6)
    # ... and 1 / 5 after, but 1000 / 1004 between unknowns 2 and 3.
    assert_array_equal(tied_unknowns(leaking.tocsr()), [2, 3])


@pytest.mark.parametrize("directly", [0, 1000])
def test_the_preconditioner_is_symmetric_and_positive(directly, monkeypatch):
    monkeypatch.setattr(linear, "_solved_directly", directly)
    steps = 10.0 ** np.random.default_rng(3).uniform(0, 3, 41)
    matrix = _chain(steps)
    apply = TwoLevel(matrix, prolongation=_linear_prolongation(41))
    inverse = np.array([apply(unit) for unit in np.eye(41)])
    assert_allclose(inverse, inverse.T, atol=1e-12 * np.abs(inverse).max())
    assert np.linalg.eigvalsh(inverse).min() > 0


def test_a_thin_good_layer_on_resistive_ground_does_not_stall():
    # Flat elements follow the layer; 69 steps before unknowns they tie were solved at once.
    soil = Soil((10.0, 1000.0), (0.3,))
    solution = solved(lay.rod(length=3.0, radius=0.008), soil=soil)
    assert len(solution.mesh.tetrahedra) > 2000
    assert max(solution.checks.iterations) < 40


def test_columns_of_a_plate_stand_apart_and_hold_no_less():
    along, across = _chain(np.ones(6)), _chain(np.full(3, 100.0))
    plate = (
        sparse.kron(along, sparse.eye_array(3)) + sparse.kron(sparse.eye_array(6), across)
    ).tocsr()
    apart = columns(plate)
    blocks = np.kron(np.eye(6), np.ones((3, 3))) > 0
    assert not apart.toarray()[~blocks].any()
    assert np.linalg.eigvalsh((apart - plate).toarray()).min() > -1e-12


def test_many_tied_unknowns_are_solved_column_by_column(monkeypatch):
    soil = Soil((3000.0, 30.0) * 3, (0.05,) * 5)
    rod = lay.rod(length=1.2, radius=0.008)
    ohms = []
    for at_once in (100_000, 0):
        monkeypatch.setattr(linear, "_tied_at_once", at_once)
        ohms.append(1 / solved(rod, soil=soil).current_matrix[0, 0])
    assert_allclose(ohms[1], ohms[0], rtol=1e-7)


def test_a_solution_that_is_not_reached_is_refused(monkeypatch):
    monkeypatch.setattr(linear, "iteration_limit", 2)
    matrix = _chain(np.logspace(0, 3, 60))
    with pytest.raises(ConvergenceError, match=r"relative residual .* after 2 iterations"):
        conjugate_gradients(
            np.linspace(1, 2, 60), operator=lambda x: matrix @ x, preconditioner=np.copy
        )
