"""What the page needs to draw maps and answer the pointer: samples, triangles, rules.

Touch voltages are embedded everywhere; the page itself leaves out what is beyond reach and
takes the limit of the ground under each point, so that their edges are as sharp as they are.
"""

import base64
from collections.abc import Sequence
from typing import Any

import numpy as np
from scipy.spatial import Delaunay

from ...solver.model import Floats, Integers
from ...solver.places import TouchableMetal
from ...solver.result import Result
from ...solver.surface import with_pace
from ...solver.verdict import Judgement
from ..levels import (
    band_colours,
    colour_names,
    contour_levels,
    share_levels,
)

_most_numbers = 700_000  # embedded, all columns together: below 4 MB of text


def map_data(result: Result) -> dict[str, Any]:
    """The maps of a result as the page's script reads them, in metres and volts.

    Parameters
    ----------
    result : Result
        What to show. Where its samples are more than a page should hold, they are thinned
        evenly and ``thinned`` says so.
    """
    surface = result.surface
    places, triangles = surface.places, surface.triangles
    layers = map_layers(result)
    columns = 4 + sum(layer.get(key) is not None for layer in layers for key in _columns)
    rows = _spread(places, most=_most_numbers // columns)
    if len(rows) < len(places):
        places = places[rows]
        triangles = Delaunay(places).simplices.astype(np.int64)
    kind = "u2" if len(places) <= 65536 else "u4"
    metal = result.solution.conductors
    return {
        "low": list(result.area.low),
        "high": list(result.area.high),
        "x": packed(places[:, 0]),
        "y": packed(places[:, 1]),
        "triangles": packed(triangles, kind),
        "triangleType": kind,
        "layers": [
            {
                key: packed(value[rows]) if key in _columns and value is not None else value
                for key, value in layer.items()
            }
            for layer in layers
        ],
        "marks": map_marks(result),
        "metal": packed(np.column_stack([metal.start[:, :2], metal.end[:, :2]])),
        "pace": surface.pace,
        "north": result.north,
        "thinned": len(places) < len(surface.places),
    }


_columns = ("values", "voltage")


def map_layers(result: Result) -> list[dict[str, Any]]:
    """What the map can show: title, kind, levels, colours, samples or the rule for them."""
    surface = result.surface
    potential = surface.potential
    size = np.abs(potential) if np.iscomplexobj(potential) else np.real(potential)
    everywhere = np.ones(len(size), dtype=bool)
    found = [_layer(result, "potential", "Surface potential", size, everywhere)]
    for number, metal in enumerate(result.metals):
        within = metal.within_reach(surface.places)
        if within.any():
            voltage = np.abs(result.operating.voltage[metal.group] - potential)
            layer = _layer(result, f"touch{number}", f"Touch: {metal.name}", voltage, within)
            found.append({**layer, "kind": "touch", "metal": _metal(metal)})
    found.append({**_layer(result, "step", "Step", surface.step, everywhere), "kind": "step"})
    for number, judgement in enumerate(result.verdict.judgements if result.verdict else ()):
        if judgement.share is not None and np.isfinite(judgement.share).any():
            found.append(_share(result, judgement, key=f"share{number}"))
    return found


def _layer(
    result: Result, key: str, title: str, values: Floats, known: np.ndarray
) -> dict[str, Any]:
    weights = _weights(result.surface.places, result.surface.triangles)
    levels = contour_levels(values[known], weights=weights[known]).inner
    return {
        "key": key,
        "title": title,
        "kind": "potential",
        "unit": "V",
        "values": values,
        "levels": levels.tolist(),
        "colours": colour_names(band_colours(len(levels) + 1)),
    }


def _weights(places: Floats, triangles: Integers) -> Floats:
    """Area that each place stands for, shape (n,). [m²]"""
    a, b, c = (places[triangles[:, k]] for k in range(3))
    (ux, uy), (vx, vy) = (b - a).T, (c - a).T
    size = np.abs(ux * vy - uy * vx) / 2
    weights = np.bincount(triangles.ravel(), weights=np.repeat(size, 3), minlength=len(places))
    return np.asarray(weights, dtype=np.float64)


def _metal(metal: TouchableMetal) -> dict[str, Any]:
    return {
        "name": metal.name,
        "kind": metal.kind,
        "vertices": metal.vertices.tolist(),
        "reach": metal.reach,
    }


def _share(result: Result, judgement: Judgement, *, key: str) -> dict[str, Any]:
    """Voltage over limit of one exposure, with what the page needs to find both."""
    verdict = result.verdict
    assert verdict is not None
    assert judgement.share is not None
    factor = verdict.growth_factor * verdict.decrement_factor
    largest = 100 * float(np.nanmax(judgement.share))
    levels = [level for level in share_levels.tolist() if level <= max(100.0, largest)]
    layer: dict[str, Any] = {
        "key": key,
        "title": f"Share of the limit: {judgement.name}",
        "kind": f"share of {judgement.kind}",
        "name": judgement.name,
        "unit": "%",
        "levels": levels,
        "colours": colour_names(band_colours(len(share_levels) + 1)[: len(levels) + 1]),
        "factor": factor,
        "error": judgement.error,
        "outline": None if judgement.outline is None else judgement.outline.tolist(),
        "grounds": [
            {
                "name": ground.name,
                "outline": None if ground.outline is None else ground.outline.tolist(),
                "limit": ground.limit.voltage,
            }
            for ground in judgement.grounds
        ],
    }
    if judgement.kind == "touch":
        number = [metal.name for metal in result.metals].index(judgement.metals[0])
        return {**layer, "of": f"touch{number}"}
    # The limit of a step is the lower one of both feet: the share is kept as it was judged.
    surface = with_pace(
        result.surface, field=result.field, area=result.area, pace=judgement.pace
    )
    return {
        **layer,
        "values": 100 * judgement.share,
        "voltage": factor * surface.step,
        "pace": judgement.pace,
    }


def map_marks(result: Result) -> list[dict[str, Any]]:
    """The worst places, each for the layer it belongs to."""
    marks: list[dict[str, Any]] = []
    numbers = {metal.name: number for number, metal in enumerate(result.metals)}
    for item in result.worst:
        key = "step" if item.kind == "step" else f"touch{numbers[item.name]}"
        marks.append(_mark(key, (item.foot, item.other_foot), item.voltage))
    for number, judgement in enumerate(result.verdict.judgements if result.verdict else ()):
        worst = judgement.worst
        if worst is not None and worst.foot is not None:
            feet = (worst.foot, worst.other_foot)
            marks.append(_mark(f"share{number}", feet, 100 * worst.share))
    return marks


def _mark(key: str, feet: Sequence[tuple[float, float] | None], value: float) -> dict[str, Any]:
    return {"layer": key, "feet": [foot for foot in feet if foot is not None], "value": value}


def _spread(places: Floats, *, most: int) -> Integers:
    """Rows of at most about so many places, one in each cell of a raster, and the corners."""
    if len(places) <= most:
        return np.arange(len(places))
    low, high = places.min(axis=0), places.max(axis=0)
    size = float(np.sqrt(np.prod(np.maximum(high - low, 1e-9)) / most))
    cell = np.floor((places - low) / size).astype(np.int64)
    _, kept = np.unique(cell, axis=0, return_index=True)
    corners = [
        int(np.abs(places - (x, y)).sum(axis=1).argmin())
        for x in (low[0], high[0])
        for y in (low[1], high[1])
    ]
    return np.unique(np.concatenate([kept, corners]))


def packed(values: Floats | Integers, kind: str = "f4") -> str:
    """Numbers as base64 of little-endian ``f4``, ``u4`` or ``u2``."""
    return base64.b64encode(np.ascontiguousarray(values, dtype=f"<{kind}").tobytes()).decode()
