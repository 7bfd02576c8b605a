"""One vertical rod among `Conductors`, solved by the axisymmetric method as any soil is."""

from dataclasses import dataclass

import numpy as np

from ..anisotropy import stretched, twin_of, unstretched
from ..errors import CaseError
from ..model import Conductors, Floats, Integers, Phasors, Soil
from ..solved_soil import require_in_soil, with_metal
from .bodies import Cylinder, Fill
from .solution import AxisymmetricSolution, solve_axisymmetric

_same = 1e-9  # places that differ by less are one [m]


@dataclass(frozen=True)
class RodElements:
    """Lengths of a rod between the nodes of its mesh, m of them, from the top down."""

    start: Floats  # (m, 3): ends of the axis, z up [m]
    end: Floats
    piece: Integers  # (m,): piece of `Conductors` that holds the middle of each

    @property
    def length(self) -> Floats:
        """Length of each element, shape (m,). [m]"""
        return np.asarray(self.start[:, 2] - self.end[:, 2])


@dataclass(frozen=True)
class SolvedRod:
    """One vertical rod in layered soil: a `SolvedSoil` of one group."""

    soil: Soil
    conductors: Conductors  # the pieces of metal, end to end on one axis
    solution: AxisymmetricSolution  # of the rod at one volt
    elements: RodElements  # the m lengths that it leaks from
    # (1, m): current out of each at one volt, ends of the rod with the lengths beside them
    # [A/V]
    current: Floats

    @property
    def current_matrix(self) -> Floats:
        """Current out of the rod at one volt, shape (1, 1). [S]"""
        return np.array([[1.0 / self.solution.resistance]])

    @property
    def resistance_error(self) -> float:
        """Estimated error of the resistance, relative: by a mesh of twice the steps."""
        return self.solution.error_estimate

    def potential(self, points: Floats, *, voltage: Phasors) -> Phasors:
        """Potential of the soil to remote earth; inside the metal, the value at its face.

        Parameters
        ----------
        points : ndarray of float, shape (n, 3)
            z up; the surface is z = 0. [m]
        voltage : ndarray of float or complex, shape (1,)
            Of the rod. [V]

        Returns
        -------
        potential : ndarray of float or complex, shape (n,)
            On its head in the surface the voltage of the metal. Shells of backfill are
            resolved. [V]

        Raises
        ------
        CaseError
            If a point is above the surface, not a number, or beyond the outer boundary.
        """
        require_in_soil(points)
        if not len(points):
            return np.zeros(0)
        rod = _cylinder(twin_of(self.conductors, soil=self.soil).conductors)
        radius = np.hypot(*(points[:, :2] - self.conductors.start[0, :2]).T)
        depth = -stretched(points, soil=self.soil)[:, 2]
        beside = (depth >= rod.top_depth - _same) & (depth <= rod.bottom_depth + _same)
        radius = np.where(beside, np.maximum(radius, rod.radius), radius)
        share = self.solution.potential(radius, depth=depth, current=1.0)
        found = np.asarray(share * (voltage[0] / self.solution.resistance))
        return with_metal(found, points=points, conductors=self.conductors, voltage=voltage)


def is_one_rod(conductors: Conductors) -> bool:
    """Whether all the metal is one vertical rod, alike all along and in one group."""
    ends = np.concatenate([conductors.start, conductors.end])
    kinds = np.column_stack(
        [conductors.radius, conductors.contact, conductors.sheath_radius,
         conductors.sheath_resistivity, conductors.sheath_cover]
    )  # fmt: skip
    one_axis = np.ptp(ends[:, :2], axis=0).max() < _same
    whole = abs(float(conductors.length.sum()) - float(np.ptp(ends[:, 2]))) < _same
    alike = bool((kinds == kinds[0]).all())
    alike &= not conductors.flat.any()
    return len(conductors.group_names) == 1 and bool(one_axis) and whole and alike


def solve_rod(conductors: Conductors, *, soil: Soil) -> SolvedRod:
    """Soil with one vertical rod in it.

    Raises
    ------
    CaseError
        If the metal is not one vertical rod (see `is_one_rod`), or its fill does not fit it.
    ConvergenceError, TrustError
        As `solve_axisymmetric`.
    """
    twin = twin_of(conductors, soil=soil)
    metal = twin.conductors
    if not is_one_rod(metal):
        msg = "this metal is not one vertical rod, alike all along, in one group"
        raise CaseError(msg)
    fill = None
    if metal.sheath_radius[0] > metal.radius[0]:
        fill = Fill(
            radius=float(metal.sheath_radius[0]),
            resistivity=float(metal.sheath_resistivity[0]),
            cover=float(metal.sheath_cover[0]),
        )
    rod = _cylinder(metal)
    solution = solve_axisymmetric(
        rod, soil=twin.soil, contact=float(metal.contact[0]), fill=fill
    )
    elements, current = _leaking(solution, rod=rod, conductors=metal)
    elements = RodElements(
        unstretched(elements.start, soil=soil),
        unstretched(elements.end, soil=soil),
        twin.piece[elements.piece],
    )
    return SolvedRod(soil, conductors, solution, elements, current[None, :])


def _cylinder(conductors: Conductors) -> Cylinder:
    ends = np.concatenate([conductors.start[:, 2], conductors.end[:, 2]])
    top, bottom = -float(ends.max()), -float(ends.min())
    return Cylinder(radius=float(conductors.radius[0]), length=bottom - top, top_depth=abs(top))


def _leaking(
    solution: AxisymmetricSolution, *, rod: Cylinder, conductors: Conductors
) -> tuple[RodElements, Floats]:
    """Elements along the side of a rod, and the current of each at one volt."""
    ends = solution.nodes[solution.metal_faces[:, :2]]  # (k, 2, 2): radius and depth
    side = np.abs(ends[:, :, 0] - rod.radius).max(axis=1) < 1e-6 * rod.radius
    upper, lower = np.sort(ends[side, :, 1], axis=1).T
    order = np.argsort(upper)
    upper, lower = upper[order], lower[order]
    # What leaves through the flat ends of the rod goes with the nearest length of its side.
    depth = ends[:, :, 1].mean(axis=1)
    element = np.clip(np.searchsorted(lower, depth), 0, len(lower) - 1)
    current = np.zeros(len(lower))
    np.add.at(current, element, solution.metal_current)
    place = conductors.start[0, :2]
    start, end = (
        np.column_stack([np.tile(place, (len(lower), 1)), -level]) for level in (upper, lower)
    )
    tops = -np.maximum(conductors.start[:, 2], conductors.end[:, 2])
    by_depth = np.argsort(tops)
    middle = 0.5 * (upper + lower)
    piece = by_depth[np.searchsorted(tops[by_depth], middle, side="right") - 1]
    return RodElements(start, end, piece), current
