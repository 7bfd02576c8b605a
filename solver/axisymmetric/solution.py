r"""Resistance and potential of one body of revolution in horizontal layers.

Conduction in the half-plane (r, depth), with the metal's surface in the mesh:

    div(σ grad φ) = 0,  no current through the surface of the soil,  φ ~ 1/R far away,

and on the metal φ = V, or with a contact film of c ohm·m² the current density (V - φ) / c.
Quadratic triangles, solved directly. The three-dimensional solver takes from here only the
ends of backfill (`solver/field/shells.py`).
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy.sparse as sparse
from scipy.sparse.linalg import splu

from ..errors import CaseError, ConvergenceError, TrustError
from ..model import Floats, Integers, Soil, require_isotropic, require_layers_alone
from .assembly import face_matrix, open_boundary, stiffness
from .bodies import Fill, Metal, require_fit
from .meshing import Ground, ground_round
from .points import interpolated, located

residual_limit = 1e-10
# Cells far out are up to a million times as wide as high; what round-off lets leak between
# their nodes shows in the balance, not in the resistance, which is taken at the metal.
balance_limit = 1e-4
error_limit = 0.002
_finest = 4.0
# Of the change from twice the steps. The error is a fifteenth of that change where the field
# is smooth (order 4), a third to a half at edges of fill and where layers meet metal.
_share_of_change = 0.4


@dataclass(frozen=True)
class AxisymmetricSolution:
    """Field of one body at one volt, and how good it is.

    Attributes
    ----------
    resistance : float
        Resistance to remote earth. [Ω]
    residual : float
        Largest true residual of an equation relative to the sum of the sizes of its terms
        (Oettli & Prager 1964; from memory).
    balance : float
        Difference between the current out of the metal and that through the outer
        boundary, relative.
    error_estimate : float
        Band round the resistance, relative: 0.4 of the change from a mesh with twice the
        steps and half the distance to the outer boundary.
    unknowns : int
        Number of unknowns.
    nodes : ndarray of float, shape (n, 2)
        Radius and depth of the nodes of the mesh. [m]
    triangles : ndarray of int, shape (m, 6)
        Corners, then middles of sides 0-1, 1-2, 2-0.
    share : ndarray of float, shape (n,)
        Potential of the nodes as a share of the rise.
    metal_faces : ndarray of int, shape (k, 3)
        Sides of triangles on the metal: ends, then middle.
    metal_current : ndarray of float, shape (k,)
        Current out of each of these faces at one volt. [A/V]
    """

    resistance: float
    residual: float
    balance: float
    error_estimate: float
    unknowns: int
    nodes: Floats
    triangles: Integers
    share: Floats
    metal_faces: Integers
    metal_current: Floats

    def potential(
        self, radius: npt.ArrayLike, *, depth: npt.ArrayLike = 0.0, current: float
    ) -> Floats:
        """Potential of the soil to remote earth.

        Parameters
        ----------
        radius : array_like of float
            Distance from the axis, outside the metal. [m]
        depth : array_like of float, default 0
            Depth, of a shape that fits `radius`; 0 is the surface. [m]
        current : float
            Current from the metal into the soil. [A]

        Returns
        -------
        potential : ndarray of float
            Of the shape that both have together. [V]

        Raises
        ------
        CaseError
            If a place is in the metal, above ground or beyond the outer boundary.
        """
        r, z = np.broadcast_arrays(np.asarray(radius, float), np.asarray(depth, float))
        places = np.column_stack([r.ravel(), z.ravel()])
        at = located(places, nodes=self.nodes, triangles=self.triangles)
        share = interpolated(self.share, triangles=self.triangles, at=at)
        return np.asarray(self.resistance * current * share.reshape(r.shape))


def solve_axisymmetric(
    metal: Metal,
    *,
    soil: Soil,
    contact: float = 0.0,
    fill: Fill | None = None,
    fineness: float = 1.0,
) -> AxisymmetricSolution:
    """Field of one vertical rod, round plate or half spheroid in layered soil.

    Parameters
    ----------
    contact : float
        Resistance of the film between metal and what surrounds it, times its area. [Ω·m²]
    fill : Fill, optional
        Backfill or concrete round the metal; it replaces the layers it stands in.
    fineness : float
        Divides all steps of the mesh; from 0.5 to 4.

    Raises
    ------
    CaseError
        If the bodies do not fit each other or the layers.
    ConvergenceError
        If the linear system is not solved.
    TrustError
        If current balance or error estimate miss their limits; a `LayersOnlyError` if the soil
        has bodies.

    Notes
    -----
    The metal has no resistance of its own. Errors are below 0.05 % of the resistance for
    all exact values of ``tests/solver/axisymmetric``.

    Examples
    --------
    A hemisphere: 100 / (2 π 0.5) = 31.831 Ω exactly.

    >>> from ohmscape.solver.axisymmetric import HalfSpheroid, solve_axisymmetric
    >>> from ohmscape.solver.model import Soil
    >>> ball = HalfSpheroid(radius=0.5, bottom_depth=0.5)
    >>> solution = solve_axisymmetric(ball, soil=Soil((100.0,)))
    >>> print(f"{solution.resistance:.2f} Ω")
    31.83 Ω
    >>> print(f"{solution.potential(2.0, current=3.0):.2f} V")
    23.87 V
    """
    require_layers_alone(soil, method="figures of revolution in a half plane")
    require_isotropic(soil, method="figures of revolution in a half plane")
    require_fit(metal, fill=fill, contact=contact)
    if not 0.5 <= fineness <= _finest:
        msg = f"fineness is {fineness:g}; it must be from 0.5 to {_finest:g}"
        raise CaseError(msg)
    fine, coarse = (
        _solved(
            ground_round(metal, soil=soil, fill=fill, fineness=share * fineness, reach=share),
            contact=contact,
        )
        for share in (1.0, 0.5)
    )
    estimate = _share_of_change * abs(coarse.resistance / fine.resistance - 1)
    _require(fine, estimate=estimate)
    return AxisymmetricSolution(
        resistance=fine.resistance,
        residual=fine.residual,
        balance=fine.balance,
        error_estimate=estimate,
        unknowns=fine.unknowns,
        nodes=fine.ground.mesh.nodes,
        triangles=fine.ground.mesh.triangles,
        share=fine.potential,
        metal_faces=fine.ground.mesh.metal_faces,
        metal_current=_by_face(fine),
    )


@dataclass(frozen=True)
class _Solved:
    """One mesh solved at one volt."""

    ground: Ground
    potential: Floats
    leaving: Floats  # current out of the metal at each node [A/V]
    resistance: float
    residual: float
    balance: float
    unknowns: int


def _solved(ground: Ground, *, contact: float) -> _Solved:
    """Solution on one mesh with the metal at one volt."""
    mesh = ground.mesh
    nodes, faces = mesh.nodes, mesh.metal_faces
    boundary = open_boundary(
        nodes, faces=mesh.outer_faces, conductivity=ground.outer_conductivity
    )
    matrix = boundary + stiffness(
        nodes, triangles=mesh.triangles, conductivity=ground.conductivity
    )
    potential = np.zeros(len(nodes))
    fed = np.zeros(len(nodes))  # current per node that a film lets in at no potential
    free = np.ones(len(nodes), dtype=bool)
    if contact > 0:
        film = face_matrix(nodes, faces=faces, factor=np.full(len(faces), 1 / contact))
        matrix = matrix + film
        fed[:] = film @ np.ones(len(nodes))
    else:
        free[faces] = False
        potential[~free] = 1.0
    right = (fed - matrix @ potential)[free]
    inner = sparse.csc_matrix(matrix[free][:, free])
    factor = splu(inner, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0)
    potential[free] = factor.solve(right)
    # Areas of triangles span twenty decades; one step of refinement makes up for round-off.
    potential[free] += factor.solve(right - inner @ potential[free])
    terms = abs(inner) @ np.abs(potential[free]) + np.abs(right)
    left = float(np.max(np.abs(right - inner @ potential[free]) / terms))
    # Current out of the metal: reactions at its nodes, or what passes the film.
    at_metal = matrix @ potential
    current = float(at_metal[~free].sum() + fed @ (1 - potential))
    by_node = np.where(free, 0.0, at_metal)
    if contact > 0:
        by_node = film @ (1 - potential)
    leaving = float((boundary @ potential).sum())
    return _Solved(
        ground=ground,
        potential=potential,
        leaving=by_node,
        resistance=1 / current,
        residual=left,
        balance=abs(leaving / current - 1),
        unknowns=int(free.sum()),
    )


def _by_face(solved: _Solved) -> Floats:
    """Current out of each face of the metal: nodes between two faces share by length."""
    mesh = solved.ground.mesh
    first, last, middle = mesh.metal_faces.T
    length = np.linalg.norm(mesh.nodes[last] - mesh.nodes[first], axis=1)
    beside = np.zeros(len(mesh.nodes))
    for node in (first, last):
        np.add.at(beside, node, length)
    leaving = solved.leaving
    shared = sum(leaving[node] * length / beside[node] for node in (first, last))
    return np.asarray(leaving[middle] + shared)


def _require(solved: _Solved, *, estimate: float) -> None:
    """Raise unless residual, balance and error estimate are within their limits."""
    if not solved.residual <= residual_limit:  # also true for NaN
        msg = (
            f"residual {solved.residual:.1e} is above {residual_limit:.0e} "
            f"({solved.unknowns} unknowns)"
        )
        raise ConvergenceError(msg)
    limits = {
        "current balance": (solved.balance, balance_limit),
        "error estimate": (estimate, error_limit),
    }
    for name, (value, limit) in limits.items():
        if not value <= limit:
            msg = f"{name} {value:.1e} is above {limit:.0e}; the result is not trustworthy"
            raise TrustError(msg)
