"""Contours: areas cut into bands, lines of equal value, and the values written on them."""

from typing import Any

import numpy as np

from ...solver.model import Floats
from .frame import Frame
from .levels import Levels
from .offscreen import graphics
from .sheet import Sheet, small_type

# Where a text is tried on a line, as shares of its length.
_along = (0.5, 0.3, 0.7, 0.15, 0.85, 0.4, 0.6, 0.05, 0.95)


def banded(mesh: Any, *, levels: Levels) -> tuple[Any, Any]:
    """Mesh cut along the levels, its cells numbered by band, and the lines between them."""
    from vtkmodules.vtkFiltersModeling import vtkBandedPolyDataContourFilter  # loads VTK

    pv = graphics()
    mesh.set_active_scalars("value")
    cutter = vtkBandedPolyDataContourFilter()
    cutter.SetInputData(mesh)
    edge = 1e-6 * max(levels.high - levels.low, abs(levels.high), 1e-30)
    bounds = [levels.low - edge, *levels.inner, levels.high + edge]
    cutter.SetNumberOfContours(len(bounds))
    for k, value in enumerate(bounds):
        cutter.SetValue(k, float(value))
    cutter.SetScalarModeToIndex()
    cutter.Update()
    bands = pv.wrap(cutter.GetOutput())
    lines = mesh.contour(levels.inner, scalars="value") if len(levels.inner) else pv.PolyData()
    return bands, lines


def label_contours(
    sheet: Sheet,
    *,
    contours: list[tuple[Floats, float]],
    frame: Frame,
    factor: float,
    most: int = 3,
) -> None:
    """Write values on contours that have room, where they are straight and nothing else is."""
    per_level: dict[float, int] = {}
    for line, value in contours:
        text = f"{value * factor:.6g}".replace("-", "−")
        if per_level.get(value, 0) < most and label_line(
            sheet, line=line, text=text, frame=frame
        ):
            per_level[value] = per_level.get(value, 0) + 1


def label_line(sheet: Sheet, *, line: Floats, text: str, frame: Frame) -> bool:
    """Write a text on a polyline in pixels where nothing else is; False if there is no room."""
    size = small_type
    width = sheet.text_size(text, size=size)[0]
    steps = np.linalg.norm(np.diff(line, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    if along[-1] < 3 * width:
        return False
    for share in _along:
        at = [float(np.interp(share * along[-1], along, line[:, k])) for k in (0, 1)]
        box = sheet.text_box((at[0], at[1]), text, size=size, anchor=(0.5, 0.5))
        if sheet.is_free(box) and frame.box.holds(box.grown(6)):
            sheet.text((at[0], at[1]), text, size=size, anchor=(0.5, 0.5), backed=True)
            return True
    return False
