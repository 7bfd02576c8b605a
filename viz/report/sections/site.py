"""Site and soil of a report: what lies where, and how well the layers are known."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import accumulate

import numpy as np

from ....solver.model import Soil
from ....solver.patches import areas
from ....solver.results.result import Result
from ....solver.soil_survey import Sounding
from ....solver.wording import layers_text, number_text
from ...row_data import part_share
from ...soil_survey.from_sounding import misfit_text
from ...soil_survey.text import choice_text, layer_texts
from ...wording import area_text
from ...words.amounts import length, length_range, percent, resistivity, strip_size, thin_range
from ...words.bodies import bodies_in_short, depths, made_of, plan_of
from ...words.layers import made_of_layer
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
    strips = {name: size for name, *size in result.strips}
    rows: list[tuple[Cell, ...]] = []
    for number, name in enumerate(metal.part_names):
        mine = metal.part == number
        if not mine.any():
            continue
        group = int(metal.group[mine][0])
        depths = -np.concatenate([metal.start[mine, 2], metal.end[mine, 2]])
        share = part_share(result, number)
        rows.append(
            (
                result.group_names[group],
                name,
                *_size(result, mine, strips.get(name)),
                length_range(float(depths.min()), float(depths.max())),
                _skin(result, mine),
                "–" if np.isnan(share) else percent(share),
            )
        )
    header = (
        say("{Electrode}"),
        "Part",
        "Straight pieces",
        "Length, area of plates" if metal.flat.any() else "Length",
        "Diameter or strip",
        "Depth",
    )
    return Table((*header, "Round the metal", "Share of its current"), tuple(rows))


def _size(result: Result, mine: np.ndarray, strip: list[float] | None) -> tuple[Cell, ...]:
    """Number of pieces of a part, their length, how thick they are; of plates their area."""
    metal = result.solution.conductors
    if metal.flat[mine].any() and metal.plate is not None and metal.corners is not None:
        side = float(areas(metal.corners[mine]).sum())
        text = in_units(lambda units: f"{area_text(side, units)} on one side")
        return "–", text, number_text(len(np.unique(metal.plate[mine])), "plate")
    radius = metal.radius[mine]
    return (
        f"{int(mine.sum())}",
        length(float(metal.length[mine].sum())),
        thin_range(2 * float(radius.min()), 2 * float(radius.max()))
        if strip is None
        else strip_size(*strip),
    )


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
    others = [item for item in (_other_soils(results),) if item is not None]
    if result.sounding is None:
        note = Paragraph(
            "The layers were given in the case, not fitted to readings: how far they can be "
            "trusted is not known here. Carry their range as variants.",
            "note",
        )
        layers = _layers(result.solution.soil)
        bodies = _bodies(result.solution.soil)
        bedded = _bedded(result.solution.soil)
        return Section("soil", "Soil model", (layers, note, *bedded, *bodies, *others))
    fitted = fitted_soil(result.sounding)
    pictures = sounding_pictures(result, result.sounding)
    bodies = _bodies(result.solution.soil, fitted=True)
    return replace(fitted, blocks=(*fitted.blocks, *pictures, *bodies, *others))


def fitted_soil(sounding: Sounding) -> Section:
    """Where the layers of a survey come from, their ranges, what to mind."""
    ranges = say("In brackets what fits the readings as well (95 %). {}", _resistivity_unit())
    layers = Bullets(tuple(layer_texts(sounding.chosen)))
    blocks: list[Block] = [Paragraph(_source(sounding)), Paragraph(ranges, "note"), layers]
    if sounding.equivalents:
        count = number_text(len(sounding.equivalents), "model")
        text = f"{count} that fit as well solved beside it, as variants."
        blocks.append(Paragraph(text))
    blocks += [Paragraph(text, "warning") for text in sounding.warnings]
    return Section("soil", "Soil, fitted to a survey", tuple(blocks))


def _source(sounding: Sounding) -> Text:
    survey, chosen = sounding.survey, sounding.chosen
    spacing = survey.spacing
    return say(
        "{} on {}{}: {} ({}), misfit {}, spacing {}. Do not go by the model below the depth "
        "that the survey reached, about its longest spacing.",
        number_text(len(survey), "reading"),
        number_text(len(survey.traverses), "traverse"),
        f" of {sounding.file}" if sounding.file else "",
        layers_text(chosen.layers),
        choice_text(sounding),
        misfit_text(chosen),
        length_range(float(spacing.min()), float(spacing.max())),
    )


def _layers(soil: Soil) -> Table:
    tops = [0.0, *accumulate(soil.thickness)]
    rows: list[tuple[Cell, ...]] = []
    for number in range(len(soil.resistivity)):
        last = number == len(soil.thickness)
        to: Cell = "without end" if last else length(tops[number + 1])
        top = length(tops[number]) if number else "surface"
        rows.append((str(number + 1), top, to, made_of_layer(soil, number)))
    header = ("Layer", "From", "To", "Resistivity")
    return Table(header, tuple(rows), say("Soil model. {}", _resistivity_unit()))


def _bedded(soil: Soil) -> tuple[Block, ...]:
    """What to know of layers with a vertical resistivity of their own."""
    if soil.isotropic:
        return ()
    text = (
        "Vertical resistivities are followed in full: depths were stretched, layer by layer, "
        "by the root of vertical over horizontal resistivity, which makes even soil of it, and "
        "all that is shown is where it really is. No survey at the surface can tell them from "
        "even soil, so they rest on cores, logs or what is known of the beds: carry their "
        "range, and even soil of the root of both multiplied, as variants."
    )
    return (Paragraph(text, "note"),)


def _bodies(soil: Soil, *, fitted: bool = False) -> tuple[Block, ...]:
    """What in the soil is not layers."""
    if not soil.bodies:
        return ()
    rows: list[tuple[Cell, ...]] = [
        (body.name, made_of(body), depths(body), plan_of(body), body.within or "–")
        for body in soil.bodies
    ]
    header = ("Body", "Made of", "Depth", "Place, seen from above", "Within")
    text = "The bodies were given in the case: carry their range as variants."
    if fitted:
        text += (
            " The layers were fitted as if the bodies were not there: leave readings near them "
            "out of the survey."
        )
    return (Table(header, tuple(rows), "Bodies in the soil."), Paragraph(text, "note"))


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


def _other_soils(results: Sequence[Result]) -> Table | None:
    base = results[0].solution.soil
    rows: list[tuple[Cell, ...]] = []
    for result in results[1:]:
        soil = result.solution.soil
        if soil == base:
            continue
        text = Text(())
        for number, thickness in enumerate(soil.thickness):
            layer = made_of_layer(soil, number)
            text = text + say("{}, {} thick, over ", layer, length(thickness))
        words = text + made_of_layer(soil, len(soil.thickness)) + bodies_in_short(soil)
        rows.append((result.variant, words))
    if not rows:
        return None
    return Table(("Variant", "Its soil, from the surface down"), tuple(rows))
