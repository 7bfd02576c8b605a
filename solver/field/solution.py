"""The coupled problem on one mesh: unit solutions and the current matrix of the groups.

Per line element, with I its current, C the short-range matrix and A the cloud average,

    V = A φ + C I,    (K + B) φ = Aᵀ I

which leaves (K + B + Aᵀ C⁻¹ A) φ = Aᵀ C⁻¹ V: sparse, symmetric, positive definite. It is
solved once for each group at one volt with the others at zero; all drives are sums of these.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from time import perf_counter

import numpy as np
import scipy.sparse as sparse

from ..anisotropy import Twin, stretched, twin_of, unstretched
from ..model import Conductors, Floats, Mesh, Phasors, Soil
from ..sheaths import within_sheaths
from ..solved_soil import at_most, require_in_soil, with_metal
from ..threads import in_threads
from .across_faces import across_faces
from .checks import Checks, checks_of, require
from .clouds import Clouds, clouds_of
from .conduction import boundary_effect, open_boundary, stiffness
from .conductivity import LayeredElements, layered_elements
from .elements import LineElements
from .films import film_matrix, has_films, space_in
from .indicator import resistance_error
from .linear import TwoLevel
from .model_doubt import model_doubt
from .near_field import short_range
from .near_points import NearField
from .shell_ends import shell_ends
from .short_range import ShortRange
from .smearing import coupling
from .sources import elements_on
from .space import Space
from .system import System, preconditioner_of

_batch = 10_000  # points evaluated at once
# Rods come out this far from the boundary integral of their true faces.
_thinness = 5e-4


@dataclass(frozen=True)
class Solution:
    """Unit solutions of all groups on one mesh.

    Mesh, sources and unknowns are those of the isotropic twin, all else is where it is.

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
    sources : LineElements
        The m elements that current leaves from: lengths of metal and its flat ends.
    unknowns : ndarray of float, shape (g, n)
        Those of the finite elements with group k at 1 V and the others at 0 V. [V/V]
    source_current : ndarray of float, shape (g, m)
        Current out of each with group k at 1 V. [A/V]
    checks : Checks
        How far each balance is met.
    seconds : dict of str to float
        Time of each step. [s]
    """

    mesh: Mesh
    order: int
    soil: Soil
    conductors: Conductors
    sources: LineElements
    unknowns: Floats
    source_current: Floats
    checks: Checks
    seconds: dict[str, float]

    @cached_property
    def twin(self) -> Twin:
        """What was solved: isotropic soil with the metal in it."""
        return twin_of(self.conductors, soil=self.soil)

    @cached_property
    def space(self) -> Space:
        """Finite-element space of the potentials, n unknowns."""
        return space_in(self.mesh, soil=self.twin.soil, order=self.order)

    @cached_property
    def clouds(self) -> Clouds:
        """Balls of source that the mesh feels in place of the line elements."""
        return clouds_of(self.sources)

    @cached_property
    def near_field(self) -> NearField:
        """What the mesh does not see of them."""
        return NearField(self.sources, clouds=self.clouds, soil=self.twin.soil)

    @cached_property
    def conductivity(self) -> LayeredElements:
        """Conductivity of the elements of the mesh."""
        return layered_elements(self.mesh, soil=self.twin.soil)

    @cached_property
    def workings(self) -> tuple[System, TwoLevel]:
        """The coupled system and its preconditioner, for more to be solved on them.

        Made anew, at the price of a solution, unless it was kept; never pickled.
        """
        boundary = open_boundary(self.space, conductivity=self.conductivity.horizontal)
        ground = (stiffness(self.space, conductivity=self.conductivity) + boundary).tocsr()
        system, elements = system_of(
            self.space,
            ground=ground,
            soil=self.twin.soil,
            conductors=self.twin.conductors,
            conductivity=self.conductivity,
        )
        return system, preconditioner_of(
            ground, short_range=system.short_range, space=self.space, elements=elements
        )

    @property
    def kept(self) -> tuple[System, TwoLevel] | None:
        """The workings if they are there, and None rather than made anew."""
        return vars(self).get("workings")

    def let_go(self) -> None:
        """Keep the workings no longer."""
        vars(self).pop("workings", None)

    def __getstate__(self) -> dict[str, object]:
        """What is pickled: factors of matrices cannot be."""
        return {name: value for name, value in vars(self).items() if name != "workings"}

    @cached_property
    def elements(self) -> LineElements:
        """Line elements of the metal, each with the flat ends it has."""
        lines = self.sources.lines()[0]
        if self.soil.isotropic:
            return lines
        piece = self.twin.piece[lines.piece]
        return replace(
            lines,
            start=unstretched(lines.start, soil=self.soil),
            end=unstretched(lines.end, soil=self.soil),
            radius=self.conductors.sheath_radius[piece],
            piece=piece,
        )

    @cached_property
    def current(self) -> Floats:
        """Current out of each of `elements` with group k at 1 V, a row each. [A/V]"""
        lines, line = self.sources.lines()
        total = np.zeros((len(lines), len(self.source_current)))
        np.add.at(total, line, self.source_current.T)
        return total.T

    @property
    def current_matrix(self) -> Floats:
        """Current out of group i with group k at 1 V, symmetric, shape (g, g). [S]"""
        return self.sources.by_group(self.source_current)

    @cached_property
    def resistance_error(self) -> float:
        """Estimated error of a group's resistance, relative: by its error indicator.

        It is above the true error, often several times; two meshes can tell it better. No
        mesh makes good that metal is taken as thin wires, for which 0.05 % is added.
        """
        return resistance_error(self) + _thinness

    @cached_property
    def model_doubt(self) -> tuple[float, float]:
        """What the model of fill leaves open of a resistance and of a voltage, as shares."""
        return model_doubt(
            self.sources,
            conductors=self.twin.conductors,
            soil=self.twin.soil,
            current=self.source_current,
        )

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
            On metal that ends in the surface the voltage of the metal, and nowhere more than
            the largest voltage. Beyond the ends of metal backfill and coating are not
            resolved: there it is that of their outer face. [V]

        Raises
        ------
        CaseError
            If a point is above the surface or not a number.
        MeshError
            If a point is outside the mesh.
        """
        require_in_soil(points)
        smooth, current = voltage @ self.unknowns, voltage @ self.source_current
        places = stretched(points, soil=self.soil)

        def of_batch(first: int) -> Phasors:
            return self.space.values(places[first : first + _batch], unknowns=smooth)

        parts = in_threads(of_batch, range(0, len(points), _batch))
        near = self.near_field.potential(places, current=current)
        found = within_sheaths(
            at_most(np.concatenate([np.zeros(0), *parts]) + near, voltage=voltage),
            points=points,
            conductors=self.conductors,
            voltage=voltage,
        )
        feet = points[:, 2] == 0  # may stand on the disc of a head
        found[feet] = with_metal(
            found[feet], points=points[feet], conductors=self.conductors, voltage=voltage
        )
        return found


