"""The arrow to true north, where a case says where that is: on sheets and in axes."""

import math
from typing import Any

import numpy as np

from ...solver.model import Floats
from .boxes import Box
from .sheet import Sheet, black, plain_type, white

_halves = np.array([
    [[0.0, 1.0], [-0.5, -0.8], [0.0, -0.4]],
    [[0.0, 1.0], [0.5, -0.8], [0.0, -0.4]],
])  # fmt: skip
_letter = 1.55  # from the middle of the arrow, in its half length


def north_text(north: float) -> str:
    """Where north is, in words.

    Parameters
    ----------
    north : float
        Direction of true north, clockwise from +y. [rad]
    """
    degrees = round(math.degrees(north) % 360.0, 1) % 360.0
    return (
        f"true north is {degrees:g}° clockwise from the y axis"
        if degrees
        else ("true north is along the y axis")
    )


def _turned(points: Floats, north: float) -> Floats:
    """Points of an arrow that points up, turned to north."""
    across, up = math.sin(north), math.cos(north)
    return points @ np.array([[up, -across], [across, up]])


def draw_north(sheet: Sheet, *, at: tuple[float, float], north: float, size: float) -> Box:
    """Draw the arrow on a sheet.

    Parameters
    ----------
    at : tuple of float, length 2
        Its middle. [pixel]
    north : float
        Direction of true north, clockwise from up. [rad]
    size : float
        Its half length. [pixel]
    """
    for half, colour in zip(_turned(_halves, north) * size + at, (black, white), strict=True):
        sheet.area(half, colour=colour)
        sheet.path(np.concatenate([half, half[:1]]), width=2)
    letter = _turned(np.array([0.0, _letter]), north) * size + at
    sheet.text(
        (float(letter[0]), float(letter[1])), "N", size=plain_type, bold=True, anchor=(0.5, 0.5)
    )
    reach = (_letter + 0.5) * size
    return Box(at[0] - reach, at[1] - reach, at[0] + reach, at[1] + reach)


def north_in(axes: Any, *, north: float) -> None:
    """Draw the arrow above the upper right corner of axes.

    Parameters
    ----------
    axes : matplotlib Axes
        With the same scale both ways.
    north : float
        Direction of true north, clockwise from up. [rad]
    """
    from matplotlib.patches import Polygon  # loads matplotlib
    from matplotlib.transforms import Affine2D, ScaledTranslation

    corner = ScaledTranslation(1.0, 1.0, axes.transAxes)
    points = Affine2D().scale(1 / 72) + axes.figure.dpi_scale_trans + corner
    middle, size = np.array([-16.0, 20.0]), 9.0  # in points from the corner
    for half, colour in zip(_turned(_halves, north), ("black", "white"), strict=True):
        axes.add_patch(
            Polygon(
                half * size + middle,
                facecolor=colour,
                edgecolor="black",
                linewidth=0.8,
                transform=points,
                clip_on=False,
            )
        )
    letter = _turned(np.array([0.0, _letter]), north) * size + middle
    axes.text(
        *letter, "N", ha="center", va="center", weight="bold", fontsize=10, transform=points
    )
