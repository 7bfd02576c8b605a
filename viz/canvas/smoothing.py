"""Pictures with smooth edges, from several looks at a scene a part of a pixel apart."""

import threading
from typing import Any

import numpy as np

from ...solver.model import Integers
from .offscreen import graphics

# Where each look samples a pixel: a turned square, so that no two share a row or a column.
_samples = ((-0.125, -0.375), (0.375, -0.125), (-0.375, 0.125), (0.125, 0.375))
# To open a window and to compile what colours pixels in it takes longer than to draw a page.
_kept = threading.local()


def layer() -> Any:
    """What shows actors, on white, or over what other layers show."""
    found = _rendering().vtkRenderer()
    found.SetBackground(1.0, 1.0, 1.0)
    return found


def flat(mesh: Any, *, colour: tuple[float, ...] | None = None, width: float = 1.0) -> Any:
    """Actor of a mesh that no light falls on, of one colour or that of each cell, `colour`.

    Parameters
    ----------
    width : float
        Of lines. [pixel]
    """
    mapper, actor = _rendering().vtkPolyDataMapper(), _rendering().vtkActor()
    mapper.SetInputData(mesh)
    mapper.SetScalarVisibility(colour is None)
    if colour is None:
        mapper.SetScalarModeToUseCellFieldData()
        mapper.SelectColorArray("colour")
        mapper.SetColorModeToDirectScalars()
    else:
        actor.GetProperty().SetColor(*colour)
    actor.SetMapper(mapper)
    actor.GetProperty().LightingOff()
    actor.GetProperty().SetLineWidth(width)
    return actor


def smooth_picture(*layers: Any, size: tuple[int, int]) -> Integers:
    """Pixels of what layers show one over the other, shape (height, width, 3), 0 to 255.

    Their one camera is a parallel one, and each look moves it. Samples that the graphics
    library takes within one look give the same edges, but a processor without graphics hardware
    needs twice the time of all looks to join them.
    """
    from vtkmodules.util.numpy_support import vtk_to_numpy  # loads VTK
    from vtkmodules.vtkCommonCore import vtkUnsignedCharArray

    window, camera = _window(), layers[0].GetActiveCamera()
    width, height = size
    window.SetSize(width, height)
    window.SetNumberOfLayers(len(layers))
    aim, eye = np.array(camera.GetFocalPoint()), np.array(camera.GetPosition())
    ahead = (aim - eye) / np.linalg.norm(aim - eye)
    right = np.cross(ahead, camera.GetViewUp())
    right /= np.linalg.norm(right)
    pixel = 2 * camera.GetParallelScale() / height
    total = np.zeros((height, width, 3), dtype=np.uint16)
    try:
        for number, each in enumerate(layers):
            each.SetLayer(number)
            window.AddRenderer(each)
        for across, up in _samples:
            shift = pixel * (across * right + up * np.cross(right, ahead))
            camera.SetFocalPoint(*(aim + shift))
            camera.SetPosition(*(eye + shift))
            layers[0].ResetCameraClippingRange()
            window.Render()
            seen = vtkUnsignedCharArray()
            window.GetPixelData(0, 0, width - 1, height - 1, 0, seen, 0)
            total += vtk_to_numpy(seen).reshape(height, width, 3)  # type: ignore[no-untyped-call]
    finally:
        camera.SetFocalPoint(*aim)
        camera.SetPosition(*eye)
        for each in layers:
            window.RemoveRenderer(each)
    half = len(_samples) // 2
    return np.asarray(((total + half) // len(_samples)).astype(np.uint8)[::-1])


def _window() -> Any:
    """The window without a display that a thread draws all its pictures in."""
    if not hasattr(_kept, "window"):
        _kept.window = _rendering().vtkRenderWindow()
        _kept.window.SetOffScreenRendering(1)
        _kept.window.SetMultiSamples(0)
    return _kept.window


def _rendering() -> Any:
    """The module that draws, once that which makes its parts able to draw is loaded."""
    graphics()  # says what is missing
    import vtkmodules.vtkRenderingOpenGL2  # noqa: F401
    from vtkmodules import vtkRenderingCore

    return vtkRenderingCore
