"""The numbers the solver takes: soil of layers and bodies, and the straight metal in it.

Everything is in SI units. z points up, the soil surface is z = 0, the soil is z < 0;
a *depth* is positive down.
"""

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Any, Self

import numpy as np
import numpy.typing as npt

from .arrays import Flags as Flags
from .arrays import Floats as Floats
from .arrays import Integers as Integers
from .arrays import Phasors as Phasors
from .errors import CaseError, RoundMetalOnlyError
from .soil import Soil as Soil
from .soil import require_isotropic as require_isotropic
from .soil import require_layers_alone as require_layers_alone
from .stretches import Stretches


@dataclass(frozen=True)
class Conductors:
    """Straight pieces of metal in the soil, all of them, in one set of arrays.

    Pieces of one *group* are bonded and share one potential. A *part* is what the user
    named (a rod, a ring, the rods along a grid); results are summed by part.

    Attributes
    ----------
    start, end : ndarray of float, shape (n, 3)
        End points of the axes, z <= 0. [m]
    radius : ndarray of float, shape (n,)
        Radius of the metal. [m]
    group, part : ndarray of int, shape (n,)
        Index into `group_names` and `part_names`.
    group_names, part_names : tuple of str
        The user's own names.
    contact : ndarray of float, shape (n,)
        Resistance of the film between metal and soil, per area of its face. [Ω·m²]
    sheath_radius : ndarray of float, shape (n,)
        Outer radius of backfill, concrete or coating; `radius` where there is none. [m]
    sheath_resistivity : ndarray of float, shape (n,)
        Resistivity between `radius` and `sheath_radius`; not used where they are equal. [Ω·m]
    sheath_cover : ndarray of float, shape (n,)
        How far the sheath goes on beyond each end that meets neither metal nor the surface;
        0 where it ends with the metal. [m]
    plate : ndarray of int, shape (n,), or None
        Number of the plate that each piece is a patch of, -1 for round metal, of which all is
        without it. A patch has its middle line as axis and a quarter of its width as radius.
    corners : ndarray of float, shape (n, 4, 3), or None
        Corners of each patch in order round it; not used of round metal. [m]
    stretched_by : ndarray of float, shape (n, 2), or None
        Of metal in an isotropic twin (`anisotropy`) its length and its width over the real
        ones: within sheaths, and films on flat ends, current passes what is really there.

    Raises
    ------
    CaseError
        If a piece is above the surface or has no radius, or a group no pieces.
    """

    start: Floats
    end: Floats
    radius: Floats
    group: Integers
    part: Integers
    group_names: tuple[str, ...]
    part_names: tuple[str, ...]
    contact: Floats
    sheath_radius: Floats
    sheath_resistivity: Floats
    sheath_cover: Floats
    plate: Integers | None = None
    corners: Floats | None = None
    stretched_by: Floats | None = None

    def __post_init__(self) -> None:
        ends = np.concatenate([self.start, self.end])
        wrong = {
            "an end that is above the surface or not finite": not (
                np.isfinite(ends).all() and (ends[:, 2] <= 0).all()
            ),
            self._narrow(): not (self.radius > 0).all(),
            "a sheath narrower than the metal": not (self.sheath_radius >= self.radius).all(),
            "a contact resistance below zero": not (self.contact >= 0).all(),
            "a sheath resistivity that is not positive": not (
                self.sheath_resistivity > 0
            ).all(),
            "a sheath cover below zero": not (self.sheath_cover >= 0).all(),
            "a group without pieces": set(range(len(self.group_names)))
            != set(self.group.tolist()),
        }
        found = [name for name, is_so in wrong.items() if is_so]
        if found:
            msg = f"the conductors have {', '.join(found)}"
            raise CaseError(msg)

    def _narrow(self) -> str:
        """What is wrong with the first radius that is not positive, and what to do."""
        bad = np.flatnonzero(~(self.radius > 0))
        if not bad.size:
            return ""
        first = int(bad[0])
        return (
            f"a radius that is not positive (piece {first + 1} of {len(self.radius)}, of part "
            f"{self.part_names[int(self.part[first])]!r}: {self.radius[first]:g} m; give the "
            "radius of the metal, in metres)"
        )

    @classmethod
    def bare(
        cls,
        start: npt.ArrayLike,
        *,
        end: npt.ArrayLike,
        radius: npt.ArrayLike,
        group: npt.ArrayLike = 0,
    ) -> Self:
        """Bare pieces without contact resistance, groups named by number, one part a group.

        Ends have shape (n, 3); radius and group may be one for all.
        """
        a = np.atleast_2d(np.asarray(start, dtype=float))
        b = np.atleast_2d(np.asarray(end, dtype=float))
        n = len(a)
        radii = np.broadcast_to(np.asarray(radius, dtype=float), (n,)).copy()
        groups = np.broadcast_to(np.asarray(group, dtype=np.int64), (n,)).copy()
        names = tuple(f"group {g}" for g in range(int(groups.max()) + 1))
        return cls(
            start=a,
            end=b,
            radius=radii,
            group=groups,
            part=groups.copy(),
            group_names=names,
            part_names=names,
            contact=np.zeros(n),
            sheath_radius=radii.copy(),
            sheath_resistivity=np.ones(n),
            sheath_cover=np.zeros(n),
        )

    def cut(self, piece: Integers, *, begin: Floats, end: Floats) -> "Conductors":
        """The same metal with stretches of pieces, from share to share, as its pieces."""
        chosen = _chosen(self, piece)
        whole = self.end - self.start
        start = self.start[piece] + begin[:, None] * whole[piece]
        stop = self.start[piece] + end[:, None] * whole[piece]
        # Without round-off, by which joints would come apart.
        stop = np.where(end[:, None] == 1.0, self.end[piece], stop)
        return Conductors(**chosen | {"start": start, "end": stop})

    @property
    def flat(self) -> Flags:
        """Which pieces are patches of plates, shape (n,)."""
        if self.plate is None:
            return np.zeros(len(self.start), dtype=bool)
        return np.asarray(self.plate >= 0)

    @property
    def longer(self) -> Floats:
        """Length of each piece over its real one, shape (n,)."""
        return (
            np.ones(len(self.radius)) if self.stretched_by is None else self.stretched_by[:, 0]
        )

    @property
    def wider(self) -> Floats:
        """Width of each piece over its real one, shape (n,)."""
        return (
            np.ones(len(self.radius)) if self.stretched_by is None else self.stretched_by[:, 1]
        )

    @property
    def length(self) -> Floats:
        """Length of each piece, shape (n,). [m]"""
        return np.asarray(np.linalg.norm(self.end - self.start, axis=1))

    @property
    def direction(self) -> Floats:
        """Unit vector from start to end of each piece, shape (n, 3)."""
        return (self.end - self.start) / self.length[:, None]


