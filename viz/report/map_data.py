"""What the page needs to draw maps and answer the pointer: samples, triangles, rules.

The soil potential and the voltage of each metal are embedded, with the steps and their
directions; the page itself takes touch voltages from them.
"""

import base64
from collections.abc import Mapping, Sequence
from dataclasses import replace
from io import BytesIO
from typing import Any

import numpy as np
from PIL import Image
from scipy.spatial import Delaunay

from ...solver.model import Floats, Integers, same_metal
from ...solver.results.result import Result
from ..canvas.bodies import drawn_in_plan
from ..canvas.hatching import light_left
from ..canvas.levels import band_colours, colour_names
from ..maps.contoured import Ring
from ..maps.plans import PlanMap
from ..plates import as_lines
from ..words.bodies import made_of
from .map_layers import map_layers, shared_levels, step_outline

_most_numbers = 700_000  # embedded, all columns together: below 4 MB of text
_turn = 2 * np.pi
# Columns of a layer that the page reads; the rest it finds for itself, by the rules.
_columns = {
    "step": ("values", "direction"),
    "share of step": ("voltage", "direction"),
    "touch": ("held", "heldAhead"),
}
_finest = 4095  # steps of outlines along the longer side of a map
_longest = 127  # steps from a point to the next, for a byte with sign


def map_data(results: Sequence[Result]) -> dict[str, Any]:
    """The maps of results as the page's script reads them, in metres and volts.

    Parameters
    ----------
    results : sequence of Result, at least one
        Of the case as it stands, then of its variants. Those with other samples or metal have
        them as ``own``. Where there are more samples than a page should hold, they are thinned
        evenly and ``thinned`` says so.
    """
    layers = [map_layers(each) for each in results]
    alike = [_alike(results[0], each) for each in results]
    # Places, three corners of two bytes for each of two triangles, then each column.
    numbers = [_numbers(own, each) for own, each in zip(layers, results, strict=True)]
    columns = 5 + sum(number for number, same in zip(numbers, alike, strict=True) if same)
    most = _most_numbers / (1 + alike.count(False))
    rows = _spread(results[0].surface.places, most=int(most / columns))
    variants = []
    shared = _SharedContours(shared_levels(layers))
    for each, own, same, number in zip(results, layers, alike, numbers, strict=True):
        kept = rows if same else _spread(each.surface.places, most=int(most / (5 + number)))
        variant = _variant(each, own, rows=kept, shared=shared)
        variants.append(variant if same else {**variant, "own": _samples(each, rows=kept)})
    return {**_samples(results[0], rows=rows), "variants": variants, "north": results[0].north}


def _alike(one: Result, other: Result) -> bool:
    """Whether two results have the same samples of the surface over the same metal."""
    return np.array_equal(one.surface.places, other.surface.places) and same_metal(
        one.solution.conductors, other.solution.conductors
    )


def _samples(result: Result, *, rows: Integers) -> dict[str, Any]:
    """Where the surface was sampled, the triangles between, and the metal below."""
    places, triangles = result.surface.places, result.surface.triangles
    thinned = len(rows) < len(places)
    if thinned:
        places = places[rows]
        triangles = Delaunay(places).simplices.astype(np.int64)
        triangles = triangles[result.field.on_ground(places[triangles].mean(axis=1))]
    kind = "u2" if len(places) <= 65536 else "u4"
    metal = as_lines(result.solution.conductors)
    return {
        "low": list(result.area.low),
        "high": list(result.area.high),
        "x": packed(places[:, 0]),
        "y": packed(places[:, 1]),
        "triangles": packed(triangles, kind),
        "triangleType": kind,
        "metal": packed(np.column_stack([metal.start[:, :2], metal.end[:, :2]])),
        "thinned": thinned,
        "picture": _picture(result),
        "underlay": packed(np.zeros(0) if result.underlay is None else result.underlay.ravel()),
    }


def _picture(result: Result) -> dict[str, Any] | None:
    """Picture of the ground as the page lays it over the bands, and what it is."""
    picture = result.ground_picture
    if picture is None:
        return None
    file = BytesIO()
    shade = np.round(255 * light_left(picture, picture.grey)).astype(np.uint8)
    Image.fromarray(shade).save(file, format="JPEG", quality=80)
    return {
        "address": f"data:image/jpeg;base64,{base64.b64encode(file.getvalue()).decode()}",
        "low": list(picture.low),
        "high": list(picture.high),
        "file": picture.file,
    }


def _numbers(layers: Sequence[dict[str, Any]], result: Result) -> float:
    """Numbers of four bytes that each place costs in one variant."""
    columns = [key for layer in layers for key in _columns_of(layer)]
    costs = sum(0.25 if key == "direction" else 1.0 for key in columns)
    return costs + (2.0 if np.iscomplexobj(result.surface.potential) else 1.0)


def _columns_of(layer: dict[str, Any]) -> list[str]:
    """Keys of a layer that have a value for each place."""
    return [key for key in _columns.get(layer["kind"], ()) if key in layer]


def _variant(
    result: Result,
    layers: Sequence[dict[str, Any]],
    *,
    rows: Integers,
    shared: "_SharedContours",
) -> dict[str, Any]:
    """Potential, layers and worst places of the case or a variant."""
    potential = result.surface.potential[rows]
    return {
        "name": result.variant,
        "rise": _turn_of_rise(result),
        "real": packed(np.real(potential)),
        "imaginary": packed(np.imag(potential)) if np.iscomplexobj(potential) else None,
        "layers": [_layer(layer, rows=rows, shared=shared) for layer in layers],
        "marks": [
            {"layer": layer["key"], "feet": mark.feet, "value": mark.value}
            for layer in layers
            if (mark := layer["plan"].worst) is not None
        ],
        "outline": _outline(result),
        "bodies": _bodies(result),
    }


