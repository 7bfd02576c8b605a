"""Curves and residuals of a sounding picture, drawn on axes of matplotlib."""

from typing import Any

import numpy as np

from ...solver.model import Flags, Floats
from ...solver.wording import percent_text
from ..wording import length_unit, short
from .contents import SoundingPicture

_markers = ("o", "s", "^", "D", "v", "P", "<", "p", ">", "h")
_dashes: tuple[Any, ...] = ("-", (0, (6, 2.5)), (0, (1.5, 2)), (0, (7, 2, 1.5, 2)), (0, (3, 2)))
_most_keys = 10  # of traverses
_longest_name = 26
# Parts of a decade at which an axis may have ticks, from few to many.
_parts = (
    (1,),
    (1, 2, 5),
    (1, 2, 3, 5, 7),
    (1, 1.5, 2, 3, 4, 5, 6, 7, 8),
    (1, 1.2, 1.4, 1.6, 1.8, 2, 2.5, 3, 3.5, 4, 4.5, 5, 6, 7, 8, 9),
)
_fewest_ticks, _most_ticks = 4, 9
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
            zorder=3 if number == 0 else 2,
            **line_of(number),
        )
    _draw_readings(axes, picture, values=picture.apparent_resistivity)
    x, y = picture.spacing * unit.factor, picture.apparent_resistivity
    axes.set_xlim(x.min() / 1.35, x.max() * 1.35)
    axes.set_ylim(y.min() / 1.5, y.max() * 1.5)
    log_ticks(axes.xaxis, x.min() / 1.35, x.max() * 1.35)
    log_ticks(axes.yaxis, y.min() / 1.5, y.max() * 1.5)
    axes.set_ylabel("Apparent resistivity [Ω·m]")
    axes.tick_params(labelbottom=False)
    axes.grid(True, color=pale, linewidth=1.0)
    axes.set_axisbelow(True)


def draw_residuals(axes: Any, picture: SoundingPicture) -> None:
    """Strip of reading over curve in per cent; what is far off stands at its edge."""
    share = 100 * np.expm1(picture.residual)
    inside = np.abs(share[~picture.outlier])
    reach = max(1.5 * float(inside.max(initial=0.0)), 2.0)
    edge = 0.8 * reach
    axes.axhline(0, color="black", linewidth=2)
    _draw_readings(axes, picture, values=np.clip(share, -edge, edge))
    axes.set_ylim(-reach, reach)
    _write_beyond(axes, picture, share=share, edge=edge)
    axes.yaxis.set_major_formatter(lambda value, _: short(round(value, 6)))
    axes.tick_params(labelbottom=True)
    rods = picture.driven_rod
    name = "Spacing of the pins" if not rods.any() else "Spacing of the pins, or driven length"
    unit = length_unit(picture.units)
    axes.set_xlabel(f"{'Driven length' if rods.all() else name} [{unit.symbol}]")
    axes.set_ylabel("Reading above\nthe curve [%]")
    axes.grid(True, color=pale, linewidth=1.0)
    axes.set_axisbelow(True)


def draw_key(axes: Any, picture: SoundingPicture) -> None:
    """Key of curves and readings, below the strip, where it hides nothing."""
    from matplotlib.lines import Line2D  # loads matplotlib

    handles = [
        Line2D([], [], label=curve.name, **line_of(number))
        for number, curve in enumerate(picture.curves)
    ]
    marks = [
        Line2D(
            [], [], label=_shortened(picture.names[number], rods=rods), **mark_of(number, rods)
        )
        for number, rods, _ in _kinds(picture)
    ]
    handles += marks[:_most_keys]
    if len(marks) > _most_keys:
        words = f"and {len(marks) - _most_keys} more traverses"
        handles.append(Line2D([], [], linestyle="none", label=words))
    if picture.outlier.any():
        handles.append(Line2D([], [], label="does not fit with the others", **_cross))
    axes.legend(
        handles=handles, loc="upper left", bbox_to_anchor=(-0.06, -0.36), frameon=False,
        fontsize=14, ncols=3, columnspacing=1.4, handlelength=2.4, borderaxespad=0,
        labelspacing=0.45,
    )  # fmt: skip


