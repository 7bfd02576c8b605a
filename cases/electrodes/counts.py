"""How many pieces of metal a case will hold, counted before any of them is built."""

from itertools import pairwise
from math import dist

from ...solver.patches import usual_patches
from ..reading.size_limits import MOST_PIECES
from .mats import bars_of
from .plates import flat_count
from .schema import Conductor, Grid, Loop, Mat, Part, Ring, Star
from .schema_fences import Fence, Rails
from .schema_plates import Flat
from .schema_rods import Rods


def count_pieces(part: Part, *, host: Part | None = None) -> int:
    """Number of pieces of a part, grids split at nodes; an unread table counts as 1."""
    if isinstance(part, Conductor | Loop):
        return len(part.points)
    if isinstance(part, Ring):
        return part.pieces
    if isinstance(part, Star):
        return part.arms
    if isinstance(part, Grid):
        nx, ny = meshes_of(part)
        return nx * (ny + 1) + ny * (nx + 1) + len(part.outline or ())
    if isinstance(part, Mat):
        nx, ny = bars_of(part)
        ties = (
            0 if part.tie_every is None else -(-nx // part.tie_every) * -(-ny // part.tie_every)
        )
        return len(part.depths) * 2 * nx * ny + ties
    if isinstance(part, Fence | Rails):
        return _count_along(part)
    if isinstance(part, Rods):
        return _count_rods(part, host)
    return flat_count(part) * usual_patches if isinstance(part, Flat) else 1


def meshes_of(part: Grid) -> tuple[int, int]:
    """Number of meshes of a grid along x and y."""
    if part.spacings is not None:
        return len(part.spacings.x), len(part.spacings.y)
    assert part.meshes is not None
    return part.meshes


def refuse_pieces(total: int, *, parts: list[tuple[str, int]]) -> str:
    """Message when a case holds more pieces than allowed; empty when it does not."""
    if total <= MOST_PIECES:
        return ""
    largest = sorted(parts, key=lambda part: -part[1])[:3]
    shown = ", ".join(f"{name!r} {count:,}" for name, count in largest)
    return (
        f"{total:,} straight pieces of metal; at most {MOST_PIECES:,} are allowed. "
        f"Most are in {shown}: use fewer rods, or wider meshes"
    )


def _count_along(part: Fence | Rails) -> int:
    """Posts of a fence, or lengths of rails, at most."""
    corners = [*part.points, *part.points[: isinstance(part, Fence) and part.closed]]
    length = sum(dist(one, other) for one, other in pairwise(corners))
    if isinstance(part, Fence):
        return int(length / part.spacing) + len(corners) + 2 * len(part.gates) + 1
    return 2 * (int(length / (part.bonded_every or length or 1.0)) + len(corners) + 1)


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
