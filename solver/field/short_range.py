r"""Voltages that currents of the metal make beside the mesh, and currents from voltages.

The short-range matrix is C = W + S F Sᵀ: what wires are more than narrow balls, W, with few
entries, and what narrow balls are more than those of the mesh, F, through the shares S of each
element in them. There are several times fewer balls than elements, and elements of a piece act
alike on all that is far; so C itself, which fills its factors, is not made where it is large.
With W₀ the blocks of W of short runs of elements and T = Sᵀ W₀⁻¹ S (Woodbury 1950; from memory)

.. math:: (W_0 + S F S^T)^{-1} = W_0^{-1} - W_0^{-1} S (1 + F T)^{-1} F S^T W_0^{-1}

is one sparse factor of the size of the balls. From it conjugate gradients get to the inverse of
C in four steps where pieces stand apart, in ten where they meet. Balls act in it on near ones
only, or it would fill too, for no fewer steps.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from scipy.sparse.linalg import ArpackNoConvergence, LinearOperator, cg, eigsh, splu

from ..errors import ConvergenceError, TrustError
from ..model import Floats, Integers

_directly = 5_000  # elements; up to there one factor of C costs least
_densely = 400  # elements; of so many all eigenvalues cost least
_run = 32  # elements of a block at most
_near = 0.03  # of the geometric mean of two diagonal entries; less is not in the factor
# Of a volt, root mean square over the elements: what is left of the voltages.
_left = 1e-10
_usual_steps, _most_steps = 40, 200


@dataclass(frozen=True)
class ShortRange:
    """The short-range matrix of m line elements with k balls, in its parts.

    Attributes
    ----------
    wires : csr_matrix, shape (m, m)
        Wires less narrow balls, films and sheaths; symmetric. [Ω]
    balls : csr_matrix, shape (k, k)
        Narrow balls less those of the mesh; symmetric. [Ω]
    shares : csr_matrix, shape (m, k)
        What the line elements give the balls.
    """

    wires: sparse.csr_matrix
    balls: sparse.csr_matrix
    shares: sparse.csr_matrix

    def __matmul__(self, current: Floats) -> Floats:
        """Voltage of each element for currents of all. [V]"""
        far = self.shares @ (self.balls @ (self.shares.T @ current))
        return np.asarray(self.wires @ current + far)

    def matrix(self) -> sparse.csc_matrix:
        """The whole matrix, shape (m, m). [Ω]"""
        far = self.shares @ self.balls @ self.shares.T.tocsr()
        return (self.wires + far).tocsc()

    def lowest(self) -> float:
        """Lowest eigenvalue of the matrix with its diagonal scaled to 1."""
        shares = self.shares
        far = (shares @ self.balls).multiply(shares).sum(axis=1)
        diagonal = self.wires.diagonal() + np.asarray(far).ravel()
        if not diagonal.min() > 0:
            return float(diagonal.min() / np.abs(diagonal).max())
        scale, count = 1.0 / np.sqrt(diagonal), len(diagonal)
        if count <= _densely:
            matrix = self.matrix().toarray() * np.outer(scale, scale)
            return float(np.linalg.eigvalsh(matrix).min())
        scaled = LinearOperator(
            (count, count), matvec=lambda x: scale * (self @ (scale * x)), dtype=np.float64
        )
        start = np.random.default_rng(1).normal(size=count)
        try:
            found = eigsh(scaled, k=1, which="SA", tol=0.1, v0=start, ncv=40, maxiter=20)[0]
        except ArpackNoConvergence:
            return 0.0  # crowded above zero: what is below stands out and is found at once
        return float(found[0])

    def require_definite(self) -> None:
        """Raise `TrustError` if some currents would gain power beside the mesh."""
        lowest = self.lowest()
        if not lowest >= 0:
            msg = (
                f"the short-range matrix of the metal is indefinite (lowest eigenvalue "
                f"{lowest:.2g} of its diagonal): metal is too near to a much better body or to "
                "a plate; move them apart, or ask for smaller elements (numerics.element_size)"
            )
            raise TrustError(msg)

    def inverse(self, piece: Integers) -> Callable[[Floats], Floats]:
        """Currents of the elements for voltages of some volts at most. [A]

        Parameters
        ----------
        piece : ndarray of int, shape (m,)
            That each element belongs to; those of one follow one another.
        """
        count = len(piece)
        if count > _directly:
            by_blocks = _ByBlocks(self, block=_runs(piece))
            if by_blocks.steps(np.ones(count), most=_usual_steps)[1]:
                return by_blocks
        factor = splu(self.matrix(), permc_spec="MMD_AT_PLUS_A")
        solve: Callable[[Floats], Floats] = factor.solve
        return solve


def _runs(piece: Integers) -> Integers:
    """Number of the block of each element: those of one piece, or so many of them."""
    first = np.flatnonzero(np.diff(piece, prepend=-1))
    number = np.arange(len(piece)) - np.repeat(first, np.diff(first, append=len(piece)))
    return np.cumsum(number % _run == 0) - 1


def _mostly_near(balls: sparse.csr_matrix) -> sparse.csr_matrix:
    """The matrix of balls with what those farther away do taken to the diagonal."""
    scale = 1.0 / np.sqrt(balls.diagonal())
    rows = np.repeat(np.arange(len(scale)), np.diff(balls.indptr))
    far = np.abs(balls.data) * scale[rows] * scale[balls.indices] < _near
    near = balls.copy()
    near.data[far] = 0.0
    near.eliminate_zeros()
    moved = np.bincount(rows[far], balls.data[far], len(scale))
    return sparse.csr_matrix(near + sparse.diags_array(moved.astype(np.float64)))


class _ByBlocks:
    """Conjugate gradients with the inverse of the part of C that has W in blocks."""

    def __init__(self, short_range: ShortRange, *, block: Integers) -> None:
        self._all = short_range
        wires = short_range.wires.tocoo()
        own = block[wires.row] == block[wires.col]
        kept = sparse.csc_matrix(
            (wires.data[own], (wires.row[own], wires.col[own])), shape=wires.shape
        )
        self._blocks = splu(kept, permc_spec="NATURAL")
        self._shared = self._over_blocks(block)
        self._near = _mostly_near(short_range.balls)
        between = short_range.shares.T.tocsr() @ self._shared
        one = sparse.eye_array(between.shape[0], format="csr")
        # Half the memory in single precision; the next step mends what is off.
        joined = (one + self._near @ between).tocsc().astype(np.float32)
        self._balls = splu(joined, permc_spec="MMD_AT_PLUS_A")

    def _over_blocks(self, block: Integers) -> sparse.csr_matrix:
        """The shares over the blocks, W₀⁻¹ S: a ball of each block is solved for at once."""
        shares = self._all.shares.tocoo()
        count = shares.shape[1]
        pairs, pair = np.unique(block[shares.row] * count + shares.col, return_inverse=True)
        many = np.bincount(pairs // count)
        first = np.cumsum(many) - many
        number = pair - first[block[shares.row]]
        dense = np.zeros((len(block), many.max()))
        dense[shares.row, number] = shares.data
        dense = self._blocks.solve(dense)
        row, number = np.nonzero(np.arange(many.max()) < many[block][:, None])
        column = pairs[first[block[row]] + number] % count
        return sparse.csr_matrix((dense[row, number], (row, column)), shape=shares.shape)

    def _nearly(self, voltage: Floats) -> Floats:
        """Currents for voltages but for what joins the blocks."""
        alone = self._blocks.solve(voltage)
        felt = self._near @ (self._all.shares.T @ alone)
        return np.asarray(alone - self._shared @ self._balls.solve(felt.astype(np.float32)))

    def steps(self, voltage: Floats, *, most: int) -> tuple[Floats, bool]:
        """Currents after so many steps at most, and whether they are what they should be."""
        shape = (len(voltage), len(voltage))
        current, left = cg(
            LinearOperator(shape, matvec=self._all.__matmul__, dtype=np.float64),
            voltage,
            rtol=0.0,
            atol=_left * np.sqrt(len(voltage)),
            maxiter=most,
            M=LinearOperator(shape, matvec=self._nearly, dtype=np.float64),
        )
        return current, left == 0

    def __call__(self, voltage: Floats) -> Floats:
        """Currents for voltages. [A]"""
        current, done = self.steps(voltage, most=_most_steps)
        if not done:
            msg = (
                f"the currents of {len(voltage)} line elements are not found in {_most_steps} "
                "steps; metal that lies in other metal is the usual cause: leave one out"
            )
            raise ConvergenceError(msg)
        return current
