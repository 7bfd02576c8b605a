"""Sounding picture: curve of apparent resistivity, residuals, and the layers beside them."""

from pathlib import Path
from textwrap import shorten
from typing import Any

from .figures import figure_style, save_figure
from .sounding_layers import draw_layers
from .sounding_panels import draw_curves, draw_key, draw_residuals
from .sounding_picture import SoundingPicture

_size = (20.0, 13.0)  # at 100 dots per inch
_dots = 100
_grey = "0.45"
_longest_title = 110
_cautions = (
    "Layers are a model of readings of one day; soil dries, freezes and changes sideways. Do "
    "not go by them below the depth that the survey reached.\nFor a qualified engineer to "
    "check; local codes and licensed practice decide."
)


def draw_sounding(picture: SoundingPicture, *, path: Path) -> Path:
    """Draw a sounding picture.

    Parameters
    ----------
    picture : SoundingPicture
        What to show.
    path : Path
        File to write; its ending, .png or .svg, says which kind.

    Returns
    -------
    path : Path
    """
    import matplotlib as mpl
    from matplotlib.figure import Figure  # no pyplot: nothing global, no window

    with mpl.rc_context(figure_style):
        figure = Figure(figsize=_size, dpi=_dots, facecolor="white")
        title = shorten(picture.title, _longest_title, placeholder=" …")
        figure.text(0.035, 0.964, title, fontsize=20, color=_grey)
        figure.text(0.035, 0.926, picture.subtitle, fontsize=24, fontweight="bold")
        figure.text(0.035, 0.018, _cautions, fontsize=13, color=_grey, linespacing=1.4)
        curve = figure.add_axes((0.075, 0.455, 0.51, 0.435))
        residual = figure.add_axes((0.075, 0.255, 0.51, 0.15), sharex=curve)
        layers = figure.add_axes((0.655, 0.255, 0.18, 0.585))
        draw_curves(curve, picture)
        draw_residuals(residual, picture)
        draw_key(residual, picture)
        draw_layers(layers, picture, height=0.585 * _size[1])
        save_figure(figure, path, ending=path.suffix[1:])
    return path


def curve_figure(picture: SoundingPicture, *, width: float) -> Any:
    """Figure of curves and residuals, for pages.

    Parameters
    ----------
    picture : SoundingPicture
        What to show.
    width : float
        [inch]
    """
    from matplotlib.figure import Figure  # no pyplot: nothing global, no window

    upper, gap, lower = 4.2, 0.4, 1.9
    rows = -(-(len(picture.curves) + len(picture.names) + 2) // 3)
    below = 0.9 + 0.31 * rows
    height = 0.2 + upper + gap + lower + below
    figure = Figure(figsize=(width, height), dpi=_dots, facecolor="white")
    left, across = 1.3 / width, 1 - 1.6 / width
    curve = figure.add_axes((left, (below + lower + gap) / height, across, upper / height))
    residual = figure.add_axes((left, below / height, across, lower / height), sharex=curve)
    draw_curves(curve, picture)
    draw_residuals(residual, picture)
    draw_key(residual, picture)
    return figure


def layer_figure(picture: SoundingPicture, *, width: float) -> Any:
    """Figure of the layers with their ranges, for pages.

    Parameters
    ----------
    picture, width
        As for `curve_figure`.
    """
    from matplotlib.figure import Figure  # no pyplot: nothing global, no window

    # Two lines for each layer and one for each plane between them.
    above, below, beside = 1.0, 1.5, 0.96 * len(picture.soil.resistivity)
    column = max(4.6, beside)
    height = above + column + below
    figure = Figure(figsize=(width, height), dpi=_dots, facecolor="white")
    # Values stand to the right of the column.
    where = (1.3 / width, below / height, 0.5, column / height)
    draw_layers(figure.add_axes(where), picture, height=column)
    return figure
