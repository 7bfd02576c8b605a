"""Layers of a sounding picture: resistivity against depth, with ranges and equivalents."""

from typing import Any

import numpy as np

from ..solver.model import Floats, Soil
from .sounding_panels import grey, log_ticks, pale
from .sounding_picture import LayerRange, SoundingPicture
from .wording import length_unit, significant


def draw_layers(axes: Any, picture: SoundingPicture) -> None:
    """Resistivity against depth: the chosen model, its ranges, and equivalent models."""
    unit = length_unit(picture.units)
    bottom = _lowest_depth(picture)
    axes.set_xscale("log")
    for soil in picture.equivalents:
        depth, value = _steps(soil, bottom=bottom)
        axes.plot(value, depth * unit.factor, color="0.6", linewidth=1.2, zorder=2)
    depth, value = _steps(picture.soil, bottom=bottom)
    edges = np.concatenate([[0.0], np.cumsum(picture.soil.thickness), [bottom]])
    for k, spread in enumerate(picture.resistivity_range):
        if spread.resolved:
            band = [edges[k] * unit.factor, edges[k + 1] * unit.factor]
            axes.fill_betweenx(
                band, spread.low, spread.high, color="0.88", hatch="///", edgecolor="0.7",
                linewidth=0, zorder=1,
            )  # fmt: skip
    axes.plot(value, depth * unit.factor, color="black", linewidth=3.5, zorder=4)
    values = [*value, *(x for soil in picture.equivalents for x in soil.resistivity)]
    values += [end for r in picture.resistivity_range if r.resolved for end in (r.low, r.high)]
    low, high = min(values) / 1.8, max(values) * 1.8
    axes.set_xlim(low, high)
    axes.set_ylim(bottom * unit.factor, 0)
    log_ticks(axes.xaxis, low, high)
    for edge, spread in zip(edges[1:-1], picture.depth_range, strict=True):
        _draw_plane(axes, edge=edge, spread=spread, x=low * 1.12, unit_factor=unit.factor)
    _write_layers(axes, picture, edges=edges)
    axes.xaxis.tick_top()
    axes.xaxis.set_label_position("top")
    axes.set_xlabel("Resistivity [Ω·m]")
    axes.set_ylabel(f"Depth [{unit.symbol}]")
    axes.grid(True, color=pale, linewidth=1.0)
    axes.set_axisbelow(True)
    handles = [
        axes.plot([], [], color="black", linewidth=3.5, label="chosen model")[0],
        axes.fill_between([], [], color="0.88", hatch="///", edgecolor="0.7", linewidth=0,
                          label="95 % range of resistivity"),
    ]  # fmt: skip
    if picture.soil.thickness:
        handles.append(
            axes.errorbar([], [], yerr=[], color="black", capsize=7, linewidth=2,
                          linestyle="none", label="95 % range of depth")
        )  # fmt: skip
    if picture.equivalents:
        words = "equivalent models"
        handles.append(axes.plot([], [], color="0.6", linewidth=1.2, label=words)[0])
    axes.legend(
        handles=handles, loc="upper center", bbox_to_anchor=(0.5, -0.01), frameon=False,
        fontsize=13, ncols=2,
    )  # fmt: skip


def _draw_plane(
    axes: Any, *, edge: float, spread: LayerRange, x: float, unit_factor: float
) -> None:
    """Plane between two layers as a line, with the range of its depth at the side."""
    depth = edge * unit_factor
    axes.axhline(depth, color=grey, linewidth=1.2, linestyle=(0, (6, 4)), zorder=3)
    if not spread.resolved:
        return
    ends = [[depth - spread.low * unit_factor], [spread.high * unit_factor - depth]]
    axes.errorbar(
        [x], [depth], yerr=np.maximum(ends, 0.0), color="black", capsize=7, linewidth=2,
        zorder=5,
    )  # fmt: skip


def _write_layers(axes: Any, picture: SoundingPicture, *, edges: Floats) -> None:
    """Resistivity and range of each layer, each text in a place of its own."""
    unit = length_unit(picture.units)
    low, high = axes.get_xlim()
    total = edges[-1] * unit.factor
    least = 0.062 * total  # between lines of text
    middles = 0.5 * (edges[:-1] + edges[1:]) * unit.factor
    at = _spread_out(middles, gap=least, low=0.5 * least, high=total - 0.5 * least)
    for k, (rho, spread) in enumerate(
        zip(picture.soil.resistivity, picture.resistivity_range, strict=True)
    ):
        ends = f"{significant(spread.low)} to {significant(spread.high)}"
        words = f"{significant(rho)} Ω·m ({ends if spread.resolved else 'not resolved'})"
        # On the side where the line of the layer is not.
        left = np.log(rho / low) > 0.5 * np.log(high / low)
        axes.text(
            0.13 if left else 0.97, 1 - at[k] / total, words, transform=axes.transAxes,
            ha="left" if left else "right", va="center", fontsize=14, zorder=6,
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 2},
        )  # fmt: skip


def _spread_out(wanted: Floats, *, gap: float, low: float, high: float) -> Floats:
    """Places near the wanted ones, in their order, at least a gap apart and within bounds."""
    at = np.maximum.accumulate(np.clip(wanted, low, high))
    for k in range(1, len(at)):
        at[k] = max(at[k], at[k - 1] + gap)
    at[-1] = min(at[-1], high)
    for k in range(len(at) - 2, -1, -1):
        at[k] = min(at[k], at[k + 1] - gap)
    return np.asarray(at)


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
    return min(1.5 * deepest, 4 * planes[0]) if deepest > 0 else 0.5 * seen
