"""What one ampere from each electrode does: to all electrodes, and at all pins."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from ..axisymmetric import is_one_rod, solve_rod
from ..drives import membership
from ..errors import CaseError
from ..field.solution import solve
from ..model import Conductors, Flags, Floats, Integers, Mesh, Soil, require_isotropic
from ..solved_soil import SolvedSoil
from ..wording import number_text

# A pin at the face of the metal may be a hair inside after round-off.
_inside = 0.999


@dataclass(frozen=True)
class Transfer:
    """Volts per ampere of bodies of metal, without net current from the others.

    The bodies are electrodes, or sets of electrodes that are bonded.
    """

    resistance: Floats  # (s, s): rise of each body per current of each [Ω]
    potential: Floats  # (s, p): potential of each pin per current of each body [Ω]

    def bonded(self, contact: Sequence[float], *, set_of_group: Integers) -> "Transfer":
        """Of sets of electrodes, from that of electrodes and what is in series with each. [Ω]

        The bonds are beyond the contacts, which thus decide on how electrodes share current.
        """
        if len(contact) != len(self.resistance):
            electrodes = number_text(len(self.resistance), "electrode")
            msg = f"{number_text(len(contact), 'contact resistance')} for {electrodes}"
            raise CaseError(msg)
        member = (set_of_group == np.arange(set_of_group.max() + 1)[:, None]).astype(float)
        behind = self.resistance + np.diag(np.asarray(contact, dtype=float))
        if len(member) == len(behind):
            return Transfer(behind, self.potential)
        admitted = np.linalg.solve(behind, member.T)
        resistance = np.asarray(np.linalg.inv(member @ admitted))
        current = admitted @ resistance  # of electrodes, a column for each set
        return Transfer(resistance, current.T @ self.potential)


Solver = Callable[[Soil], Transfer]  # of electrodes


@dataclass
class FieldModel:
    """Field solutions for soils that are tried one after another; each is solved once."""

    solver: Solver  # takes a soil, gives the transfer of electrodes
    # Whether all resistances go with the resistivity: true for bare metal. Then only the
    # ratios of the layers are solved for.
    scales: bool
    set_of_group: Integers  # (g,): set of bonded metal that each group belongs to
    # Places that the potentials of a transfer stand for [m]
    places: tuple[tuple[float, float, float], ...]
    method: str  # how it is solved, in words
    _kept: dict[tuple[float, ...], Transfer] = field(default_factory=dict)

    @property
    def solves(self) -> int:
        """Number of fields solved so far."""
        return len(self._kept)

    def transfer(self, soil: Soil, *, contact: Sequence[float]) -> Transfer:
        """Volts per ampere of sets of bonded electrodes.

        Parameters
        ----------
        contact : sequence of float, length g
            In series with each electrode. [Ω]

        Raises
        ------
        TrustError
            If the field misses its own limits.
        """
        require_isotropic(soil, method="models held against readings")
        scale = soil.resistivity[0] if self.scales else 1.0
        relative = tuple(rho / scale for rho in soil.resistivity)
        key = tuple(float(f"{value:.10g}") for value in (*relative, *soil.thickness))
        if key not in self._kept:
            self._kept[key] = self.solver(Soil(relative, soil.thickness))
        found = self._kept[key]
        scaled = Transfer(scale * found.resistance, scale * found.potential)
        return scaled.bonded(contact, set_of_group=self.set_of_group)


def field_model(
    conductors: Conductors,
    *,
    points: Floats,
    bonds: tuple[tuple[int, int], ...] = (),
    mesh: Callable[[], Mesh] | None = None,
    order: int = 2,
) -> FieldModel:
    """Field model of some metal: of one vertical rod without a mesh, else in three dimensions.

    Parameters
    ----------
    points : ndarray of float, shape (p, 3)
        Places of pins. [m]
    mesh : callable, optional
        Makes the mesh of the volume when one is needed; all soils share it, as layers need
        not follow its faces.
    order : {1, 2}
        Degree of the finite elements of the volume.

    Raises
    ------
    CaseError
        If a place is in the metal, or a mesh is needed and not given.
    """
    refuse_places_in_metal(points, conductors=conductors)
    member = membership(len(conductors.group_names), bonds=bonds)
    bare = not conductors.contact.any() and bool(
        (conductors.sheath_radius == conductors.radius).all()
    )
    places = tuple((float(x), float(y), float(z)) for x, y, z in points)
    if is_one_rod(conductors):
        solver = _rod_solver(conductors, points=points)
        method = "one vertical rod, axisymmetric"
    elif mesh is not None:
        solver = _volume_solver(conductors, points=points, mesh=mesh, order=order)
        method = "volume model"
    else:
        msg = "this metal is not one vertical rod; its field needs a mesh"
        raise CaseError(msg)
    return FieldModel(solver, bare, member.argmax(axis=0), places, method)


def in_metal(points: Floats, *, conductors: Conductors) -> Flags:
    """Whether each pin, at places of shape (p, 3), stands in metal, shape (p,)."""
    return np.array([_piece_round(point, conductors) is not None for point in points], bool)


def refuse_places_in_metal(points: Floats, *, conductors: Conductors) -> None:
    """Raise `CaseError` if a pin is nearer to an axis than the radius of the metal."""
    for point in points:
        piece = _piece_round(point, conductors)
        if piece is not None:
            part = conductors.part_names[conductors.part[piece]]
            x, y, z = point
            msg = (
                f"the pin at ({x:g}, {y:g}) m, {0.0 - z:g} m deep, stands in the metal of "
                f"{part!r}, whose radius is {conductors.radius[piece]:g} m; places are counted "
                "from the axis of the metal"
            )
            raise CaseError(msg)


def _piece_round(point: Floats, conductors: Conductors) -> int | None:
    """Piece of metal that holds a point; None for a point in the soil."""
    off = point - conductors.start
    share = np.clip(np.einsum("nk,nk->n", off, conductors.direction), 0, conductors.length)
    gap = np.linalg.norm(off - share[:, None] * conductors.direction, axis=1)
    inside = np.flatnonzero(gap < _inside * conductors.radius)
    return int(inside[0]) if len(inside) else None


def _rod_solver(conductors: Conductors, *, points: Floats) -> Solver:
    def solver(soil: Soil) -> Transfer:
        return _transfer(solve_rod(conductors, soil=soil), points=points)

    return solver


def _volume_solver(
    conductors: Conductors,
    *,
    points: Floats,
    mesh: Callable[[], Mesh],
    order: int,
) -> Solver:
    kept: list[Mesh] = []

    def solver(soil: Soil) -> Transfer:
        if not kept:
            kept.append(mesh())
        solution = solve(kept[0], soil=soil, conductors=conductors, order=order)
        return _transfer(solution, points=points)

    return solver


def _transfer(solved: SolvedSoil, *, points: Floats) -> Transfer:
    """Volts per ampere of electrodes."""
    resistance = np.asarray(np.linalg.inv(solved.current_matrix))
    potential = [np.real(solved.potential(points, voltage=voltage)) for voltage in resistance.T]
    return Transfer(resistance, np.array(potential).reshape(len(resistance), len(points)))
