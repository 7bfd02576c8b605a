"""Sounding picture: curve of apparent resistivity, residuals, and the layers beside them."""

from pathlib import Path
from textwrap import shorten

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
        draw_layers(layers, picture)
        save_figure(figure, path, ending=path.suffix[1:])
    return path
