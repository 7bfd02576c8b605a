"""Soil of horizontal layers, and of bodies in them."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from .arrays import Flags, Floats, Integers
from .bodies.body import Body, body_at, inner_last
from .bodies.crossings import touching
from .errors import CaseError, LayersOnlyError


@dataclass(frozen=True)
class Soil:
    """Horizontal soil layers from the surface down, and bodies in them.

    The last layer has no bottom; bodies take the place of the layers they lie in. Current that
    goes up or down may meet another resistivity than current that goes sideways; solvers take
    the `anisotropy.isotropic` twin of such a soil.

    Attributes
    ----------
    resistivity : tuple of float, length n
        Resistivity of each layer, sideways where it is not the same upright, > 0. [Ω·m]
    thickness : tuple of float, length n - 1
        Thickness of each layer but the last, > 0. [m]
    bodies : tuple of Body
        What is not layers; nested where they say so, else apart.
    vertical_resistivity : tuple of float, length n, or None
        Upright resistivity of each layer, > 0; None where no layer has another one. [Ω·m]

    Raises
    ------
    CaseError
        If a value is not positive and finite, or the lengths do not fit, or bodies have the
        same name or lie in one that is not there.
    """

    resistivity: tuple[float, ...]
    thickness: tuple[float, ...] = ()
    bodies: tuple[Body, ...] = ()
    vertical_resistivity: tuple[float, ...] | None = None

    def __post_init__(self) -> None:
        if len(self.resistivity) != len(self.thickness) + 1:
            msg = (
                f"{len(self.resistivity)} resistivities and {len(self.thickness)} thicknesses; "
                "give one thickness for each layer but the last"
            )
            raise CaseError(msg)
        if len(self.upright) != len(self.resistivity):
            msg = (
                f"{len(self.resistivity)} resistivities and {len(self.upright)} vertical ones; "
                "give one of each for each layer"
            )
            raise CaseError(msg)
        values = np.array([*self.resistivity, *self.thickness, *self.upright])
        if not (np.isfinite(values).all() and (values > 0).all()):
            msg = f"resistivity and thickness must be positive and finite, got {self}"
            raise CaseError(msg)
        inner_last(self.bodies)

    @property
    def upright(self) -> tuple[float, ...]:
        """Vertical resistivity of each layer. [Ω·m]"""
        given = self.vertical_resistivity
        return self.resistivity if given is None else given

    @property
    def anisotropy(self) -> Floats:
        """Root of vertical over horizontal resistivity of each layer, λ, shape (n,)."""
        return np.sqrt(np.divide(self.upright, self.resistivity))

    @property
    def isotropic(self) -> bool:
        """Whether every layer leads as well upright as sideways."""
        return self.upright == self.resistivity

    @property
    def interface_depth(self) -> Floats:
        """Depth of each plane between two layers, shape (n - 1,). [m]"""
        return np.cumsum(np.array(self.thickness, dtype=float))

    @property
    def conductivity(self) -> Floats:
        """Conductivity of each layer, sideways, shape (n,). [S/m]"""
        return 1.0 / np.array(self.resistivity, dtype=float)

    @property
    def layers_alone(self) -> "Soil":
        """The same layers without the bodies."""
        return replace(self, bodies=()) if self.bodies else self

    @property
    def leading(self) -> tuple[float, ...]:
        """Resistivity of each layer, either way, and of each body that is no void. [Ω·m]"""
        bodies = (body.resistivity for body in self.bodies if not body.void)
        return (*self.resistivity, *(self.vertical_resistivity or ()), *bodies)

    def layer_at(self, depth: npt.ArrayLike) -> Integers:
        """Index of the layer that holds each depth; a plane belongs to the layer below it."""
        return np.searchsorted(self.interface_depth, depth, side="right")

    def material_at(self, points: Floats) -> Integers:
        """Index of what is at each point, shape (n, 3): layers from 0, then bodies from n.

        The innermost of nested bodies; on a face the body, on one that two share the one
        listed last.
        """
        body = body_at(points, bodies=self.bodies)
        layer = self.layer_at(-points[:, 2])
        return np.where(body < 0, layer, len(self.resistivity) + body)

    def resistivity_at(self, points: Floats) -> Floats:
        """Resistivity sideways at points, (n, 3); infinite in a void, shape (n,). [Ω·m]"""
        every = [*self.resistivity, *(body.resistivity for body in self.bodies)]
        return np.array(every)[self.material_at(points)]

    def on_ground(self, places: Floats) -> Flags:
        """Whether somebody can stand at plan places, shape (n, 2): not in a void, shape (n,).

        A void that begins below the surface has ground over it; on a wall is on the ground.
        """
        if not self.open_voids:
            return np.ones(len(places), dtype=bool)
        points = np.column_stack([places, np.zeros(len(places))])
        found = np.isfinite(self.resistivity_at(points))
        for body in self.open_voids:
            found |= body.shape.distance(points) <= 2 * touching
        return np.asarray(found)

    @property
    def open_voids(self) -> tuple[Body, ...]:
        """Voids that reach the surface: cuts, basements."""
        return tuple(body for body in self.bodies if body.void and body.shape.top == 0)


def require_layers_alone(soil: Soil, *, method: str) -> None:
    """Raise `LayersOnlyError` where soil has bodies, which a method in words does not know."""
    if soil.bodies:
        names = ", ".join(repr(body.name) for body in soil.bodies)
        msg = f"{method} know layers only, and in the soil there are bodies: {names}"
        raise LayersOnlyError(msg)


def require_isotropic(soil: Soil, *, method: str) -> None:
    """Raise `LayersOnlyError` where a layer leads better sideways than upright, or worse."""
    if not soil.isotropic:
        msg = (
            f"{method} know soil only that leads alike in all directions; hand them its "
            "isotropic twin, or give layers no vertical resistivity of their own"
        )
        raise LayersOnlyError(msg)
