"""A white page in pixels on which VTK draws areas, lines and text, each text in its place."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
from PIL import Image

from ...solver.model import Floats, Integers
from .boxes import Box
from .dashing import dashed, solid
from .figures import print_width
from .offscreen import font_file, graphics

Colour = tuple[float, float, float]
black: Colour = (0.0, 0.0, 0.0)
grey: Colour = (0.45, 0.45, 0.45)
light: Colour = (0.85, 0.85, 0.85)
white: Colour = (1.0, 1.0, 1.0)
# Of a page of 2000 pixels, printed at `print_width`, this is 6.6, 6.8, 7.5 and 9.5 points.
small_type, plain_type, title_type, heading_type = 29, 30, 33, 42


class Sheet:
    """A page of given size; later items lie on earlier ones, text lies on everything.

    Parameters
    ----------
    size : (int, int)
        Width and height. [pixel]
    """

    def __init__(self, size: tuple[int, int]) -> None:
        self._pv = graphics()
        self.size = size
        self.texts: list[Box] = []
        """Boxes of all text so far."""
        self._taken: list[Box] = []
        self._level = 0
        plotter = self._pv.Plotter(off_screen=True, window_size=size, lighting="none")
        plotter.set_background("white")
        plotter.enable_anti_aliasing("msaa", multi_samples=8)
        camera = plotter.camera
        middle = (size[0] / 2, size[1] / 2)
        camera.focal_point = (*middle, 0.0)
        camera.position = (*middle, 1000.0)
        camera.up = (0.0, 1.0, 0.0)
        camera.enable_parallel_projection()
        camera.parallel_scale = size[1] / 2
        self._plotter: Any = plotter

    def _add(self, mesh: Any, **options: Any) -> None:
        """Put flat geometry on top of what is there."""
        self._level += 1
        mesh.points[:, 2] = 0.1 * self._level
        self._plotter.add_mesh(
            mesh, lighting=False, reset_camera=False, show_scalar_bar=False, **options
        )

    def polygons(self, mesh: Any, *, colours: Floats) -> None:
        """Fill the cells of a flat mesh, each with its colour, shape (cells, 3), 0 to 1."""
        if mesh.n_cells:
            mesh = mesh.copy()
            mesh.clear_data()
            mesh.cell_data["colour"] = np.round(255 * np.asarray(colours)).astype(np.uint8)
            self._add(mesh, scalars="colour", rgb=True)

    def area(self, outline: Floats, *, colour: Colour) -> None:
        """Fill a convex outline, shape (n, 2)."""
        points = np.column_stack([outline, np.zeros(len(outline))])
        faces = [len(points), *range(len(points))]
        self.polygons(self._pv.PolyData(points, faces=faces), colours=np.array([colour]))

    def image(self, pixels: Integers, *, box: Box) -> None:
        """Show an image, shape (height, width, 3), one pixel to a pixel of the page."""
        height, width = pixels.shape[:2]
        centre = (box.left + width / 2, box.bottom + height / 2, 0.0)
        plane = self._pv.Plane(
            center=centre, i_size=width, j_size=height, i_resolution=1, j_resolution=1
        )
        texture = self._pv.Texture(np.ascontiguousarray(pixels, dtype=np.uint8))
        texture.interpolate = False
        self._add(plane, texture=texture)

    def lines(
        self,
        segments: Floats,
        *,
        colour: Colour = black,
        width: float = 2.0,
        dash: Sequence[float] = solid,
        casing: float = 0.0,
    ) -> None:
        """Draw segments, shape (n, 2, 2), with a white casing on both sides if wanted."""
        segments = np.asarray(segments, dtype=float).reshape(-1, 2, 2)
        if not len(segments):
            return
        if casing:
            self._strokes(segments, colour=white, width=width + 2 * casing)
        if dash:
            segments = dashed(segments, dash=dash)
        self._strokes(segments, colour=colour, width=width, butt=bool(dash))

    def _strokes(
        self, segments: Floats, *, colour: Colour, width: float, butt: bool = False
    ) -> None:
        """Draw segments as thin rectangles: lines of VTK have gaps at their joints."""
        along = segments[:, 1] - segments[:, 0]
        length = np.linalg.norm(along, axis=1)
        along, segments = along[length > 0], segments[length > 0]
        along = 0.5 * width * along / length[length > 0][:, None]
        across = np.stack([-along[:, 1], along[:, 0]], axis=1)
        cap = 0 if butt else along
        start, end = segments[:, 0] - cap, segments[:, 1] + cap
        corners = np.stack([start - across, end - across, end + across, start + across], axis=1)
        points = np.zeros((4 * len(corners), 3))
        points[:, :2] = corners.reshape(-1, 2)
        rows = np.arange(len(points)).reshape(-1, 4)
        faces = np.column_stack([np.full(len(rows), 4), rows])
        if len(rows):
            self._add(self._pv.PolyData(points, faces=faces.ravel()), color=colour)

    def path(self, points: npt.ArrayLike, **options: Any) -> None:
        """Draw a polyline, shape (n, 2); options as for `lines`."""
        corners = np.asarray(points, dtype=float)
        self.lines(np.stack([corners[:-1], corners[1:]], axis=1), **options)

    def dots(self, centres: Floats, *, radius: float, colour: Colour) -> None:
        """Draw discs, shape (n, 2), each with a white ring."""
        angle = np.linspace(0, 2 * np.pi, 25)[:-1]
        circle = np.column_stack([np.cos(angle), np.sin(angle)])
        for centre in np.asarray(centres, dtype=float).reshape(-1, 2):
            self.area(centre + (radius + 3.0) * circle, colour=white)
            self.area(centre + radius * circle, colour=colour)

    def text_size(self, text: str, *, size: int, bold: bool = False) -> tuple[float, float]:
        """Width and height of a line of text. [pixel]"""
        renderer, style = _text_renderer(), _text_style(size=size, bold=bold)
        box = [0, 0, 0, 0]
        renderer.GetBoundingBox(style, text, box, 72)
        return float(box[1] - box[0] + 1), 1.2 * size

    def text_box(
        self, at: tuple[float, float], text: str, *, size: int, bold: bool = False,
        anchor: tuple[float, float] = (0.0, 0.0),
    ) -> Box:  # fmt: skip
        """Box a text would take; the anchor is the share of it left of and below `at`."""
        width, height = self.text_size(text, size=size, bold=bold)
        left, bottom = at[0] - anchor[0] * width, at[1] - anchor[1] * height
        return Box(left, bottom, left + width, bottom + height)

    def text(
        self,
        at: tuple[float, float],
        text: str,
        *,
        size: int = plain_type,
        bold: bool = False,
        anchor: tuple[float, float] = (0.0, 0.0),
        colour: Colour = black,
        backed: bool = False,
        upright: bool = False,
    ) -> Box:
        """Write one line of text.

        Parameters
        ----------
        at : tuple of float, length 2
            Place of the anchor. [pixel]
        size : int
            Height of the type. [pixel]
        anchor : tuple of float, length 2
            Share of the text left of and below `at`; (0.5, 0.5) centres it.
        backed : bool
            Whether white lies behind it.
        upright : bool
            Whether it runs from bottom to top.

        Returns
        -------
        box : Box
            Where it is; no other text is placed there.
        """
        from vtkmodules.vtkRenderingCore import vtkTextActor  # loads VTK

        box = self.text_box(at, text, size=size, bold=bold, anchor=anchor)
        if upright:
            wide, high = box.width, box.height
            left, bottom = at[0] - anchor[1] * high, at[1] - anchor[0] * wide
            box = Box(left, bottom, left + high, bottom + wide)
        if backed:
            self.area(box.grown(2).corners()[:4], colour=white)
        style = _text_style(size=size, bold=bold)
        style.SetColor(*colour)
        style.SetJustificationToCentered()
        style.SetVerticalJustificationToCentered()
        if upright:
            style.SetOrientation(90.0)
        actor = vtkTextActor()
        actor.SetInput(text)
        actor.GetTextProperty().ShallowCopy(style)
        actor.SetPosition(round((box.left + box.right) / 2), round((box.bottom + box.top) / 2))
        self._plotter.add_actor(actor, reset_camera=False)
        self.texts.append(box)
        return box

    def reserve(self, box: Box) -> None:
        """Keep placed text out of a box."""
        self._taken.append(box)

    def is_free(self, box: Box, *, margin: float = 6.0) -> bool:
        """Whether no text and no reserved box is there."""
        grown = box.grown(margin)
        return not any(grown.overlaps(other) for other in (*self.texts, *self._taken))

    def fit(self, text: str, *, size: int, width: float, bold: bool = False) -> str:
        """Text, cut with an ellipsis where it is wider than allowed."""
        if self.text_size(text, size=size, bold=bold)[0] <= width:
            return text
        while text and self.text_size(text + "…", size=size, bold=bold)[0] > width:
            text = text[:-1]
        return text.rstrip() + "…"

    def wrap(self, text: str, *, size: int, width: float, bold: bool = False) -> list[str]:
        """Lines of a text, broken at blanks so that each fits the width."""
        lines: list[str] = []
        for word in filter(None, text.split(" ")):  # others than plain blanks hold together
            longer = f"{lines[-1]} {word}" if lines else word
            if lines and self.text_size(longer, size=size, bold=bold)[0] <= width:
                lines[-1] = longer
            else:
                lines.append(word)
        return [self.fit(line, size=size, width=width, bold=bold) for line in lines]

    def paragraph(
        self, at: tuple[float, float], text: str, *, size: int, width: float, bold: bool = False
    ) -> float:
        """Write wrapped lines from a top left corner; gives the height left below. [pixel]"""
        x, y = at
        for line in self.wrap(text, size=size, width=width, bold=bold):
            self.text((x, y), line, size=size, bold=bold, anchor=(0.0, 1.0))
            y -= 1.35 * size
        return y

    def save(self, path: Path, *, part: Box | None = None) -> Path:
        """Write the page as PNG, or a part of it, and free the window."""
        self._plotter.camera.clipping_range = (1.0, 2000.0)
        self._plotter.renderer.reset_camera_clipping_range()
        pixels = np.asarray(self._plotter.screenshot(return_img=True))[:, :, :3]
        self._plotter.close()
        dots = self.size[0] * 0.0254 / print_width
        image = Image.fromarray(pixels)
        if part is not None:
            image = image.crop(
                (
                    int(part.left),
                    int(self.size[1] - part.top),
                    int(part.right),
                    int(self.size[1] - part.bottom),
                )
            )
        image.save(path, dpi=(dots, dots))
        return path


def _text_renderer() -> Any:
    import vtkmodules.vtkRenderingFreeType  # noqa: F401 - registers the renderer
    from vtkmodules.vtkRenderingCore import vtkTextRenderer

    renderer = vtkTextRenderer.GetInstance()
    # A dollar sign in the user's names must not start a formula.
    renderer.SetDefaultBackend(vtkTextRenderer.FreeType)
    return renderer


def _text_style(*, size: int, bold: bool) -> Any:
    from vtkmodules.vtkCommonCore import VTK_FONT_FILE  # loads VTK
    from vtkmodules.vtkRenderingCore import vtkTextProperty

    style = vtkTextProperty()
    style.SetFontFamily(VTK_FONT_FILE)
    style.SetFontFile(str(font_file(bold=bold)))
    style.SetFontSize(size)
    return style
