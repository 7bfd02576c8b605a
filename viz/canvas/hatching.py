"""What is unsafe on a map: the limit as a heavy line and hatching on its far side."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from ...solver.bodies import Body
from ...solver.ground_picture import GroundPicture
from ...solver.model import Floats
from .bodies import angles_of, body_colour, body_dash, hatching
from .boxes import Box
from .sheet import Sheet, black, white

_underlay = (0.45, 0.45, 0.45)
_darkest = 0.62
_gap, _width = 16.0, 2.5  # between the lines of the hatching, and of each [pixel]
_sparse = 36.0  # between the lines in a body


def draw_unsafe(sheet: Sheet, outlines: Sequence[Floats], *, limit: Sequence[Floats]) -> None:
    """Hatch outlines in pixels of what does not keep a limit, and draw the lines of that."""
    points = np.concatenate(outlines)
    box = Box(*points.min(axis=0), *points.max(axis=0))
    sheet.polylines(_diagonals(box), width=_width, within=outlines)
    sheet.polylines(limit, width=10, colour=white)
    sheet.polylines(limit, width=6)


def draw_limit_key(sheet: Sheet, box: Box) -> None:
    """Draw the sample of limit and hatching that a key shows."""
    sheet.lines(_diagonals(box), width=_width)
    line = np.array([[[box.left, box.bottom], [box.right, box.bottom]]])
    sheet.lines(line, width=6, colour=black)


def _diagonals(box: Box) -> Floats:
    """Lines of the hatching, down to the right through a box, shape (n, 2, 2). [pixel]"""
    apart = _gap * np.sqrt(2)
    first, last = np.ceil((box.left + box.bottom) / apart), (box.right + box.top) / apart
    at = apart * np.arange(first, np.floor(last) + 1)
    left, right = np.maximum(box.left, at - box.top), np.minimum(box.right, at - box.bottom)
    return np.stack([np.stack([x, at - x], axis=1) for x in (left, right)], axis=1)


def draw_body(sheet: Sheet, outline: Floats, *, body: Body, number: int) -> None:
    """Hatch a body in the soil sparsely and draw its outline, corners in pixels."""
    for angle in angles_of(body, number=number):
        lines = hatching(outline, gap=_sparse, angle=angle)
        sheet.lines(lines, width=1.5, colour=body_colour)
    ends = np.stack([outline, np.roll(outline, -1, axis=0)], axis=1)
    sheet.lines(ends, width=6, colour=white)
    sheet.lines(ends, width=3.5, colour=body_colour, dash=body_dash)


def draw_underlay(sheet: Sheet, segments: Floats) -> None:
    """Draw lines of a drawing, grey with white beside it: on every band they are seen."""
    sheet.lines(segments, width=5.0, colour=white)
    sheet.lines(segments, width=2.4, colour=_underlay)


def light_left(picture: GroundPicture, grey: npt.ArrayLike) -> Floats:
    """Share of the light of a map that a picture of the ground leaves, by its grey.

    Faint, from all to no less than `_darkest`: bands of colour are still told apart, and the
    lines of the map stand out. What is light and dark in the picture is stretched to that.
    """
    dark, light = np.percentile(picture.grey, (2.0, 98.0))
    share = np.clip((np.asarray(grey) - dark) / max(light - dark, 1.0), 0.0, 1.0)
    return np.asarray(_darkest + (1.0 - _darkest) * share)


def draw_layer(sheet: Sheet, segments: Floats) -> None:
    """Draw the edge of a surface layer: a dotted line."""
    sheet.lines(segments, width=7, colour=white)
    sheet.lines(segments, width=4, colour=black, dash=(3.0, 9.0))
