"""How many pieces and points a case will hold, counted before any of them is built."""

from ..reading.size_limits import (
    MOST_ELEMENTS,
    MOST_MAP_POINTS,
    MOST_PIECES,
    MOST_PROFILE_POINTS,
)
from .schema import Conductor, Grid, Loop, Part, Ring, Star
from .schema_rods import Rods

# A mesh edge of the element size along the metal lies in some five tetrahedra at least.
_ELEMENTS_PER_EDGE = 5


def count_pieces(part: Part, *, host: Part | None = None) -> int:
    """Number of pieces of a part once grids are split at their nodes; at least 1.

    Parameters
    ----------
    part : Part
        Part of the case file; tables count as 1 until they are read.
    """
    if isinstance(part, Conductor | Loop):
        return len(part.points)
    if isinstance(part, Ring):
        return part.pieces
    if isinstance(part, Star):
        return part.arms
    if isinstance(part, Grid):
        nx, ny = meshes_of(part)
        return nx * (ny + 1) + ny * (nx + 1) + len(part.outline or ())
    if isinstance(part, Rods):
        return _count_rods(part, host)
    return 1


def meshes_of(part: Grid) -> tuple[int, int]:
    """Number of meshes of a grid along x and y."""
    if part.spacings is not None:
        return len(part.spacings.x), len(part.spacings.y)
    assert part.meshes is not None
    return part.meshes


def refuse_pieces(total: int, *, parts: list[tuple[str, int]]) -> str:
    """Message when a case holds more pieces than allowed; empty when it does not.

    Parameters
    ----------
    parts : list of (str, int)
        Name of each part and its number of pieces.
    """
    if total <= MOST_PIECES:
        return ""
    largest = sorted(parts, key=lambda part: -part[1])[:3]
    shown = ", ".join(f"{name!r} {count:,}" for name, count in largest)
    return (
        f"{total:,} straight pieces of metal; at most {MOST_PIECES:,} are allowed. "
        f"Most are in {shown}: use fewer rods, or wider meshes"
    )


def refuse_map(size: tuple[float, float], *, spacing: float | None) -> str:
    """Message when a map has more points than allowed; empty when it does not.

    Parameters
    ----------
    size : tuple of float
        Size of the area. [m]
    spacing : float or None
        Distance between its points. [m]
    """
    if spacing is None:
        return ""
    points = (size[0] / spacing + 1) * (size[1] / spacing + 1)
    if points <= MOST_MAP_POINTS:
        return ""
    return (
        f"{size[0]:g} m by {size[1]:g} m at {spacing:g} m is {points:,.0f} points; at most "
        f"{MOST_MAP_POINTS:,} are allowed: map a smaller area or use a wider spacing"
    )


def refuse_profile(length: float, *, spacing: float | None) -> str:
    """Message when a profile has more points than allowed; empty when it does not.

    Parameters
    ----------
    length : float
        Length of the line. [m]
    spacing : float or None
        Distance between its points. [m]
    """
    if spacing is None or length / spacing <= MOST_PROFILE_POINTS:
        return ""
    return (
        f"{length:g} m at {spacing:g} m is {length / spacing:,.0f} points; at most "
        f"{MOST_PROFILE_POINTS:,} are allowed: use a wider spacing"
    )


def refuse_elements(length: float, *, size: float | None, limit: int | None) -> str:
    """Message when the element size given cannot fit the limit; empty when it may.

    Parameters
    ----------
    length : float
        Total length of metal. [m]
    size : float or None
        Element size at the metal. [m]
    """
    most = limit or MOST_ELEMENTS
    if size is None or _ELEMENTS_PER_EDGE * length / size <= most:
        return ""
    return (
        f"elements of {size:g} m along {length:,.4g} m of metal are more than "
        f"{_ELEMENTS_PER_EDGE * length / size:,.0f} elements; at most {most:,} are allowed: "
        "use a larger element_size"
    )


def _count_rods(part: Rods, host: Part | None) -> int:
    if part.points is not None:
        return len(part.points)
    for layout in (part.line, part.circle):
        if layout is not None:
            return layout.count
    if part.rectangle is not None:
        nx, ny = part.rectangle.per_side
        return nx * ny if part.rectangle.filled else 2 * (nx + ny) - 4
    if part.along is not None and part.along.count is not None:
        return part.along.count
    if not isinstance(host, Grid):
        return 1 if host is None else count_pieces(host)
    nx, ny = meshes_of(host)
    if part.nodes is not None:
        every = part.nodes.every
        return (nx // every + 1) * (ny // every + 1)
    assert part.along is not None
    # Each line of an outline grid may meet it more than twice; twice is the common case.
    return (2 * (nx + ny) + len(host.outline or ())) // (part.along.every or 1) + 1
