"""What the page needs for the scene that turns: layers, metal with its leakage, the surface."""

from dataclasses import replace
from typing import Any

import numpy as np
from scipy.spatial import cKDTree

from ...solver.model import Floats, Integers
from ...solver.results.result import Result
from ..canvas.bodies import edges
from ..canvas.levels import band_colours, colour_names, contour_levels
from ..plates import shown_lines
from ..scene.blocks import Block, layer_bounds, shown_block
from ..scene.leakage import leakage_bands, leakage_name
from ..wording import length_unit
from ..words.bodies import made_of
from ..words.layers import made_of_layer
from .map_data import packed

_most_pieces = 4000
_raster = 64  # cells of the surface along its longer side


def scene_data(result: Result) -> dict[str, Any]:
    """The scene of a result as the page's script reads it, in metres, volts and A/m."""
    block = shown_block(result)
    lines = shown_lines(result)
    start, end, leakage = _pieces(lines.start, end=lines.end, leakage=lines.leakage)
    soil = result.solution.soil
    ends = [*soil.interface_depth.tolist(), None]  # of the layers themselves, not of the block
    return {
        "low": list(block.low),
        "high": list(block.high),
        "depth": block.depth,
        "stretch": block.stretch,
        "layers": [
            {
                "top": top,
                "bottom": bottom,
                "end": ends[number],
                "text": made_of_layer(soil, number),
            }
            for number, (top, bottom) in enumerate(layer_bounds(result, shape=block))
        ],
        "metal": packed(np.column_stack([start, end])),
        "leakage": packed(leakage),
        "leakageName": leakage_name,
        "leakageBands": {units: _bands(replace(result, units=units)) for units in ("SI", "US")},
        "surface": _surface(result),
        "bodies": _bodies(result, block),
    }


def _bodies(result: Result, block: Block) -> list[dict[str, Any]]:
    """Edges of the bodies in the soil of the block, and what they are."""
    found = []
    for body in result.solution.soil.bodies:
        lines = edges(body.shape, low=block.low, high=block.high, depth=block.depth)
        if lines:
            text = f"{body.name}: {made_of(body)}"
            found.append({"text": text, "lines": [line.tolist() for line in lines]})
    return found


def _bands(result: Result) -> dict[str, Any]:
    """Levels [A/m], colours and widths of leakage, round in the unit of a reader."""
    bands = leakage_bands(result)
    levels = bands.levels.inner * length_unit(result.units).factor
    return {
        "levels": levels.tolist(),
        "colours": colour_names(bands.colours),
        "widths": bands.widths.tolist(),
    }


def _pieces(start: Floats, *, end: Floats, leakage: Floats) -> tuple[Floats, Floats, Floats]:
    """Line elements, each few joined to one where there are more than can be drawn fast."""
    every = int(np.ceil(len(start) / _most_pieces))
    if every == 1:
        return start, end, leakage
    rows: Integers = np.arange(len(start))
    joined = rows[::every]
    last = np.minimum(joined + every - 1, len(start) - 1)
    straight = np.linalg.norm(end[last] - start[joined], axis=1)
    whole = np.add.reduceat(np.linalg.norm(end - start, axis=1), joined)
    # A run that turns a corner or jumps to other metal is left as it was.
    broken = np.abs(straight - whole) > 1e-6 * whole
    again = np.isin(rows // every, np.flatnonzero(broken))
    mean = np.add.reduceat(leakage, joined) / np.bincount(rows // every)
    return (
        np.concatenate([start[joined[~broken]], start[again]]),
        np.concatenate([end[last[~broken]], end[again]]),
        np.concatenate([mean[~broken], leakage[again]]),
    )


def _surface(result: Result) -> dict[str, Any]:
    """Surface potential on a coarse raster."""
    surface, area = result.surface, result.area
    potential = surface.potential
    size = np.abs(potential) if np.iscomplexobj(potential) else np.real(potential)
    sides = np.subtract(area.high, area.low)
    counts = np.maximum(4, np.round(_raster * sides / sides.max())).astype(int)
    axes = [
        np.linspace(low, high, count + 1)
        for low, high, count in zip(area.low, area.high, counts, strict=True)
    ]
    middle = [(axis[1:] + axis[:-1]) / 2 for axis in axes]
    x, y = np.meshgrid(*middle, indexing="ij")
    nearest = cKDTree(surface.places).query(np.stack([x, y], axis=-1))[1]
    levels = contour_levels(size, weights=np.ones(len(size))).inner
    return {
        "x": axes[0].tolist(),
        "y": axes[1].tolist(),
        "bands": np.digitize(size[nearest], levels).tolist(),
        "colours": colour_names(band_colours(len(levels) + 1)),
    }
