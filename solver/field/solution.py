"""The coupled problem on one mesh: unit solutions and the current matrix of the groups.

Per line element, with I its current, C the short-range matrix and A the cloud average,

    V = A φ + C I,    (K + B) φ = Aᵀ I

which leaves (K + B + Aᵀ C⁻¹ A) φ = Aᵀ C⁻¹ V: sparse, symmetric, positive definite. It is
solved once for each group at one volt with the others at zero; all drives are sums of these.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from time import perf_counter

import numpy as np

from ..errors import TrustError
from ..model import Conductors, Floats, Mesh, Phasors, Soil
from ..solved_soil import at_most, require_in_soil, with_metal
from ..threads import in_threads
from .conduction import boundary_effect, open_boundary, stiffness
from .conductivity import LayeredElements, layered_elements
from .elements import LineElements, line_elements
from .indicator import resistance_error
from .linear import LinearSolution
from .near_field import element_matrix, point_matrix
from .shells import shell_ends
from .smearing import coupling
from .space import Space
from .system import System, preconditioner_of

balance_limit = 1e-5
symmetry_limit = 1e-4
boundary_limit = 0.02
_batch = 10_000  # points evaluated at once, to bound the memory of the near field
# Rods come out this far from the boundary integral of their true faces.
_thinness = 5e-4


@dataclass(frozen=True)
class Checks:
    """What shows that a solution can be trusted, each relative.

    Attributes
    ----------
    residual : float
        Largest true residual of the linear systems.
    balance : float
        Largest difference between the current fed in and that through the outer boundary.
    energy : float
        Largest difference between power dissipated and voltage times current.
    symmetry : float
        Largest asymmetry of the current matrix (reciprocity).
    boundary : float
        Largest change of a group's own conductance with the outer boundary at half its
        distance, to first order.
    iterations : tuple of int
        Conjugate-gradient steps for each group.
    """

    residual: float
    balance: float
    energy: float
    symmetry: float
    boundary: float
    iterations: tuple[int, ...]


@dataclass(frozen=True)
class Solution:
    """Unit solutions of all groups on one mesh.

    Attributes
    ----------
    mesh : Mesh
        The mesh.
    order : int
        Degree of the finite elements.
    soil : Soil
        Layers.
    conductors : Conductors
        The pieces of metal, g groups.
    elements : LineElements
        The m line elements.
    unknowns : ndarray of float, shape (g, n)
        Those of the finite elements with group k at 1 V and the others at 0 V. [V/V]
    current : ndarray of float, shape (g, m)
        Current out of each line element with group k at 1 V. [A/V]
    checks : Checks
        How far each balance is met.
    seconds : dict of str to float
        Time of each step. [s]
    """

    mesh: Mesh
    order: int
    soil: Soil
    conductors: Conductors
    elements: LineElements
    unknowns: Floats
    current: Floats
    checks: Checks
    seconds: dict[str, float]

    @cached_property
    def space(self) -> Space:
        """Finite-element space of the potentials, n unknowns."""
        return Space(self.mesh, order=self.order)

    @cached_property
    def conductivity(self) -> LayeredElements:
        """Conductivity of the elements of the mesh."""
        return layered_elements(self.mesh, soil=self.soil)

    @property
    def current_matrix(self) -> Floats:
        """Current out of group i with group k at 1 V, symmetric, shape (g, g). [S]"""
        return group_currents(self.current, elements=self.elements)

    @cached_property
    def resistance_error(self) -> float:
        """Estimated error of a group's resistance, relative: by its error indicator.

        It is above the true error, often several times; two meshes can tell it better. No
        mesh makes good that metal is taken as thin wires, for which 0.05 % is added.
        """
        return resistance_error(self) + _thinness

    def potential(self, points: Floats, *, voltage: Phasors) -> Phasors:
        """Potential of the soil to remote earth; inside the metal, the value at its face.

        Parameters
        ----------
        points : ndarray of float, shape (p, 3)
            z up; the surface is z = 0. [m]
        voltage : ndarray of float or complex, shape (g,)
            Of each group. [V]

        Returns
        -------
        potential : ndarray of float or complex, shape (p,)
            On bare metal that ends in the surface the voltage of the metal, and nowhere more
            than the largest voltage. Shells of backfill or coating are not resolved: within
            them it is that of their outer face. [V]

        Raises
        ------
        CaseError
            If a point is above the surface or not a number.
        MeshError
            If a point is outside the mesh.
        """
        require_in_soil(points)
        smooth, current = voltage @ self.unknowns, voltage @ self.current

        def of_batch(first: int) -> Phasors:
            batch = points[first : first + _batch]
            value = self.space.interpolation(batch) @ smooth
            near = point_matrix(batch, elements=self.elements, soil=self.soil)
            found = at_most(np.asarray(value + near @ current), voltage=voltage)
            feet = batch[:, 2] == 0  # may stand on the disc of a head
            found[feet] = with_metal(
                found[feet], points=batch[feet], conductors=self.conductors, voltage=voltage
            )
            return found

        parts = in_threads(of_batch, range(0, len(points), _batch))
        return np.concatenate([np.zeros(0), *parts])


def group_currents(current: Floats, *, elements: LineElements) -> Floats:
    """Currents of line elements summed by group.

    Parameters
    ----------
    current : ndarray of float, shape (k, m)
        Current out of each of m line elements in k cases. [A]

    Returns
    -------
    total : ndarray of float, shape (g, k)
        [A]
    """
    count = int(elements.group.max()) + 1
    member = (elements.group == np.arange(count)[:, None]).astype(float)
    return member @ current.T


def solve(mesh: Mesh, *, soil: Soil, conductors: Conductors, order: int = 2) -> Solution:
    """Unit solutions for every group of conductors in layered soil.

    Parameters
    ----------
    mesh : Mesh
        Tetrahedra of the half-space, with the element size along each piece.
    order : {1, 2}, default 2
        Degree of the finite elements.

    Raises
    ------
    ConvergenceError
        If a linear system is not solved to its tolerance.
    TrustError
        If current balance or reciprocity misses its limit.
    """
    seconds: dict[str, float] = {}
    clock = perf_counter()

    def lap(step: str) -> None:
        nonlocal clock
        now = perf_counter()
        seconds[step] = now - clock
        clock = now

    space = Space(mesh, order=order)
    conductivity = layered_elements(mesh, soil=soil)
    ground = stiffness(space, conductivity=conductivity)
    boundary = open_boundary(space, conductivity=conductivity.horizontal)
    lap("assembly")
    elements = line_elements(
        conductors, soil=soil, element_size=mesh.element_size, spread=mesh.spread
    )
    average = coupling(space, elements=elements, soil=soil)
    short_range = element_matrix(elements, soil=soil) + shell_ends(
        elements, conductors=conductors, soil=soil
    )
    system = System(
        (ground + boundary).tocsr(), average=average, short_range=short_range.tocsc()
    )
    lap("coupling")
    preconditioner = preconditioner_of(system, space=space, elements=elements)
    lap("preconditioner")
    pairs = [
        system.solve((elements.group == group).astype(float), preconditioner=preconditioner)
        for group in range(len(conductors.group_names))
    ]
    potential = np.array([solution.unknowns for solution, _ in pairs])
    current = np.array([amperes for _, amperes in pairs])
    lap("solve")
    effect = [
        boundary_effect(space, conductivity=conductivity, boundary=boundary, potential=unit)
        for unit in potential
    ]
    checks = _checks(
        system,
        solutions=[solution for solution, _ in pairs],
        current=current,
        matrix=group_currents(current, elements=elements),
        leaving=np.asarray(boundary.sum(axis=0)).ravel() @ potential.T,
        effect=np.array(effect),
    )
    lap("checks")
    _require(checks)
    solved = Solution(
        mesh, order, soil, conductors, elements, potential, current, checks, seconds
    )
    # Already there: spare the cached properties their work.
    vars(solved).update(space=space, conductivity=conductivity)
    return solved


def _checks(
    system: System,
    *,
    solutions: Sequence[LinearSolution],
    current: Floats,
    matrix: Floats,
    leaving: Floats,
    effect: Floats,
) -> Checks:
    """Balances of the unit solutions; `leaving` is the current through the boundary."""
    potential = [solution.unknowns for solution in solutions]
    own = matrix.diagonal()
    return Checks(
        residual=max(solution.residual for solution in solutions),
        balance=float(np.max(np.abs(leaving - matrix.sum(axis=0)) / own)),
        energy=_energy_gap(system, potential=potential, current=current, matrix=matrix),
        symmetry=float(np.max(np.abs(matrix - matrix.T)) / np.max(np.abs(matrix))),
        boundary=float(np.max(np.abs(effect / own))),
        iterations=tuple(solution.iterations for solution in solutions),
    )


def _energy_gap(
    system: System, *, potential: Sequence[Floats], current: Floats, matrix: Floats
) -> float:
    """Largest relative gap between dissipated power and V·I over the unit solutions."""
    gaps = []
    for phi, amperes, fed in zip(potential, current, matrix.diagonal(), strict=True):
        in_soil = phi @ (system.soil_matrix @ phi)
        near_metal = amperes @ (system.short_range @ amperes)
        gaps.append(abs((in_soil + near_metal) / fed - 1))
    return float(max(gaps))


def _require(checks: Checks) -> None:
    """Raise unless balance, energy and reciprocity are within their limits."""
    limits = {
        "current balance": (checks.balance, balance_limit),
        "energy balance": (checks.energy, balance_limit),
        "asymmetry of the current matrix": (checks.symmetry, symmetry_limit),
        "effect of the outer boundary": (checks.boundary, boundary_limit),
    }
    for name, (value, limit) in limits.items():
        if not value <= limit:  # also true for NaN
            msg = f"{name} {value:.1e} is above {limit:.0e}; the result is not trustworthy"
            raise TrustError(msg)
