"""Pictures with smooth edges, from several looks at a scene a part of a pixel apart."""

from typing import Any

import numpy as np

from ...solver.model import Integers

# Where each look samples a pixel: a turned square, so that no two share a row or a column.
_samples = ((-0.125, -0.375), (0.375, -0.125), (-0.375, 0.125), (0.125, 0.375))


def smooth_picture(plotter: Any) -> Integers:
    """Pixels of what a plotter without a display shows, shape (height, width, 3), 0 to 255.

    Its camera is a parallel one, and each look moves it. Samples that the graphics library
    takes within one look give the same edges, but a processor without graphics hardware needs
    twice the time of all looks to join them.
    """
    from vtkmodules.util.numpy_support import vtk_to_numpy  # loads VTK
    from vtkmodules.vtkCommonCore import vtkUnsignedCharArray

    window, camera = plotter.render_window, plotter.camera
    window.SetMultiSamples(0)
    width, height = window.GetSize()
    aim, eye = np.array(camera.focal_point), np.array(camera.position)
    ahead = (aim - eye) / np.linalg.norm(aim - eye)
    right = np.cross(ahead, camera.up)
    right /= np.linalg.norm(right)
    pixel = 2 * camera.parallel_scale / height
    total = np.zeros((height, width, 3), dtype=np.uint16)
    for across, up in _samples:
        shift = pixel * (across * right + up * np.cross(right, ahead))
        camera.focal_point, camera.position = aim + shift, eye + shift
        window.Render()
        seen = vtkUnsignedCharArray()
        window.GetPixelData(0, 0, width - 1, height - 1, 0, seen, 0)
        total += vtk_to_numpy(seen).reshape(height, width, 3)  # type: ignore[no-untyped-call]
    camera.focal_point, camera.position = aim, eye
    half = len(_samples) // 2
    return np.asarray(((total + half) // len(_samples)).astype(np.uint8)[::-1])
