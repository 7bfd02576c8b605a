"""Where a case looks for danger and how finely it is computed: frozen, typed, in SI units."""

from dataclasses import dataclass
from typing import Literal

from ...solver.model import Floats


@dataclass(frozen=True)
class Area:
    """Rectangle on the surface that is mapped."""

    corner: tuple[float, float]  # corner with the smallest x and y [m]
    size: tuple[float, float]  # size along x and y, > 0 [m]
    spacing: float | None  # distance between map points; None leaves it to the map [m]


@dataclass(frozen=True)
class Profile:
    """Straight line along which the potential is sampled."""

    name: str
    start: tuple[float, float]  # its ends, (x, y) [m]
    end: tuple[float, float]
    depth: float  # depth of the line, >= 0 [m]
    spacing: float | None  # distance between samples; None leaves it to the sampler [m]


@dataclass(frozen=True)
class Touchable:
    """Metal above ground that a person can touch, and where it stands."""

    name: str
    group: int  # group whose potential the metal has
    # `polygon`: metal can be touched anywhere inside or on the outline; `body`: on the
    # outline of a solid thing, from outside; `line`: along the run; `points`: at each point.
    # A person within `Study.reach` of it is exposed.
    shape: Literal["polygon", "body", "line", "points"]
    # (n, 2): corners or places, (x, y); a polygon or body is closed from the last to the
    # first. [m]
    points: Floats
    footprint: bool  # whether the shape is the plan of the electrode itself


@dataclass(frozen=True)
class Study:
    """Where to look for danger."""

    area: Area  # rectangle that is mapped
    profiles: tuple[Profile, ...]  # lines along which the potential is sampled
    pace: float  # distance between the feet, and over which a person reaches metal [m]
    reach: float
    touchables: tuple[Touchable, ...]  # metal that can be touched
    soil_shares: bool = False  # whether shares of the layers in resistances are asked for


@dataclass(frozen=True)
class Numerics:
    """How finely to compute."""

    # Preset of the mesh and its checks
    accuracy: Literal["coarse", "normal", "fine"] = "normal"
    order: int = 2  # polynomial order of the elements, 1 or 2
    fineness: float = 1.0  # divides the element sizes of the preset
    element_size: float | None = None  # element size at the metal in place of the preset's [m]
    # Largest number of elements; None leaves the default limit.
    element_limit: int | None = None
    # Whether thin conductors without a mesh are set beside the result; "auto" where quick.
    second_opinion: Literal["auto", "always", "never"] = "auto"
    # Largest estimated error of the worst voltages, as a share of the rise; resistances are
    # held to half of it. None leaves it to the preset.
    tolerance: float | None = None
