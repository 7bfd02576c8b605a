"""What maps of the surface can show: layers with their levels and colours, worst places."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from ...solver.exposure.places import TouchableMetal
from ...solver.exposure.surface import with_pace
from ...solver.model import Floats, Integers
from ...solver.results.result import Result
from ...solver.verdict import Judgement, StepOutline
from ..canvas.levels import band_colours, colour_names, contour_levels, share_levels


def map_layers(result: Result) -> list[dict[str, Any]]:
    """What a map can show: title, kind, samples or the rule for them, levels, colours.

    Touch voltages are given everywhere; what is beyond reach, and the limit on the ground under
    each point, are found where they are drawn, so that their edges are as sharp as they are.
    """
    surface, potential = result.surface, result.surface.potential
    size = np.abs(potential) if np.iscomplexobj(potential) else np.real(potential)
    everywhere = np.ones(len(size), dtype=bool)
    found = [_layer(result, "potential", "Surface potential", size, everywhere)]
    for number, metal in enumerate(result.metals):
        within = metal.within_reach(surface.places)
        if within.any():
            rise = complex(result.operating.voltage[metal.group])
            name = (f"touch{number}", f"Touch: {metal.name}")
            layer = _layer(result, *name, np.abs(rise - potential), within)
            place = {"metal": _metal(metal), "at": [rise.real, rise.imag]}
            found.append({**layer, "kind": "touch", **place})
    steps = {"kind": "step", "pace": surface.pace, "direction": surface.step_direction}
    found.append({**_layer(result, "step", "Step", surface.step, everywhere), **steps})
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
    """Voltage over limit of one exposure, with what is needed to find both."""
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
        "direction": surface.step_direction,
    }


def step_outline(result: Result) -> StepOutline | None:
    """Line outside of which every step is below what the case asked for, where there is one."""
    outline = None if result.verdict is None else result.verdict.step_outline
    return outline if outline is not None and len(outline.segments) else None


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
