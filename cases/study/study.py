"""Where a case looks for danger and how finely it is computed: frozen, typed, in SI units."""

from dataclasses import dataclass
from typing import Literal

from ...solver.model import Floats


@dataclass(frozen=True)
class Area:
    """Rectangle on the surface that is mapped.

    Attributes
    ----------
    corner : tuple of float
        Corner with the smallest x and y. [m]
    size : tuple of float
        Size along x and y, > 0. [m]
    spacing : float or None
        Distance between map points; None leaves it to the map. [m]
    """

    corner: tuple[float, float]
    size: tuple[float, float]
    spacing: float | None


@dataclass(frozen=True)
class Profile:
    """Straight line along which the potential is sampled.

    Attributes
    ----------
    name : str
        The user's name.
    start, end : tuple of float
        Its ends, (x, y). [m]
    depth : float
        Depth of the line, >= 0. [m]
    spacing : float or None
        Distance between samples; None leaves it to the sampler. [m]
    """

    name: str
    start: tuple[float, float]
    end: tuple[float, float]
    depth: float
    spacing: float | None


@dataclass(frozen=True)
class Touchable:
    """Metal above ground that a person can touch, and where it stands.

    Attributes
    ----------
    name : str
        The user's name.
    group : int
        Group whose potential the metal has.
    shape : {"polygon", "body", "line", "points"}
        `polygon`: metal can be touched anywhere inside or on the outline; `body`: on the
        outline of a solid thing, from outside; `line`: along the run; `points`: at each
        point. A person within `Study.reach` of it is exposed.
    points : ndarray of float, shape (n, 2)
        Corners or places, (x, y); a polygon or body is closed from the last to the first. [m]
    footprint : bool
        Whether the shape is the plan of the electrode itself.
    """

    name: str
    group: int
    shape: Literal["polygon", "body", "line", "points"]
    points: Floats
    footprint: bool


@dataclass(frozen=True)
class Study:
    """Where to look for danger.

    Attributes
    ----------
    area : Area
        Rectangle that is mapped.
    profiles : tuple of Profile
        Lines along which the potential is sampled.
    pace, reach : float
        Distance between the feet, and over which a person reaches metal. [m]
    touchables : tuple of Touchable
        Metal that can be touched.
    """

    area: Area
    profiles: tuple[Profile, ...]
    pace: float
    reach: float
    touchables: tuple[Touchable, ...]


@dataclass(frozen=True)
class Numerics:
    """How finely to compute.

    Attributes
    ----------
    accuracy : {"coarse", "normal", "fine"}
        Preset of the mesh and its checks.
    order : int
        Polynomial order of the elements, 1 or 2.
    fineness : float
        Divides the element sizes of the preset.
    element_size : float or None
        Element size at the metal in place of the preset's. [m]
    element_limit : int or None
        Largest number of elements; None leaves the default limit.
    second_opinion : {"auto", "always", "never"}
        Whether thin conductors without a mesh are set beside the result; "auto" where quick.
    tolerance : float or None
        Largest estimated error of the worst voltages, as a share of the rise; resistances are
        held to half of it. None leaves it to the preset.
    """

    accuracy: Literal["coarse", "normal", "fine"] = "normal"
    order: int = 2
    fineness: float = 1.0
    element_size: float | None = None
    element_limit: int | None = None
    second_opinion: Literal["auto", "always", "never"] = "auto"
    tolerance: float | None = None
