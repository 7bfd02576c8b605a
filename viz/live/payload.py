"""What the live page is sent: the case, a draft and a confirmed result as plain numbers.

Numbers of maps go as one row of bytes, four for each and little-endian; the header says which
array begins where. All is in metres, volts, ohms and amperes.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import cKDTree

from ...solver.exposure.raster import Area, Raster
from ...solver.model import Floats, Phasors
from ...solver.results.draft import (
    Draft,
    DraftElectrode,
    DraftMap,
    DraftShare,
    DraftWorst,
)
from ...solver.results.result import Result
from ...solver.verdict import Judgement
from ..canvas.bodies import drawn_in_plan, side_outline
from ..canvas.levels import band_colours, colour_names, contour_levels, share_levels
from ..cautions import cautions_of_case
from ..verdict_words import OUTCOME_WORDS, headline_of, headline_text, unjudged_text
from ..words.bodies import made_of
from ..words.text import VOCABULARIES, plain

_edited = ("soil", "electrodes", "bonds", "study")  # blocks of the file
_raster = 128  # places of a confirmed map along its longer side


def draft_payload(draft: Draft) -> tuple[dict[str, Any], bytes]:
    """A draft as the page reads it: the header, and the numbers of its maps."""
    header = {
        "variant": draft.variant,
        "electrodes": [dict(vars(each)) for each in draft.electrodes],
        "worst": [_worst(each) for each in draft.worst],
        "judged": [_worst(each) for each in draft.judged],
        "error": _number(draft.error),
        "notes": list(draft.notes),
        "wires": draft.wires,
        "seconds": draft.seconds,
    }
    found, numbers = _map(draft.map)
    return header | found, numbers


def confirmed_payload(result: Result) -> tuple[dict[str, Any], bytes]:
    """A result of the finite elements as the page reads it, with its bands and its verdict."""
    point, accuracy = result.operating, result.accuracy
    resistance, touch, step = accuracy.estimates
    verdict = result.verdict
    rise = float(np.abs(point.voltage).max())
    names = result.solution.conductors.group_names
    judgements = () if verdict is None else verdict.judgements
    found = headline_of([result])
    header = {
        "variant": result.variant,
        "electrodes": [dict(vars(each)) for each in DraftElectrode.each(point, names=names)],
        "worst": [_worst(each) for each in DraftWorst.each(result.worst)],
        "judged": [_worst(each) for each in DraftWorst.judged(verdict)],
        "error": _number(resistance),
        "notes": [],
        # Relative of a resistance; in volts of touch and step.
        "bands": {"resistance": resistance, "touch": touch * rise, "step": step * rise},
        "verdict": {
            "judged": bool(judgements),
            "passes": found.finding == "passes",
            "words": headline_text(found, joined=": "),
            "outcomes": [
                {
                    "name": item.name,
                    "outcome": OUTCOME_WORDS[item.outcome],
                    "passes": item.outcome == "pass",
                    "why": "" if item.places else unjudged_text(item),
                }
                for item in judgements
            ],
        },
    }
    shown, numbers = _map(_map_of(result))
    return header | shown, numbers


def case_payload(case: Any, *, base: Any = None) -> dict[str, Any]:
    """A case as the page draws and edits it.

    Parameters
    ----------
    case : Case
        That is shown: the case or one of its variants, its layers known. Pictures know no
        case files, so it is taken for what it has.
    base : Case, optional
        The case as it stands, where a variant is shown: what both do not share has no place
        in the file that could be edited.

    Returns
    -------
    payload : dict
        What plan, section and column of soil draw, in metres; and ``content``, the values of
        the file by their paths, as they are written there.
    """
    conductors, content = case.conductors, case.document.content
    safety = case.safety
    layers = () if safety is None else safety.layers
    exposures = () if safety is None else safety.exposures
    soil = case.soil
    area = case.study.area
    return {
        "title": case.title,
        "units": case.units,
        "variant": case.variant,
        "north": case.north,
        "metal": {
            "start": conductors.start.tolist(),
            "end": conductors.end.tolist(),
        },
        "groups": list(conductors.group_names),
        "parts": _parts(case),
        "layers": [
            {
                "resistivity": soil.resistivity[number],
                "thickness": soil.thickness[number] if number < len(soil.thickness) else None,
            }
            for number in range(len(soil.resistivity))
        ],
        "fitted": case.survey is not None,
        "bodies": _bodies(case),
        "area": [*area.corner, *np.add(area.corner, area.size).tolist()],
        "pace": case.study.pace,
        "reach": case.study.reach,
        "touch": [
            {
                "name": item.name,
                "shape": item.shape,
                "points": np.asarray(item.points).tolist(),
            }
            for item in case.study.touchables
        ],
        "grounds": [
            {"name": g.name, "outline": np.asarray(g.outline).tolist()} for g in layers
        ],
        "people": [
            {
                "name": item.name,
                "kind": item.kind,
                "outline": None if item.outline is None else item.outline.tolist(),
            }
            for item in exposures
        ],
        "content": {key: content[key] for key in _edited if key in content},
        "fixed": [] if base is None else _unlike(content, base.document.content, ()),
        "cautions": {
            vocabulary: [
                plain(text, units=case.units, vocabulary=vocabulary)
                for text in cautions_of_case(
                    judged=bool(exposures),
                    divides=case.circuit is not None and not case.circuit.all_current_in_soil,
                    contact=any(case.contact_resistance),
                )
            ]
            for vocabulary in VOCABULARIES
        },
    }


def _bodies(case: Any) -> list[dict[str, Any]]:
    """Bodies in the soil of the area, for plan and section."""
    area = case.study.area
    high = tuple(np.add(area.corner, area.size).tolist())
    return [
        {
            **drawn,
            "of": made_of(body),
            "side": side_outline(body.shape, np.array(drawn["outline"])),
        }
        for body, drawn in drawn_in_plan(case.soil.bodies, low=area.corner, high=high)
    ]


def _unlike(one: Any, other: Any, path: tuple[str | int, ...]) -> list[list[str | int]]:
    """Paths of values that two trees do not share, as far up as all of it differs."""
    if isinstance(one, dict) and isinstance(other, dict):
        keys = [key for key in one if (not path and key in _edited) or path]
        return [
            found for key in keys for found in _unlike(one[key], other.get(key), (*path, key))
        ]
    alike = isinstance(one, list) and isinstance(other, list) and len(one) == len(other)
    if alike and one and not isinstance(one[0], str):
        pairs = enumerate(zip(one, other, strict=True))
        return [found for k, (a, b) in pairs for found in _unlike(a, b, (*path, k))]
    return [] if one == other else [list(path)]


def _parts(case: Any) -> list[dict[str, Any]]:
    """Each part with where it stands in the file; parts are built in the order of the file."""
    content = case.document.content
    blocks = content["electrodes"]
    places = [
        ("electrodes", e, "parts", p)
        for e, electrode in enumerate(blocks)
        for p in range(len(electrode.get("parts", [])))
    ]
    known = len(places) == len(case.parts)
    return [
        {
            "name": part.name,
            "kind": part.kind,
            "path": list(places[number]) if known else None,
        }
        for number, part in enumerate(case.parts)
    ]


def _worst(item: DraftWorst) -> dict[str, Any]:
    return {
        "kind": item.kind,
        "name": item.name,
        "voltage": item.voltage,
        "signed": item.signed,
        "foot": item.foot,
        "otherFoot": item.other_foot,
        "limit": item.limit,
        "share": item.share,
    }


def _number(value: float) -> float | None:
    """A number, or nothing where it is none: JSON has no such thing."""
    return value if np.isfinite(value) else None


def _map(shown: DraftMap | None) -> tuple[dict[str, Any], bytes]:
    """Header and numbers of the maps of a draft; nothing of one that waits."""
    if shown is None:
        return {"map": None, "arrays": []}, b""
    arrays = {"potential": shown.potential, "step": shown.step, "direction": shown.direction}
    layers = [_layer("potential", "potential", shown.potential)]
    for number, name in enumerate(shown.metals):
        arrays[f"touch{number}"] = shown.touch[number]
        values = np.abs(shown.touch[number])
        layers.append(_layer(f"touch{number}", "touch", values) | {"name": name})
    layers.append(_layer("step", "step", shown.step))
    for number, share in enumerate(shown.shares):
        arrays[f"share{number}"] = share.share
        arrays[f"limit{number}"] = share.permissible
        layers.append(_share_layer(f"share{number}", share))
    packed, header, offset = [], [], 0
    for name, values in arrays.items():
        numbers = np.ascontiguousarray(values, dtype="<f4")
        header.append({"name": name, "shape": list(numbers.shape), "offset": offset})
        packed.append(numbers.tobytes())
        offset += numbers.nbytes
    found = {
        "map": {
            "low": [float(shown.x[0]), float(shown.y[0])],
            "high": [float(shown.x[-1]), float(shown.y[-1])],
            "shape": [len(shown.x), len(shown.y)],
            "pace": shown.pace,
            "metals": list(shown.metals),
            "layers": layers,
        },
        "arrays": header,
    }
    return found, b"".join(packed)


def _layer(key: str, kind: str, values: Floats) -> dict[str, Any]:
    """What a map of voltages is drawn by: round levels, and colours from low to high."""
    known = values[np.isfinite(values)]
    levels = contour_levels(known, weights=np.ones(len(known))).inner if len(known) else known
    colours = colour_names(band_colours(len(levels) + 1))
    return {
        "key": key,
        "kind": kind,
        "unit": "V",
        "levels": levels.tolist(),
        "colours": colours,
    }


def _share_layer(key: str, share: DraftShare) -> dict[str, Any]:
    """The same levels and colours for every share, as on all maps."""
    return {
        "key": key,
        "kind": f"share of {share.kind}",
        "unit": "%",
        "name": share.name,
        "metal": share.metal,
        "factor": share.factor,
        "error": share.error,
        "levels": share_levels.tolist(),
        "colours": colour_names(band_colours(len(share_levels) + 1)),
    }


def _map_of(result: Result) -> DraftMap:
    """The maps of a result between its samples, on a raster."""
    surface = result.surface
    longer = float(np.subtract(result.area.high, result.area.low).max())
    raster = Raster.of(Area(result.area.low, result.area.high, longer / _raster), halved=0)
    places = raster.places(np.ones(raster.shape, dtype=bool))
    field, ground = result.field, result.field.on_ground(places)
    nearest = np.asarray(cKDTree(surface.places).query(places)[1])

    def between(values: Phasors) -> Phasors:
        found = np.asarray(LinearNDInterpolator(surface.places, values)(places))
        missing = np.isnan(found)
        found[missing] = values[nearest[missing]]
        return np.where(ground, found, np.nan)

    def shaped(values: Floats) -> Floats:
        return values.reshape(raster.shape)

    potential = between(surface.potential)
    above = field.on_side_of_rise(potential) < 0
    touch = []
    for metal in result.metals:
        apart = field.metal_voltage(metal.group, places=places) - potential
        size = np.where(field.on_side_of_rise(apart) < 0, -1.0, 1.0) * np.abs(apart)
        touch.append(shaped(np.where(metal.within_reach(places), size, np.nan)))
    x, y = raster.axes()
    numbers = {metal.name: k for k, metal in enumerate(result.metals)}
    return DraftMap(
        x=x,
        y=y,
        potential=shaped(np.where(above, -1.0, 1.0) * np.abs(potential)),
        step=shaped(np.real(between(surface.step))),
        direction=shaped(surface.step_direction[nearest]),
        metals=tuple(metal.name for metal in result.metals),
        touch=np.array(touch).reshape(len(touch), *raster.shape),
        pace=surface.pace,
        shares=tuple(
            _share_of(
                result,
                item,
                places=places,
                touch=touch[numbers[item.metals[0]]] if item.kind == "touch" else None,
                between=between,
                shape=raster.shape,
            )
            for item in (() if result.verdict is None else result.verdict.judgements)
            if item.share is not None
        ),
    )


def _share_of(
    result: Result,
    item: Judgement,
    *,
    places: Floats,
    touch: Floats | None,
    between: Callable[[Floats], Phasors],
    shape: tuple[int, int],
) -> DraftShare:
    """Share of one limit on a raster: of touch by the rule, of a step between the samples."""
    assert result.verdict is not None
    assert item.share is not None
    factor = result.verdict.growth_factor * result.verdict.decrement_factor
    permissible = item.permissible(places)
    if touch is None:
        share = np.real(between(item.share))
    else:
        share = factor * np.abs(touch).ravel() / permissible
    return DraftShare(
        name=item.name,
        kind=item.kind,
        metal="" if touch is None else item.metals[0],
        factor=factor,
        error=item.doubt,
        share=np.where(item.stands(places), share, np.nan).reshape(shape),
        permissible=permissible.reshape(shape),
    )