def line_of(number: int) -> dict[str, Any]:
    """Look of the curve of a model; the chosen one is the first."""
    return {
        "color": "black" if number == 0 else grey,
        "linewidth": 3 if number == 0 else 1.8,
        "linestyle": _dashes[number % len(_dashes)],
    }


def mark_of(number: int, rods: bool) -> dict[str, Any]:
    """Look of the readings of a traverse."""
    return {
        "linestyle": "none",
        "marker": _markers[number % len(_markers)],
        "markersize": 10,
        "markerfacecolor": "0.75" if rods else "white",
        "markeredgecolor": "black",
        "markeredgewidth": 2,
    }


_cross: dict[str, Any] = {
    "linestyle": "none",
    "marker": "x",
    "markersize": 19,
    "markeredgecolor": "black",
    "markeredgewidth": 2.5,
}


def _kinds(picture: SoundingPicture) -> list[tuple[int, bool, Flags]]:
    """Number of each traverse, whether of driven rods, and its readings."""
    found = []
    for number in range(len(picture.names)):
        for rods in (False, True):
            mine = (picture.traverse == number) & (picture.driven_rod == rods)
            if mine.any():
                found.append((number, rods, mine))
    return found


def _draw_readings(axes: Any, picture: SoundingPicture, *, values: Floats) -> None:
    """Marks of all readings: a shape for each traverse, a cross over those off the curve."""
    x = picture.spacing * length_unit(picture.units).factor
    for number, rods, mine in _kinds(picture):
        axes.plot(x[mine], values[mine], zorder=4, **mark_of(number, rods))
    off = picture.outlier
    if off.any():
        axes.plot(x[off], values[off], zorder=5, **_cross)


def _write_beyond(axes: Any, picture: SoundingPicture, *, share: Floats, edge: float) -> None:
    """Values of the readings that lie beyond the strip, beside their marks."""
    x = picture.spacing * length_unit(picture.units).factor
    for k in np.flatnonzero(np.abs(share) > edge):
        up = share[k] > 0
        axes.annotate(
            percent_text(share[k] / 100, signed=True),
            (x[k], edge if up else -edge),
            textcoords="offset points",
            xytext=(16, 0),
            va="center",
            fontsize=13,
            zorder=6,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.5},
        )


def _shortened(name: str, *, rods: bool) -> str:
    """Name of a traverse that does not run into its neighbour in the key."""
    room = _longest_name - 13 if rods else _longest_name
    shown = name if len(name) <= room else name[: room - 1].rstrip() + "…"
    return f"{shown} (driven rod)" if rods else shown


def log_ticks(axis: Any, low: float, high: float) -> None:
    """Ticks at round parts of each decade, as many as can be read, in plain numbers."""
    from matplotlib.ticker import FixedLocator, NullFormatter  # loads matplotlib

    powers = range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
    for parts in _parts:
        ticks = [m * 10.0**p for p in powers for m in parts if low <= m * 10.0**p <= high]
        if len(ticks) >= _fewest_ticks:
            break
    ticks = ticks[:: -(-len(ticks) // _most_ticks)]
    axis.set_major_locator(FixedLocator(ticks))
    axis.set_minor_locator(FixedLocator([]))
    axis.set_minor_formatter(NullFormatter())
    axis.set_major_formatter(lambda value, _: _plain(value))


def _plain(value: float) -> str:
    """Tick as a plain number, thousands as k and millions as M from 10 000 on."""
    if value >= 1e6:
        return f"{short(value / 1e6)} M"
    return f"{short(value / 1e3)} k" if value >= 1e4 else short(value)
