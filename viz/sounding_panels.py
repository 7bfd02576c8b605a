"""Curves and residuals of a sounding picture, drawn on axes of matplotlib."""

from typing import Any

import numpy as np

from ..solver.model import Floats
from .sounding_picture import SoundingPicture
from .wording import length_unit, short

_markers = ("o", "s", "^", "D", "v", "P", "<", "p", ">", "h")
_dashes: tuple[Any, ...] = ("-", (0, (6, 2.5)), (0, (1.5, 2)), (0, (7, 2, 1.5, 2)), (0, (3, 2)))
grey, pale = "0.45", "0.85"


def draw_curves(axes: Any, picture: SoundingPicture) -> None:
    """Readings and fitted curves on log-log axes."""
    unit = length_unit(picture.units)
    axes.set_xscale("log")
    axes.set_yscale("log")
    for number, curve in enumerate(picture.curves):
        axes.plot(
            curve.spacing * unit.factor,
            curve.apparent_resistivity,
            color="black" if number == 0 else grey,
            linewidth=3 if number == 0 else 1.8,
            linestyle=_dashes[number % len(_dashes)],
            label=curve.name,
            zorder=2,
        )
    _draw_readings(axes, picture, values=picture.apparent_resistivity, named=True)
    x, y = picture.spacing * unit.factor, picture.apparent_resistivity
    axes.set_xlim(x.min() / 1.35, x.max() * 1.35)
    axes.set_ylim(y.min() / 1.5, y.max() * 1.5)
    log_ticks(axes.xaxis, x.min() / 1.35, x.max() * 1.35)
    log_ticks(axes.yaxis, y.min() / 1.5, y.max() * 1.5)
    axes.set_ylabel("Apparent resistivity [Ω·m]")
    axes.tick_params(labelbottom=False)
    axes.grid(True, color=pale, linewidth=1.0)
    axes.set_axisbelow(True)
    axes.legend(loc="best", frameon=True, framealpha=0.9, edgecolor=pale, fontsize=14)


def _draw_readings(axes: Any, picture: SoundingPicture, *, values: Floats, named: bool) -> None:
    """Marks of all readings: a shape for each traverse, a cross over those off the curve."""
    unit = length_unit(picture.units)
    x = picture.spacing * unit.factor
    for number, name in enumerate(picture.names):
        for rods in (False, True):
            mine = (picture.traverse == number) & (picture.driven_rod == rods)
            if not mine.any():
                continue
            words = f"{name} (driven rod, at driven length)" if rods else name
            axes.plot(
                x[mine],
                values[mine],
                linestyle="none",
                marker=_markers[number % len(_markers)],
                markersize=10,
                markerfacecolor="0.75" if rods else "white",
                markeredgecolor="black",
                markeredgewidth=2,
                label=words if named else None,
                zorder=3,
            )
    off = picture.outlier
    if off.any():
        axes.plot(
            x[off],
            values[off],
            linestyle="none",
            marker="x",
            markersize=19,
            markeredgecolor="black",
            markeredgewidth=2.5,
            label="outlier" if named else None,
            zorder=4,
        )


def draw_residuals(axes: Any, picture: SoundingPicture) -> None:
    """Strip of measured over fitted, in per cent."""
    unit = length_unit(picture.units)
    share = 100 * np.expm1(picture.residual)
    axes.axhline(0, color="black", linewidth=2)
    _draw_readings(axes, picture, values=share, named=False)
    reach = max(1.25 * float(np.abs(share).max()), 2.0)
    axes.set_ylim(-reach, reach)
    axes.yaxis.set_major_formatter(lambda value, _: short(round(value, 6)))
    axes.tick_params(labelbottom=True)
    rods = picture.driven_rod
    name = "Spacing of the pins" if not rods.any() else "Spacing of the pins, or driven length"
    axes.set_xlabel(f"{'Driven length' if rods.all() else name} [{unit.symbol}]")
    axes.set_ylabel("Measured over\nfitted, less 1 [%]")
    axes.grid(True, color=pale, linewidth=1.0)
    axes.set_axisbelow(True)


def log_ticks(axis: Any, low: float, high: float) -> None:
    """Ticks at 1, 2, 5 of each decade, or fewer over many, in plain numbers."""
    from matplotlib.ticker import FixedLocator, NullFormatter

    decades = np.log10(high / low)
    parts = (1, 2, 3, 5, 7) if decades < 1 else (1, 2, 5) if decades < 3 else (1,)
    powers = range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
    ticks = [m * 10.0**p for p in powers for m in parts]
    axis.set_major_locator(FixedLocator([t for t in ticks if low <= t <= high]))
    axis.set_minor_locator(FixedLocator([]))
    axis.set_minor_formatter(NullFormatter())
    axis.set_major_formatter(lambda value, _: short(value))
