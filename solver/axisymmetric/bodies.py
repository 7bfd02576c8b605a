"""Bodies of revolution that the axisymmetric solver takes: rod, plate, half spheroid, fill."""

from dataclasses import dataclass, fields

import numpy as np

from ..errors import CaseError
from ..model import Floats


def _require(thing: object, *, zero_allowed: tuple[str, ...] = ()) -> None:
    """Raise unless every field is a positive finite number, or zero where that is allowed."""
    for field in fields(thing):  # type: ignore[arg-type]
        value = getattr(thing, field.name)
        may_be_zero = field.name in zero_allowed
        if not (np.isfinite(value) and (value > 0 or (may_be_zero and value == 0))):
            allowed = "zero or positive" if may_be_zero else "positive"
            msg = (
                f"{type(thing).__name__}.{field.name} is {value:g}; it must be {allowed} and "
                "finite, in metres or ohm-metres"
            )
            raise CaseError(msg)


@dataclass(frozen=True, kw_only=True)
class Cylinder:
    """A vertical rod, or with little or no length a horizontal round plate.

    Attributes
    ----------
    radius : float
        Radius, > 0. [m]
    length : float
        Length of a rod, thickness of a plate; 0 for a plate of no thickness. [m]
    top_depth : float
        Depth of the upper end, 0 at the surface. [m]

    Raises
    ------
    CaseError
        If a value is out of its range.
    """

    radius: float
    length: float
    top_depth: float = 0.0

    def __post_init__(self) -> None:
        _require(self, zero_allowed=("length", "top_depth"))

    @property
    def bottom_depth(self) -> float:
        """Depth of the lower end. [m]"""
        return self.top_depth + self.length


@dataclass(frozen=True, kw_only=True)
class HalfSpheroid:
    """Half a spheroid below the surface, flush with it; a hemisphere if both are equal.

    Attributes
    ----------
    radius : float
        Radius of its circle in the surface, > 0. [m]
    bottom_depth : float
        Depth of its lowest point, > 0. [m]

    Raises
    ------
    CaseError
        If a value is out of its range.
    """

    radius: float
    bottom_depth: float

    def __post_init__(self) -> None:
        _require(self)

    def radius_at(self, depth: Floats) -> Floats:
        """Radius of the surface at depths down to the lowest point. [m]"""
        return self.radius * np.sqrt(np.maximum(1 - (depth / self.bottom_depth) ** 2, 0.0))

    def depth_at(self, radius: Floats) -> Floats:
        """Depth of the surface at radii out to the circle in the surface. [m]"""
        return self.bottom_depth * np.sqrt(np.maximum(1 - (radius / self.radius) ** 2, 0.0))


@dataclass(frozen=True, kw_only=True)
class Fill:
    """Backfill or concrete round the metal, of the same kind of shape as the metal.

    Round a cylinder it is a cylinder that goes on by `cover` beyond each end in the soil;
    round a half spheroid a half spheroid from the surface.

    Attributes
    ----------
    radius : float
        Outer radius, > 0; for a half spheroid in the surface. [m]
    resistivity : float
        Resistivity of the fill, > 0. [Ω·m]
    cover : float
        How far the fill goes on beyond the lower end of the metal, and beyond the upper end
        of a cylinder whose top is not at the surface. [m]

    Raises
    ------
    CaseError
        If a value is out of its range.
    """

    radius: float
    resistivity: float
    cover: float = 0.0

    def __post_init__(self) -> None:
        _require(self, zero_allowed=("cover",))


Metal = Cylinder | HalfSpheroid


def require_fit(metal: Metal, *, fill: Fill | None, contact: float) -> None:
    """Raise `CaseError` if the fill does not hold the metal, or a film is on a thin plate."""
    if fill is not None:
        if fill.radius <= metal.radius:
            msg = (
                f"the fill, {fill.radius:g} m in radius, does not hold the metal of "
                f"{metal.radius:g} m; make it wider or leave it out"
            )
            raise CaseError(msg)
        flat = isinstance(metal, Cylinder) and metal.length == 0
        if fill.cover == 0 and (flat or isinstance(metal, HalfSpheroid)):
            msg = (
                "fill round a half spheroid or a plate of no thickness needs a cover above 0 m"
            )
            raise CaseError(msg)
        if isinstance(metal, Cylinder) and 0 < metal.top_depth <= fill.cover:
            msg = (
                f"the fill goes on for {fill.cover:g} m above metal that is "
                f"{metal.top_depth:g} m deep; it must end below the surface"
            )
            raise CaseError(msg)
    if not (np.isfinite(contact) and contact >= 0):
        msg = f"contact is {contact:g} ohm*m2; it must be zero or positive and finite"
        raise CaseError(msg)
    flat = isinstance(metal, Cylinder) and metal.length == 0
    if contact > 0 and flat and metal.top_depth > 0:  # type: ignore[union-attr]
        msg = (
            "a buried plate of no thickness cannot carry a contact film, which has two faces; "
            "give the plate its thickness as length"
        )
        raise CaseError(msg)
