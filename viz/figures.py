"""Settings of the figures that matplotlib draws."""

from typing import Any

# Settings of our own, so that a user's matplotlib file does not change the picture.
figure_style: Any = {
    "font.family": "DejaVu Sans",
    "font.size": 15,
    "axes.linewidth": 1.5,
    "axes.unicode_minus": True,
    "axes.titlesize": 17,
    "hatch.linewidth": 0.8,
    "mathtext.default": "regular",
    "text.usetex": False,
    "text.parse_math": False,
    "svg.hashsalt": "ohmscape",
    "svg.fonttype": "path",
}
