r"""Resistance and surface potential of one body of revolution in horizontal layers.

Conduction in the half-plane (r, depth), with the metal's surface in the mesh:

    div(σ grad φ) = 0,  no current through the surface of the soil,  φ ~ 1/R far away,

and on the metal φ = V, or with a contact film of c ohm·m² the current density (V - φ) / c.
Quadratic triangles, solved directly. It shares no code with the three-dimensional solver.
"""

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from scipy.sparse.linalg import splu

from ...errors import CaseError, ConvergenceError, TrustError
from ..model import Floats, Soil
from .assembly import face_matrix, open_boundary, stiffness
from .bodies import Fill, Metal, require_fit
from .meshing import Ground, ground_round

residual_limit = 1e-7
balance_limit = 1e-5
error_limit = 0.002
_finest = 4.0
# Of the change from twice the steps: on the exact values of the tests the error is at most an
# eighth of that change (a sixteenth, were all of it of fourth order); this doubles it.
_share_of_change = 0.25


@dataclass(frozen=True)
class AxisymmetricSolution:
    """Field of one body at one volt, and how good it is.

    Attributes
    ----------
    resistance : float
        Resistance to remote earth. [Ω]
    residual : float
        Norm of the true residual relative to that of the right-hand side.
    balance : float
        Difference between the current out of the metal and that through the outer
        boundary, relative.
    error_estimate : float
        Band round the resistance, relative: a quarter of the change from a mesh with twice
        the steps and half the distance to the outer boundary.
    unknowns : int
        Number of unknowns.
    surface_radius : ndarray of float, shape (n,)
        Nodes in the surface of the soil, increasing, an odd number; each second one is the
        middle of its neighbours. [m]
    surface_share : ndarray of float, shape (n,)
        Potential there as a share of the rise.
    """

    resistance: float
    residual: float
    balance: float
    error_estimate: float
    unknowns: int
    surface_radius: Floats
    surface_share: Floats

    def surface_potential(self, distance: Floats, *, current: float) -> Floats:
        """Potential of the soil surface.

        Parameters
        ----------
        distance : ndarray of float, shape (n,)
            Distance from the axis, from the metal's face in the surface outwards. [m]
        current : float
            Current into the soil. [A]

        Returns
        -------
        potential : ndarray of float, shape (n,)
            To remote earth. [V]

        Raises
        ------
        CaseError
            If a distance is inside the metal or beyond the outer boundary.
        """
        where = np.asarray(distance, dtype=float)
        r, share = self.surface_radius, self.surface_share
        if not ((where >= r[0]) & (where <= r[-1])).all():
            msg = (
                f"distances run from {where.min():g} to {where.max():g} m; the soil surface "
                f"of this solution from {r[0]:g} to {r[-1]:g} m"
            )
            raise CaseError(msg)
        ends = r[::2]
        cell = np.clip(np.searchsorted(ends, where, side="right") - 1, 0, len(ends) - 2)
        t = (where - ends[cell]) / (ends[cell + 1] - ends[cell])
        left, middle, right = (share[2 * cell + k] for k in range(3))
        value = (
            (1 - t) * (1 - 2 * t) * left + 4 * t * (1 - t) * middle + t * (2 * t - 1) * right
        )
        return np.asarray(value * self.resistance * current)


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
    metal : Cylinder or HalfSpheroid
        The metal, at one potential.
    soil : Soil
        The layers.
    contact : float
        Resistance of the film between metal and what surrounds it, times its area. [Ω·m²]
    fill : Fill, optional
        Backfill or concrete round the metal; it replaces the layers it stands in.
    fineness : float
        Divides all steps of the mesh; from 0.5 to 4.

    Returns
    -------
    solution : AxisymmetricSolution

    Raises
    ------
    CaseError
        If the bodies do not fit each other or the layers.
    ConvergenceError
        If the linear system is not solved.
    TrustError
        If current balance or error estimate miss their limits.

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
    >>> print(f"{solve_axisymmetric(ball, soil=Soil((100.0,))).resistance:.2f}")
    31.83
    """
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
    surface = fine.ground.mesh.surface
    return AxisymmetricSolution(
        resistance=fine.resistance,
        residual=fine.residual,
        balance=fine.balance,
        error_estimate=estimate,
        unknowns=fine.unknowns,
        surface_radius=fine.ground.mesh.nodes[surface, 0],
        surface_share=fine.potential[surface],
    )


@dataclass(frozen=True)
class _Solved:
    """One mesh solved at one volt."""

    ground: Ground
    potential: Floats
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
    left = float(np.linalg.norm(right - inner @ potential[free]) / np.linalg.norm(right))
    # Current out of the metal: reactions at its nodes, or what passes the film.
    current = float((matrix @ potential)[~free].sum() + fed @ (1 - potential))
    leaving = float((boundary @ potential).sum())
    return _Solved(
        ground=ground,
        potential=potential,
        resistance=1 / current,
        residual=left,
        balance=abs(leaving / current - 1),
        unknowns=int(free.sum()),
    )


def _require(solved: _Solved, *, estimate: float) -> None:
    """Raise unless residual, balance and error estimate are within their limits."""
    if not solved.residual <= residual_limit:  # also true for NaN
        msg = (
            f"relative residual {solved.residual:.1e} is above {residual_limit:.0e} "
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
