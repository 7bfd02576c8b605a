"""What maps of the surface can show: layers with their levels and colours, worst places."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from ...solver.exposure.places import TouchableMetal
from ...solver.model import Floats
from ...solver.results.result import Result
from ...solver.verdict import StepOutline
from ..canvas.levels import band_colours, colour_names, contour_levels, share_levels
from ..maps.margins import judged_steps
from ..maps.plans import PlanMap
from ..maps.surface_maps import surface_maps


def map_layers(result: Result) -> list[dict[str, Any]]:
    """What a map can show: title, kind, samples or the rule for them, levels, colours.

    Touch voltages are given everywhere; what is beyond reach, and the limit on the ground under
    each point, are found where they are drawn, so that their edges are as sharp as they are.
    """
    found, surface = [], result.surface
    for key, plan in surface_maps(result).items():
        number = int(key.lstrip("abcdefghijklmnopqrstuvwxyz") or 0)
        if key == "potential":
            if np.iscomplexobj(surface.potential):  # the pointer reads sizes
                plan = replace(plan, values=np.abs(surface.potential))
            found.append(_layer(key, "Surface potential", plan))
        elif key == "step":
            layer = _layer(key, "Step", plan, kind="step")
            steps = {"pace": surface.pace, "direction": surface.step_direction}
            found.append({**layer, "values": surface.step, **steps})
        elif key.startswith("touch"):
            metal = result.metals[number]
            rise = complex(result.operating.voltage[metal.group])
            layer = _layer(key, f"Touch: {metal.name}", plan, kind="touch")
            layer |= _held(result, metal)
            found.append({**layer, "metal": _metal(metal), "at": [rise.real, rise.imag]})
        else:
            found.append(_share(result, number, plan=plan, key=key))
    return found


def _layer(key: str, title: str, plan: PlanMap, *, kind: str = "potential") -> dict[str, Any]:
    shown = plan.contours
    return {
        "key": key,
        "title": title,
        "kind": kind,
        "unit": "V",
        "plan": plan,
        "levels": shown.levels.inner.tolist(),
        "colours": colour_names(shown.colours),
    }


def shared_levels(conditions: Sequence[list[dict[str, Any]]]) -> dict[str, Floats]:
    """Levels for each layer in volts that suit all conditions together, by its key.

    Those of shares are the same on all maps as it is. Empty where there is one condition.
    """
    plans: dict[str, list[PlanMap]] = {}
    for layers in conditions:
        for layer in layers:
            if layer["unit"] == "V":
                plans.setdefault(layer["key"], []).append(layer["plan"])
    found = {}
    for key, same in plans.items():
        if len(same) < 2:
            continue
        meshes = [plan.contours.mesh for plan in same]
        values = np.concatenate([mesh.value for mesh in meshes])
        areas = np.concatenate([mesh.areas for mesh in meshes])
        found[key] = contour_levels(values, weights=areas).inner
    return found


def _metal(metal: TouchableMetal) -> dict[str, Any]:
    return {
        "name": metal.name,
        "kind": metal.kind,
        "vertices": metal.vertices.tolist(),
        "reach": metal.reach,
    }


def _held(result: Result, metal: TouchableMetal) -> dict[str, Any]:
    """Voltage of metal at each place of the map, where it is not one for all."""
    if result.along is None:
        return {}
    held = result.field.metal_voltage(metal.group, places=result.surface.places)
    found = {"held": np.real(held)}
    return found | ({"heldAhead": np.imag(held)} if np.iscomplexobj(held) else {})


def _share(result: Result, number: int, *, plan: PlanMap, key: str) -> dict[str, Any]:
    """Voltage over limit of one exposure, with what is needed to find both."""
    verdict = result.verdict
    assert verdict is not None
    judgement = verdict.judgements[number]
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
        "plan": plan,
        "levels": levels,
        "colours": colour_names(band_colours(len(share_levels) + 1)[: len(levels) + 1]),
        "factor": factor,
        "error": judgement.doubt,
        "uneven": judgement.drop > 0,
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
    surface = judged_steps(result, judgement)
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