def _bodies(result: Result) -> list[dict[str, Any]]:
    """Bodies in the soil of the map: outlines with the lines that hatch them, and names."""
    bodies, area = result.solution.soil.bodies, result.area
    drawn = drawn_in_plan(bodies, low=area.low, high=area.high)
    return [{**one, "of": made_of(body)} for body, one in drawn]


def _levels(plan: PlanMap) -> list[dict[str, Any]]:
    """Outlines of the levels asked for, as the page draws and names them."""
    return [
        {"name": line.name, "words": line.words, "segments": packed(line.segments.ravel())}
        for line in plan.levels
    ]


def _turn_of_rise(result: Result) -> list[float]:
    """Unit vector of the largest rise, on whose side voltages are above zero."""
    rise = complex(result.field.voltage[int(np.abs(result.field.voltage).argmax())])
    turn = rise / max(abs(rise), 1e-300)
    return [turn.real, turn.imag]


def _outline(result: Result) -> dict[str, Any] | None:
    """The step outline as the page draws and names it."""
    verdict, outline = result.verdict, step_outline(result)
    if verdict is None or outline is None:
        return None
    return {
        "voltage": outline.voltage,
        "segments": packed(outline.segments.ravel()),
        "grown": verdict.growth_factor * verdict.decrement_factor != 1,
    }


def _layer(
    layer: dict[str, Any], *, rows: Integers, shared: "_SharedContours"
) -> dict[str, Any]:
    """One layer with its columns as text, and drawn by the levels of all conditions too."""
    columns = {key: layer[key][rows] for key in _columns_of(layer)}
    found = {
        key: value
        for key, value in layer.items()
        if not isinstance(value, np.ndarray | PlanMap)
    }
    plan = layer["plan"]
    found["rings"] = _rings(plan.contours.rings, plan=plan)
    found["asked"] = _levels(plan)
    above = plan.above
    found["above"] = above and {"line": packed(above.line.ravel()), "words": above.words}
    found["shared"] = shared.of(layer["key"], plan)
    found["unsafe"] = _rings(plan.contours.unsafe, plan=plan)
    for key, values in columns.items():
        found[key] = _directions(values) if key == "direction" else packed(values)
    return found


class _SharedContours:
    """Contours of maps by the levels of all conditions; what looks alike is cut once."""

    def __init__(self, levels: Mapping[str, Floats]) -> None:
        self._levels = levels
        self._cut: dict[int, tuple[PlanMap, dict[str, Any]]] = {}

    def of(self, key: str, plan: PlanMap) -> dict[str, Any] | None:
        """As the page draws the map of a layer; None where it has no such levels."""
        if key not in self._levels:
            return None
        if id(plan) not in self._cut:
            levels = self._levels[key]
            rings = replace(plan, inner=levels).contours.rings
            shown = {
                "levels": levels.tolist(),
                "colours": colour_names(band_colours(len(levels) + 1)),
                "rings": _rings(rings, plan=plan),
            }
            self._cut[id(plan)] = (plan, shown)  # which keeps the plan, and so its number
        return self._cut[id(plan)][1]


def _rings(rings: Sequence[Ring], *, plan: PlanMap) -> dict[str, Any]:
    """Outlines as whole steps from one point to the next, each in a byte."""
    size = float(np.subtract(plan.high, plan.low).max()) / _finest
    points = np.concatenate([np.zeros((0, 2)), *(ring.points for ring in rings)])
    border = np.concatenate([np.zeros(0, bool), *(ring.border for ring in rings)])
    ends = np.cumsum([len(ring.points) for ring in rings], dtype=np.int64)
    starts = np.append(0, ends)[:-1]
    points = np.round((points - plan.low) / size).astype(np.int64)
    following = np.arange(1, len(points) + 1)
    following[ends - 1] = starts
    along = points[following] - points
    parts = np.maximum(1, np.ceil(np.abs(along).max(axis=1, initial=0) / _longest).astype(int))
    before = np.append(0, np.cumsum(parts))
    part = np.arange(before[-1]) - np.repeat(before[:-1], parts)
    share = [np.repeat(along, parts, axis=0) * (part + k)[:, None] for k in (0, 1)]
    done, reached = (np.round(each / np.repeat(parts, parts)[:, None]) for each in share)
    return {
        "step": size,
        "origin": list(plan.low),
        "bands": packed(np.array([ring.band for ring in rings], dtype=np.int64), "u1"),
        "starts": packed(points[starts].ravel(), "u2"),
        "counts": (before[ends] - before[starts]).tolist(),
        "steps": packed((reached - done).astype(np.int64).ravel(), "i1"),
        "border": packed(np.packbits(np.repeat(border, parts)).astype(np.int64), "u1"),
    }


def _directions(angles: Floats) -> str:
    """Angles as 256 steps of a turn, in a byte each. [rad]"""
    return packed(np.round(np.asarray(angles) / _turn * 256).astype(np.int64) % 256, "u1")


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
    """Numbers as base64 of little-endian ``f4``, ``u4``, ``u2``, ``u1`` or ``i1``."""
    return base64.b64encode(np.ascontiguousarray(values, dtype=f"<{kind}").tobytes()).decode()
