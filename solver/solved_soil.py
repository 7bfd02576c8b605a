"""What any method gives of a solved soil, and its field at given voltages of the groups.

Finite elements (`field.solution.Solution`), thin conductors (`thin_wire.SecondOpinion`) and
the axisymmetric method (`axisymmetric.SolvedRod`) are all a `SolvedSoil`. Maps, worst
voltages, exposures and verdicts ask for nothing else, so that they hold for each of them.
"""

from dataclasses import dataclass
from hashlib import blake2b
from typing import Protocol, TypeVar

import numpy as np
from scipy.spatial import cKDTree

from .errors import CaseError
from .model import Conductors, Flags, Floats, Integers, Phasors, Soil
from .pairs import pairs_within
from .patch_meetings import on_patches

_most_kept = 200  # sets of points of one solution that remembers
Solved = TypeVar("Solved")


class Lines(Protocol):
    """Straight lengths of metal that leak evenly, m of them; a method has its own kind."""

    @property
    def start(self) -> Floats:
        """One end of each axis, shape (m, 3). [m]"""

    @property
    def end(self) -> Floats:
        """The other end of each axis, shape (m, 3). [m]"""

    @property
    def length(self) -> Floats:
        """Shape (m,). [m]"""

    @property
    def piece(self) -> Integers:
        """Piece of `Conductors` that each belongs to, shape (m,)."""


class SolvedSoil(Protocol):
    """Unit solutions of bonded groups of metal in layered soil, by whatever method."""

    @property
    def soil(self) -> Soil:
        """Layers."""

    @property
    def conductors(self) -> Conductors:
        """The pieces of metal, g groups."""

    @property
    def elements(self) -> Lines:
        """The m line elements that the metal leaks from."""

    @property
    def current(self) -> Floats:
        """Current out of each element with group k at 1 V, the others at 0 V, (g, m). [A/V]"""

    @property
    def current_matrix(self) -> Floats:
        """Current out of group i with group k at 1 V, symmetric, shape (g, g). [S]"""

    @property
    def resistance_error(self) -> float:
        """Estimated error of a group's resistance, relative, as the method can tell alone.

        A potential is off by no more than the rise, which goes with the resistance: this
        share of the rise is what stands for the error of a voltage where nothing is known
        of its place. What each method counts is told where it gives this.
        """

    def potential(self, points: Floats, *, voltage: Phasors) -> Phasors:
        """Potential of the soil to remote earth at points of shape (n, 3), shape (n,). [V]

        Inside the metal it is the value at the face of the metal towards the soil. In backfill
        or a coating beyond the end of the metal it is that at the outer face, unless the
        method resolves it. A foot on metal that reaches the surface stands on the metal: there
        it is its voltage, whatever film, coating or fill is round it in the soil.

        Parameters
        ----------
        points : ndarray of float, shape (n, 3)
            In the soil or on its surface, z <= 0. [m]
        voltage : ndarray of float or complex, shape (g,)
            Of each group. [V]

        Raises
        ------
        CaseError
            If a point is above the surface or not a number.
        OhmscapeError
            If a point is farther away than the method reaches.
        """


