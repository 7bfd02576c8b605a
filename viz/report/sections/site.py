"""Site and soil of a report: what lies where, and how well the layers are known."""

from collections.abc import Sequence
from itertools import accumulate

import numpy as np

from ....solver.results.result import Result
from ....solver.soil_survey import SoilModel, Sounding
from ...row_data import part_share
from ...soil_survey.from_sounding import layers_text, misfit_text
from ...words.amounts import length, length_range, percent, resistivity, thin_range
from ...words.text import Text, in_units, say
from ..contents import Block, Bullets, Cell, Paragraph, Section, Table
from ..pictures import layout_picture, sounding_pictures

_kinds = {
    "polygon": "anywhere inside an outline",
    "body": "a solid thing; people stand outside",
    "line": "along a line",
    "points": "at points",
}


def site_section(results: Sequence[Result]) -> Section:
    """Plan of the site, tables of the metal in the soil and of that which can be touched."""
    result = results[0]
    blocks: list[Block] = [layout_picture(result), _parts(result)]
    if result.metals:
        rows: tuple[tuple[Cell, ...], ...] = tuple(
            (item.name, result.group_names[item.group], _kinds[item.kind], length(item.reach))
            for item in result.metals
        )
        header = ("Metal that can be touched", "At the potential of", "Stands", "Reach")
        blocks.append(Table(header, rows))
    return Section("site", "Site and layout", tuple(blocks))


def _parts(result: Result) -> Table:
    metal = result.solution.conductors
    rows: list[tuple[Cell, ...]] = []
    for number, name in enumerate(metal.part_names):
        mine = metal.part == number
        if not mine.any():
            continue
        group = int(metal.group[mine][0])
        depths = -np.concatenate([metal.start[mine, 2], metal.end[mine, 2]])
        radius = metal.radius[mine]
        share = part_share(result, number)
        rows.append(
            (
                result.group_names[group],
                name,
                f"{int(mine.sum())}",
                length(float(metal.length[mine].sum())),
                thin_range(2 * float(radius.min()), 2 * float(radius.max())),
                length_range(float(depths.min()), float(depths.max())),
                _skin(result, mine),
                "–" if np.isnan(share) else percent(share),
            )
        )
    header = (say("{Electrode}"), "Part", "Straight pieces", "Length", "Diameter", "Depth")
    return Table((*header, "Round the metal", "Share of its current"), tuple(rows))


def _skin(result: Result, mine: np.ndarray) -> Cell:
    """Film, backfill or coating of a part."""
    metal = result.solution.conductors
    found: list[Text | str] = []
    outer = metal.sheath_radius[mine]
    if (outer > metal.radius[mine]).any():
        rho = metal.sheath_resistivity[mine]
        size = thin_range(2 * float(outer.min()), 2 * float(outer.max()))
        found.append(say("{} across of {}", size, resistivity(float(rho.max()))))
    if (metal.contact[mine] > 0).any():
        found.append(f"film of {metal.contact[mine].max():.3g} Ω·m²")
    if not found:
        return "soil"
    return say("{}; {}", *found) if len(found) > 1 else found[0]


def soil_section(results: Sequence[Result]) -> Section:
    """The layers, the survey behind them, and the soils of the variants."""
    result = results[0]
    sounding = result.sounding
    blocks: list[Block] = []
    if sounding is None:
        blocks.append(_layers(result, None))
        blocks.append(
            Paragraph(
                "The layers were given in the case, not fitted to readings: how far they "
                "can be "
                "trusted is not known here. Carry their range as variants.",
                "note",
            )
        )
    else:
        blocks.append(Paragraph(_source(sounding)))
        blocks.append(_layers(result, sounding.chosen))
        blocks += sounding_pictures(result, sounding)
        if sounding.warnings:
            blocks.append(Bullets(tuple(sounding.warnings)))
    others = _other_soils(results)
    if others is not None:
        blocks.append(others)
    return Section("soil", "Soil survey and model", tuple(blocks))


def _source(sounding: Sounding) -> Text:
    survey, chosen = sounding.survey, sounding.chosen
    spacing = survey.spacing
    source = f" of {sounding.file}" if sounding.file else ""
    choice = "asked for" if sounding.asked else "as many as the readings support"
    return say(
        "{} readings on {} traverses{}, spacing {}: {} ({}), misfit {}. Do not go by the model "
        "below the depth that the survey reached, about its longest spacing.",
        len(survey),
        len(survey.traverses),
        source,
        length_range(float(spacing.min()), float(spacing.max())),
        layers_text(chosen.layers),
        choice,
        misfit_text(chosen),
    )


def _layers(result: Result, model: SoilModel | None) -> Table:
    soil = result.solution.soil
    tops = [0.0, *accumulate(soil.thickness)]
    rows: list[tuple[Cell, ...]] = []
    for number, rho in enumerate(soil.resistivity):
        last = number == len(soil.thickness)
        to: Cell = "without end" if last else length(tops[number + 1])
        row: list[Cell] = [str(number + 1), length(tops[number]) if number else "surface", to]
        row.append(resistivity(rho))
        if model is not None:
            row += _ranges(model, number, last=last)
        rows.append(tuple(row))
    header = ("Layer", "From", "To", "Resistivity")
    if model is None:
        return Table(header, tuple(rows), say("Soil model. {}", _resistivity_unit()))
    header_ranges = ("Range of resistivity", "Range of its lower plane", "Resolved")
    caption = say(
        "Soil model; ranges hold all models that fit the readings as well (95 %). {}",
        _resistivity_unit(),
    )
    return Table((*header, *header_ranges), tuple(rows), caption)


def _resistivity_unit() -> Text:
    """What readers in feet need to know of ohm-metres."""
    return in_units(
        lambda units: (
            ""
            if units == "SI"
            else "Resistivity is in Ω·m, as IEEE Std 80 and 81 have it (from memory): 1 Ω·m is "
            "100 Ω·cm or 3.28 Ω·ft."
        )
    )


def _ranges(model: SoilModel, number: int, *, last: bool) -> list[Cell]:
    low, high = (resistivity(float(value)) for value in model.resistivity_envelope[number])
    cells: list[Cell] = [f"{low.removesuffix(' Ω·m')} to {high}"]
    resolved = bool(model.resistivity_resolved[number])
    if last:
        cells.append("–")
    else:
        top, bottom = (float(value) for value in model.depth_envelope[number])
        cells.append(length_range(top, bottom))
        resolved = resolved and bool(model.thickness_resolved[number])
    cells.append("yes" if resolved else "NOT by these readings")
    return cells


def _other_soils(results: Sequence[Result]) -> Table | None:
    base = results[0].solution.soil
    rows: list[tuple[Cell, ...]] = []
    for result in results[1:]:
        soil = result.solution.soil
        if soil == base:
            continue
        text = Text(())
        for rho, thickness in zip(soil.resistivity[:-1], soil.thickness, strict=True):
            text = text + say("{}, {} thick, over ", resistivity(rho), length(thickness))
        rows.append((result.variant, text + resistivity(soil.resistivity[-1])))
    if not rows:
        return None
    return Table(("Variant", "Its soil, from the surface down"), tuple(rows))