def some_of(
    conductors: Conductors, *, piece: Integers | Flags, **changed: Floats
) -> Conductors:
    """Some of the pieces, with the names of all; a group may have none among them."""
    held: Conductors = object.__new__(Conductors)
    vars(held).update(_chosen(conductors, piece) | changed)
    return held


def joined(one: Conductors, other: Conductors) -> Conductors:
    """Pieces of two sets that have the same names, both with plates or without."""
    both: dict[str, Any] = {
        name: np.concatenate([value, getattr(other, name)])
        if isinstance(value, np.ndarray)
        else value
        for name, value in vars(one).items()
    }
    return Conductors(**both)


def _chosen(conductors: Conductors, piece: Integers | Flags) -> dict[str, Any]:
    """Fields with the rows of some pieces."""
    return {
        name: value[piece] if isinstance(value, np.ndarray) else value
        for name, value in vars(conductors).items()
    }


def same_metal(one: Conductors, other: Conductors) -> bool:
    """Whether two sets of conductors are the same piece by piece, names of parts aside."""
    mine, theirs = vars(one), vars(other)
    return all(np.array_equal(mine[key], theirs[key]) for key in mine if key != "part_names")


def metal_key(conductors: Conductors) -> Hashable:
    """Equal where conductors are the same piece by piece, names of parts aside."""
    return tuple(
        value.tobytes() if isinstance(value, np.ndarray) else value
        for name, value in vars(conductors).items()
        if name != "part_names"
    )


def require_round_metal(conductors: Conductors, *, method: str) -> None:
    """Raise `RoundMetalOnlyError` where there are plates, which a method does not know."""
    flat = conductors.flat
    if flat.any():
        parts = sorted(set(conductors.part[flat].tolist()))
        names = ", ".join(repr(conductors.part_names[part]) for part in parts)
        msg = f"{method} know round metal only, and there are plates: {names}"
        raise RoundMetalOnlyError(msg)


@dataclass(frozen=True)
class Mesh:
    """Tetrahedra that fill the half-space around the electrodes out to the open boundary.

    Layer interfaces and conductors need not coincide with element faces: the solver takes
    the share of each layer in each element, and couples conductors through a smeared source.

    Attributes
    ----------
    points : ndarray of float, shape (n, 3)
        Vertices, z <= 0. [m]
    tetrahedra : ndarray of int, shape (m, 4)
        Vertices of each element.
    centre : tuple of float, length 2
        Plan position of the centre of the outer hemisphere. [m]
    element_size : ndarray of float, shape (number of conductor pieces,)
        Edge length the mesh was asked for along each piece of metal. [m]
    spread : ndarray of float, shape (number of conductor pieces,)
        Standard deviation of the Gaussian that smears each piece; the elements round it carry
        it the better the smaller they are beside it. [m]
    stretches : Stretches or None
        What the metal is cut into near faces of bodies, where it comes near any.
    """

    points: Floats
    tetrahedra: Integers
    centre: tuple[float, float]
    element_size: Floats
    spread: Floats
    stretches: Stretches | None = None

    @property
    def outer_radius(self) -> float:
        """Radius of the outer hemisphere. [m]"""
        return float(np.linalg.norm(self.points - [*self.centre, 0.0], axis=1).max())
