"""Lines of text as VTK draws them."""

from functools import lru_cache
from typing import Any

from .offscreen import font_file


@lru_cache(10_000)
def text_width(text: str, *, size: int, bold: bool) -> float:
    """Width of a line of text. [pixel]"""
    box = [0, 0, 0, 0]
    _renderer().GetBoundingBox(_style(size=size, bold=bold), text, box, 72)
    return float(box[1] - box[0] + 1)


def text_actor(
    text: str,
    *,
    middle: tuple[float, float],
    size: int,
    bold: bool,
    colour: tuple[float, float, float],
    upright: bool,
) -> Any:
    """A line of text about a place on a page. [pixel]"""
    import vtkmodules.vtkRenderingOpenGL2  # noqa: F401 - without it no text is drawn
    from vtkmodules.vtkRenderingCore import vtkTextActor  # loads VTK

    style = _style(size=size, bold=bold)
    style.SetColor(*colour)
    style.SetJustificationToCentered()
    style.SetVerticalJustificationToCentered()
    if upright:
        style.SetOrientation(90.0)
    actor = vtkTextActor()
    actor.SetInput(text)
    actor.GetTextProperty().ShallowCopy(style)
    actor.SetPosition(round(middle[0]), round(middle[1]))
    return actor


def _renderer() -> Any:
    import vtkmodules.vtkRenderingFreeType  # noqa: F401 - registers the renderer
    from vtkmodules.vtkRenderingCore import vtkTextRenderer

    renderer = vtkTextRenderer.GetInstance()
    # A dollar sign in the user's names must not start a formula.
    renderer.SetDefaultBackend(vtkTextRenderer.FreeType)
    return renderer


def _style(*, size: int, bold: bool) -> Any:
    from vtkmodules.vtkCommonCore import VTK_FONT_FILE  # loads VTK
    from vtkmodules.vtkRenderingCore import vtkTextProperty

    style = vtkTextProperty()
    style.SetFontFamily(VTK_FONT_FILE)
    style.SetFontFile(str(font_file(bold=bold)))
    style.SetFontSize(size)
    return style