def coupled(
    space: Space,
    *,
    soil: Soil,
    conductors: Conductors,
    conductivity: LayeredElements,
    elements: LineElements,
) -> tuple[sparse.csr_matrix, ShortRange]:
    """Averages under the balls of the elements of metal, and their short-range matrix.

    Raises
    ------
    MeshError
        If the mesh near a ball is too coarse to hold it.
    TrustError
        If metal is so near to a better body that currents of it would gain power.
    """
    clouds = clouds_of(elements)
    average = coupling(space, clouds=clouds, soil=soil)
    near = short_range(elements, clouds=clouds, soil=soil)
    ends = shell_ends(elements, conductors=conductors, soil=soil)
    near = replace(near, wires=near.wires + ends.tocsr())
    if soil.bodies:
        average, near = across_faces(
            average, near, space=space, clouds=clouds, soil=soil, conductivity=conductivity
        )
    if soil.bodies or elements.flat.any():
        near.require_definite()
    return average, near


def system_of(
    space: Space,
    *,
    ground: sparse.csr_matrix,
    soil: Soil,
    conductors: Conductors,
    conductivity: LayeredElements,
) -> tuple[System, LineElements]:
    """The coupled system of a soil matrix [S] and metal, see `coupled`, and its elements."""
    elements = elements_on(space.mesh, soil=soil, conductors=conductors)
    average, near = coupled(
        space,
        soil=soil,
        conductors=conductors,
        conductivity=conductivity,
        elements=elements,
    )
    return System(ground, average=average, short_range=near, piece=elements.piece), elements


def solve(
    mesh: Mesh, *, soil: Soil, conductors: Conductors, order: int = 2, keep: bool = False
) -> Solution:
    """Unit solutions for every group of conductors in layered soil.

    Parameters
    ----------
    mesh : Mesh
        Tetrahedra of the half-space of the isotropic twin, with the element size along each
        piece of its metal.
    order : {1, 2}, default 2
        Degree of the finite elements.
    keep : bool, default False
        Whether the system is kept for more to be solved on it, some memory that takes.

    Raises
    ------
    ConvergenceError
        If a linear system is not solved to its tolerance.
    CaseError
        If soil and metal have no isotropic twin (`twin_of`).
    TrustError
        If current balance or reciprocity misses its limit.
    """
    twin = twin_of(conductors, soil=soil)
    seconds: dict[str, float] = {}
    clock = perf_counter()

    def lap(step: str) -> None:
        nonlocal clock
        now = perf_counter()
        seconds[step] = now - clock
        clock = now

    space = space_in(mesh, soil=twin.soil, order=order)
    conductivity = layered_elements(mesh, soil=twin.soil)
    boundary = open_boundary(space, conductivity=conductivity.horizontal)
    ground = (stiffness(space, conductivity=conductivity) + boundary).tocsr()
    if has_films(soil):
        ground = (ground + film_matrix(space, soil=twin.soil)).tocsr()
    lap("assembly")
    system, elements = system_of(
        space,
        ground=ground,
        soil=twin.soil,
        conductors=twin.conductors,
        conductivity=conductivity,
    )
    lap("coupling")
    preconditioner = preconditioner_of(
        ground, short_range=system.short_range, space=space, elements=elements
    )
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
    checks = checks_of(
        system,
        solutions=[solution for solution, _ in pairs],
        current=current,
        matrix=elements.by_group(current),
        leaving=np.asarray(boundary.sum(axis=0)).ravel() @ potential.T,
        effect=np.array(effect),
    )
    lap("checks")
    require(checks)
    solved = Solution(
        mesh, order, soil, conductors, elements, potential, current, checks, seconds
    )
    # Already there: spare the cached properties their work.
    vars(solved).update(space=space, conductivity=conductivity, twin=twin)
    if keep:
        vars(solved).update(workings=(system, preconditioner))
    return solved
