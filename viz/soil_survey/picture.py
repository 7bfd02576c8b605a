"""Sounding picture: curve of apparent resistivity, residuals, and the layers beside them."""

from typing import Any

from ..canvas.figures import Target, figure_style, page_width, save_figure
from ..canvas.strips import Heading, Strip, axes_in, figure_of
from ..cautions import BELOW_SOUNDINGS
from .contents import SoundingPicture
from .layers import draw_layers
from .panels import draw_curves, draw_key, draw_residuals

_left = 1.3  # of plots [inch]


def draw_sounding(picture: SoundingPicture, *, path: Target) -> Target:
    """Draw a sounding picture.

    Parameters
    ----------
    path : Path
        File to write; its ending, .png or .svg, says which kind.
    """
    import matplotlib as mpl  # loads matplotlib

    with mpl.rc_context(figure_style):
        save_figure(sounding_figure(picture), path, ending=path.suffix[1:])
    return path


def sounding_figure(picture: SoundingPicture) -> Any:
    """Figure of a sounding, for files."""
    heading = Heading(picture.title, picture.subtitle, "", BELOW_SOUNDINGS)
    return figure_of([_curves(picture), _layers(picture)], heading=heading)


def curve_figure(picture: SoundingPicture) -> Any:
    """Figure of curves and residuals, for pages."""
    return figure_of([_curves(picture)])


def layer_figure(picture: SoundingPicture) -> Any:
    """Figure of the layers with their ranges, for pages."""
    return figure_of([_layers(picture)])


def _curves(picture: SoundingPicture) -> Strip:
    above, upper, gap, lower = 0.2, 4.2, 0.4, 1.9
    rows = -(-(len(picture.curves) + len(picture.names) + 2) // 3)

    def draw(part: Any) -> None:
        curve = axes_in(part, above=above, tall=upper, left=_left)
        residual = axes_in(part, above=above + upper + gap, tall=lower, left=_left)
        residual.sharex(curve)
        draw_curves(curve, picture)
        draw_residuals(residual, picture)
        draw_key(residual, picture)

    return Strip(above + upper + gap + lower + 0.9 + 0.31 * rows, draw)


def _layers(picture: SoundingPicture) -> Strip:
    # Two lines for each layer and one for each plane between them.
    above, below, beside = 1.0, 1.5, 0.96 * len(picture.soil.resistivity)
    column = max(4.6, beside)

    def draw(part: Any) -> None:
        # Values stand to the right of the column.
        axes = axes_in(part, above=above, tall=column, left=_left, right=page_width / 2 - _left)
        draw_layers(axes, picture, height=column)

    return Strip(above + column + below, draw)