@dataclass(frozen=True)
class Field:
    """A solved soil with its groups at given voltages.

    Attributes
    ----------
    solution : SolvedSoil
        Unit solutions of g groups, m line elements.
    voltage : ndarray of float or complex, shape (g,)
        Rise of each group over remote earth. [V]
    """

    solution: SolvedSoil
    voltage: Phasors

    @property
    def element_current(self) -> Phasors:
        """Current from each line element into the soil, shape (m,). [A]"""
        return self.voltage @ self.solution.current

    @property
    def leakage(self) -> Phasors:
        """Current per length of each line element, shape (m,). [A/m]"""
        return self.element_current / self.solution.elements.length

    @property
    def voltage_error(self) -> float:
        """Error of any voltage as the method can tell alone, see `SolvedSoil`. [V]"""
        return float(np.abs(self.voltage).max()) * self.solution.resistance_error

    def on_side_of_rise(self, values: Phasors) -> Floats:
        """Part of values in phase with the largest rise, above zero on its side. [V]"""
        rise = self.voltage[int(np.abs(self.voltage).argmax())]
        turn = np.conj(rise) / max(abs(rise), 1e-300)
        return np.asarray(np.real(values * turn), dtype=np.float64)

    def group_current(self) -> Phasors:
        """Current from each group into the soil, shape (g,). [A]"""
        return np.asarray(self.solution.current_matrix @ self.voltage)

    def part_current(self) -> Phasors:
        """Current of each part the user named, shape (number of parts,). [A]"""
        conductors = self.solution.conductors
        part = conductors.part[self.solution.elements.piece]
        total = np.zeros(len(conductors.part_names), dtype=self.voltage.dtype)
        np.add.at(total, part, self.element_current)
        return total

    def potential(self, points: Floats) -> Phasors:
        """Potential to remote earth at points in the soil or on its surface.

        Parameters
        ----------
        points : array_like of float, shape (n, 3)
            Places, z <= 0. [m]

        Returns
        -------
        potential : ndarray of float or complex, shape (n,)
            Inside the metal, the value at its face. [V]

        Raises
        ------
        CaseError
            If a point is above the surface or not a number.
        OhmscapeError
            If a point is farther away than the method reaches.
        """
        points = np.asarray(points, dtype=float).reshape(-1, 3)
        return self.solution.potential(points, voltage=self.voltage)

    def metal_voltage(self, group: int, *, places: Floats) -> Phasors:
        """Voltage of the metal of a group as it is met at plan places, shape (n, 2), (n,). [V]

        The same everywhere where metal is at one potential.
        """
        return np.full(len(places), self.voltage[group])

    def between(self, one: int, other: int) -> complex:
        """Voltage between the metal of two groups, the largest that can be met. [V]"""
        return complex(self.voltage[one] - self.voltage[other])

    def times(self, factor: float) -> "Field":
        """The same with all currents larger by a factor; nothing is solved."""
        return Field(self.solution, factor * self.voltage)

    def on_ground(self, places: Floats) -> Flags:
        """Whether somebody can stand at plan places, shape (n, 2), see `Soil.on_ground`."""
        return self.solution.soil.on_ground(places)

    def surface_potential(self, places: Floats) -> Phasors:
        """Potential of the soil surface. [V]

        Parameters
        ----------
        places : array_like of float, shape (n, 2), or (n, 3) with z = 0
            [m]

        Raises
        ------
        CaseError
            If there are other columns, or a place is not on the surface.
        """
        places = np.atleast_2d(np.asarray(places, dtype=float))
        if places.size == 0:
            places = places.reshape(-1, 2)
        if places.ndim != 2 or places.shape[1] not in (2, 3):
            msg = f"places of shape {places.shape}; give (n, 2), or (n, 3) with z = 0"
            raise CaseError(msg)
        if places.shape[1] == 3 and np.any(places[:, 2] != 0):
            msg = (
                f"z from {places[:, 2].min():g} to {places[:, 2].max():g} m is not the "
                "surface, which is z = 0; for other depths ask for `potential`"
            )
            raise CaseError(msg)
        plan = places[:, :2]
        return self.potential(np.column_stack([plan, np.zeros(len(plan))]))


def remembering(solution: Solved) -> Solved:
    """A solved soil that keeps potentials, for the same points and voltages to come.

    Cases of one metal in one soil that differ in limits look at the same places.
    """
    kind = type(solution)
    made: Solved = object.__new__(type(kind.__name__, (_Remembers, kind), {}))
    vars(made).update(vars(solution))
    return made


