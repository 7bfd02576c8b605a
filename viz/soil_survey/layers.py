"""Layers of a sounding picture: resistivity against depth, with ranges and equivalents."""

from typing import Any

import numpy as np

from ...solver.model import Floats, Soil
from ..canvas.figures import spread_out
from ..wording import Unit, length_unit, scaled_unit, significant
from .contents import LayerRange, SoundingPicture
from .panels import grey, log_ticks, pale

_black: dict[str, Any] = {"color": "black", "linewidth": 3.5}
_alike: dict[str, Any] = {"color": "0.6", "linewidth": 1.2}
_band: dict[str, Any] = {"facecolor": "0.9", "hatch": "///", "edgecolor": "0.7", "linewidth": 0}
_whisker: dict[str, Any] = {"color": "black", "capsize": 7, "linewidth": 2}
_line_height = 0.26  # of a text beside the column [inch]


def draw_layers(axes: Any, picture: SoundingPicture, *, height: float) -> None:
    """Resistivity against depth: the chosen model, its ranges, and equivalent models.

    Parameters
    ----------
    height : float
        Of the axes. [inch]
    """
    unit = length_unit(picture.units)
    bottom = _lowest_depth(picture)
    edges = np.concatenate([[0.0], np.cumsum(picture.soil.thickness), [bottom]]) * unit.factor
    low, high = _span(picture)
    axes.set_xscale("log")
    for k, spread in enumerate(picture.resistivity_range):
        if spread.resolved:
            axes.fill_betweenx(edges[k : k + 2], spread.low, spread.high, zorder=1, **_band)
    for soil in picture.equivalents:
        depth, value = _steps(soil, bottom=bottom)
        axes.plot(value, depth * unit.factor, zorder=2, **_alike)
    depth, value = _steps(picture.soil, bottom=bottom)
    axes.plot(value, depth * unit.factor, zorder=4, **_black)
    axes.set_xlim(low, high)
    axes.set_ylim(edges[-1], 0)
    log_ticks(axes.xaxis, low, high)
    for number, (edge, spread) in enumerate(zip(edges[1:-1], picture.depth_range, strict=True)):
        # Side by side, so that ranges that overlap can be told apart.
        place = low * (high / low) ** (0.06 + 0.07 * (number % 3))
        _draw_plane(axes, edge=edge, spread=spread, x=place, unit=unit)
    _write_beside(axes, picture, edges=edges, unit=unit, height=height)
    axes.xaxis.tick_top()
    axes.xaxis.set_label_position("top")
    axes.set_xlabel("Resistivity [Ω·m]", labelpad=10)
    axes.set_ylabel(f"Depth [{unit.symbol}]")
    axes.grid(True, color=pale, linewidth=1.0)
    axes.set_axisbelow(True)
    _draw_key(axes, picture)


def _draw_key(axes: Any, picture: SoundingPicture) -> None:
    handles = [
        axes.plot([], [], label="chosen model", **_black)[0],
        axes.fill_between([], [], label="resistivities that fit as well", **_band),
    ]
    if any(spread.resolved for spread in picture.depth_range):
        words = "depths that fit as well"
        handles.append(
            axes.errorbar([], [], yerr=[], linestyle="none", label=words, **_whisker)
        )
    if picture.equivalents:
        handles.append(axes.plot([], [], label="models that fit as well (95 %)", **_alike)[0])
    axes.legend(
        handles=handles, loc="upper left", bbox_to_anchor=(-0.1, -0.02), frameon=False,
        fontsize=14, labelspacing=0.45, borderaxespad=0,
    )  # fmt: skip


def _draw_plane(axes: Any, *, edge: float, spread: LayerRange, x: float, unit: Unit) -> None:
    """Plane between two layers as a line, with the range of its depth at the side."""
    axes.axhline(edge, color=grey, linewidth=1.2, linestyle=(0, (6, 4)), zorder=3)
    if not spread.resolved:
        return
    ends = [[edge - spread.low * unit.factor], [spread.high * unit.factor - edge]]
    axes.errorbar([x], [edge], yerr=np.maximum(ends, 0.0), zorder=5, **_whisker)


def _write_beside(
    axes: Any, picture: SoundingPicture, *, edges: Floats, unit: Unit, height: float
) -> None:
    """Layers and planes with their ranges, to the right of the column, in their order."""
    total = edges[-1]
    texts: list[tuple[float, str, int]] = []
    for k, (rho, spread) in enumerate(
        zip(picture.soil.resistivity, picture.resistivity_range, strict=True)
    ):
        words = _with_range(rho, spread, unit=scaled_unit(rho, symbol="Ω·m"))
        texts.append((0.5 * (edges[k] + edges[k + 1]), words, 2))
        if k < len(picture.depth_range):
            depth = edges[k + 1] / unit.factor
            words = _with_range(depth, picture.depth_range[k], unit=unit)
            texts.append((edges[k + 1], f"— {words.replace(chr(10), ', ')}", 1))
    sizes = np.array([lines * _line_height + 0.09 for _, _, lines in texts]) / height
    wanted = np.array([place / total for place, _, _ in texts])
    for place, (_, words, lines) in zip(spread_out(wanted, sizes), texts, strict=True):
        axes.text(
            1.04, 1 - place, words, transform=axes.transAxes, ha="left", va="center",
            fontsize=14.5 if lines == 2 else 13, color="black" if lines == 2 else "0.35",
            linespacing=1.25,
        )  # fmt: skip


def _with_range(value: float, spread: LayerRange, *, unit: Unit) -> str:
    """Value over its range, in one unit."""
    best = f"{significant(value * unit.factor)} {unit.symbol}"
    low, high = (significant(end * unit.factor) for end in (spread.low, spread.high))
    return f"{best}\n{low} to {high}" if spread.resolved else f"{best}\nnot resolved"


def _span(picture: SoundingPicture) -> tuple[float, float]:
    """Lowest and highest resistivity drawn."""
    values = [*picture.soil.resistivity]
    values += [rho for soil in picture.equivalents for rho in soil.resistivity]
    values += [end for r in picture.resistivity_range if r.resolved for end in (r.low, r.high)]
    return min(values) / 2.2, max(values) * 1.6


def _steps(soil: Soil, *, bottom: float) -> tuple[Floats, Floats]:
    """Depth and resistivity of a stair line through the layers."""
    edges = np.concatenate([[0.0], np.cumsum(soil.thickness)])
    edges = np.append(edges, max(bottom, 1.1 * edges[-1]))
    return np.repeat(edges, 2)[1:-1], np.repeat(soil.resistivity, 2)


def _lowest_depth(picture: SoundingPicture) -> float:
    """Depth to which layers are drawn: well below the deepest plane of any model."""
    planes = [float(np.sum(picture.soil.thickness))]
    planes += [float(np.sum(soil.thickness)) for soil in picture.equivalents]
    planes += [r.high for r in picture.depth_range if r.resolved]
    deepest = max(planes)
    seen = float(picture.spacing.max())
    return min(1.5 * deepest, 2.5 * planes[0]) if deepest > 0 else 0.5 * seen
