"""What is unsafe on a map: the limit as a heavy line and hatching on its far side."""

from typing import Any

import numpy as np

from ...solver.bodies import Body
from ...solver.model import Floats
from .bodies import angles_of, body_colour, body_dash, hatching
from .boxes import Box
from .offscreen import graphics
from .sheet import Sheet, black

_gap = 16.0  # pixels between the lines of the hatching
_sparse = 36.0  # the same of a body
_white = (1.0, 1.0, 1.0)


def draw_unsafe(sheet: Sheet, *, mesh: Any, limit: float) -> None:
    """Hatch the part of a mesh in pixels that does not keep a limit, and draw its line.

    Parameters
    ----------
    mesh : pyvista.PolyData
        Triangles with the point data `value`, and `held`: the same with its error.
    """
    values = np.asarray(mesh.point_data["value"])
    if np.asarray(mesh.point_data["held"]).max() <= limit:
        return
    unsafe = mesh.clip_scalar(scalars="held", value=limit, invert=False)
    if unsafe.n_cells:
        _hatch(sheet, unsafe.triangulate())
    if values.min() < limit < values.max():
        edge = _segments(mesh.contour([limit], scalars="value"))
        sheet.lines(edge, width=10, colour=_white)
        sheet.lines(edge, width=6, colour=black)


def _hatch(sheet: Sheet, mesh: Any) -> None:
    """Draw diagonal lines over a mesh in pixels: contours of x + y."""
    points = np.asarray(mesh.points)
    diagonal = (points[:, 0] + points[:, 1]) / np.sqrt(2)
    mesh.point_data["diagonal"] = diagonal
    first, last = np.ceil(diagonal.min() / _gap), np.floor(diagonal.max() / _gap)
    at = _gap * np.arange(first, last + 1)
    if len(at):
        sheet.lines(_segments(mesh.contour(list(at), scalars="diagonal")), width=2.5)


def _segments(lines: Any) -> Floats:
    """Straight pieces of VTK lines of two points each, shape (n, 2, 2). [pixel]"""
    if lines.n_cells == 0:
        return np.zeros((0, 2, 2))
    rows = np.asarray(lines.lines).reshape(-1, 3)[:, 1:]
    return np.asarray(lines.points, dtype=float)[rows][:, :, :2]


def draw_limit_key(sheet: Sheet, box: Box) -> None:
    """Draw the sample of limit and hatching that a key shows."""
    pv = graphics()
    corners = np.column_stack([box.corners()[:4], np.zeros(4)])
    _hatch(sheet, pv.PolyData(corners, faces=[4, 0, 1, 2, 3]).triangulate())
    line = np.array([[[box.left, box.bottom], [box.right, box.bottom]]])
    sheet.lines(line, width=6, colour=black)


def draw_body(sheet: Sheet, outline: Floats, *, body: Body, number: int) -> None:
    """Hatch a body in the soil sparsely and draw its outline, corners in pixels."""
    for angle in angles_of(body, number=number):
        lines = hatching(outline, gap=_sparse, angle=angle)
        sheet.lines(lines, width=1.5, colour=body_colour)
    ends = np.stack([outline, np.roll(outline, -1, axis=0)], axis=1)
    sheet.lines(ends, width=6, colour=_white)
    sheet.lines(ends, width=3.5, colour=body_colour, dash=body_dash)


def draw_layer(sheet: Sheet, segments: Floats) -> None:
    """Draw the edge of a surface layer: a dotted line."""
    sheet.lines(segments, width=7, colour=_white)
    sheet.lines(segments, width=4, colour=black, dash=(3.0, 9.0))
