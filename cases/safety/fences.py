"""Where people stand inside a fence: its outline, drawn in by what keeps them off the line."""

import numpy as np

from ...solver.errors import CaseError
from ...solver.model import Floats
from ...solver.polygons import fault_of_outline, on_or_inside
from ..study.study import Touchable

OFF_THE_LINE = 0.01  # m: on the line itself nobody is inside, nor on what is laid inside


def outline_inside(fence: Touchable) -> Floats:
    """Outline in which people inside a fence stand, shape (n, 2). [m]

    `CaseError` if the metal does not go round, or has corners too close together.
    """
    points = fence.points
    closed = fence.shape in ("polygon", "body")
    if fence.shape == "line" and len(points) > 3 and np.allclose(points[0], points[-1]):
        points, closed = points[:-1], True
    if not closed:
        msg = (
            f"{fence.name!r} does not go round: 'inside' takes metal with a closed line, a "
            "polygon or a body, or give it an outline"
        )
        raise CaseError(msg)
    inner = _drawn_in(points, by=OFF_THE_LINE)
    if fault_of_outline(inner) or not on_or_inside(inner, outline=points).all():
        msg = (
            f"corners of {fence.name!r} are too close together to stand {OFF_THE_LINE:g} m "
            "inside its line; give 'inside' an outline"
        )
        raise CaseError(msg)
    return inner


def _drawn_in(points: Floats, *, by: float) -> Floats:
    """Corners of an outline of which each side has moved inwards."""
    x, y = points.T
    turn = np.sign(x @ np.roll(y, -1) - y @ np.roll(x, -1))
    along = np.roll(points, -1, axis=0) - points
    along = along / np.linalg.norm(along, axis=1, keepdims=True)
    inward = turn * np.column_stack([-along[:, 1], along[:, 0]])
    before = np.roll(inward, 1, axis=0)
    # The corner that is as far from both of its sides.
    both = inward + before
    return np.asarray(points + 2 * by * both / np.einsum("ni,ni->n", both, both)[:, None])