class _Remembers:
    """What is put before the kind of a solved soil to make it remember."""

    def potential(self, points: Floats, *, voltage: Phasors) -> Phasors:
        """Potential, from what was asked before where it was asked."""
        known = vars(self).setdefault("_asked", {})
        key = blake2b(points.tobytes() + voltage.tobytes(), digest_size=16).digest()
        if key not in known:
            if len(known) == _most_kept:
                known.clear()
            # The kind it is put before has one.
            known[key] = super().potential(points, voltage=voltage)  # type: ignore[misc]
        return np.array(known[key])


def require_in_soil(points: Floats) -> None:
    """Raise unless points of shape (n, 3) are in the soil or on its surface.

    Raises
    ------
    CaseError
        If a point is above the surface or not a number.
    """
    if not (np.isfinite(points).all() and (points[:, 2] <= 0).all()):
        msg = "points must be finite and have z <= 0 (z points up; none is above the surface)"
        raise CaseError(msg)


def at_most(potential: Phasors, *, voltage: Phasors) -> Phasors:
    """Potentials no larger than the voltage of any group, in size. [V]

    So it is in truth: a potential without sources is largest on its boundary. Currents on an
    axis do not know of the flat head of a thick rod and miss it over that by some percent.
    """
    size, largest = np.abs(potential), np.abs(voltage).max()
    above = size > largest
    found = potential.copy()
    found[above] *= largest / size[above]
    return found


def with_metal(
    potential: Phasors, *, points: Floats, conductors: Conductors, voltage: Phasors
) -> Phasors:
    """Potentials with the voltage of the metal on heads in the surface, and inside bare metal.

    Parameters
    ----------
    potential : ndarray of float or complex, shape (n,)
        As currents on the axes give it. [V]
    points : ndarray of float, shape (n, 3)
        Where. [m]
    voltage : ndarray of float or complex, shape (g,)
        Of each group. [V]

    Notes
    -----
    A film, a coating or fill is round metal in the soil and not on its head: a foot there is
    on the metal. Below the surface the soil at their face is not at the voltage of the metal,
    and is left as it was.
    """
    group = _metal_at(points, conductors=conductors)
    found = potential.copy()
    found[group >= 0] = voltage[group[group >= 0]]
    return found


def _metal_at(points: Floats, *, conductors: Conductors) -> Integers:
    """Group whose metal is at each point, flat ends included, or -1; below the surface if bare.

    Parameters
    ----------
    points : ndarray of float, shape (n, 3)
        z up. [m]
    """
    group = np.full(len(points), -1, dtype=np.int64)
    if not len(points):
        return group
    radius = conductors.radius
    low = np.minimum(conductors.start[:, 2], conductors.end[:, 2]) - radius
    high = np.maximum(conductors.start[:, 2], conductors.end[:, 2]) + radius
    some = np.flatnonzero((low <= points[:, 2].max()) & (high >= points[:, 2].min()))
    middle = 0.5 * (conductors.start + conductors.end)[some]
    reach = 1.001 * np.hypot(0.5 * conductors.length, radius)[some]
    found, point = pairs_within(cKDTree(points), centres=middle, radius=reach)
    offset, piece = points[point] - middle[found], some[found]
    along = np.einsum("ni,ni->n", offset, conductors.direction[piece])
    across = np.einsum("ni,ni->n", offset, offset) - along**2
    bare = (conductors.contact == 0) & (conductors.sheath_radius == radius)
    # By a hair more than the metal, so that points meant to be on its face are.
    within = np.abs(along) <= 0.5 * conductors.length[piece] + 1e-9
    within &= across <= (radius[piece] + 1e-9) ** 2
    within &= bare[piece] | (points[point, 2] == 0)
    within &= ~conductors.flat[piece]
    group[point[within]] = conductors.group[piece[within]]
    if conductors.corners is not None:
        flat = np.flatnonzero(conductors.flat & ((conductors.contact == 0) | (high >= 0)))
        point, patch = on_patches(points, corners=conductors.corners[flat])
        group[point] = conductors.group[flat[patch]]
    return group
