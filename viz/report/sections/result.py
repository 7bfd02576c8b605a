"""What a report shows of a result: resistance and rise, maps, scene, profiles, worst places."""

from collections.abc import Sequence

import numpy as np

from ....solver.results.result import Result
from ....solver.results.variants import Comparison, comparison
from ...plates import has_plates, shown_lines
from ...row_data import ElectrodeRow, electrode_rows
from ...variants import quantity_text
from ...verdict_words import WORST_TITLE, between, worst_texts
from ...wording import between_samples, ohms_text, phasor_text, share_text
from ...words.amounts import (
    amperes_per_length,
    length,
    ohms,
    small_percent,
    volts,
)
from ...words.text import say
from ..contents import Block, Bullets, Cell, Live, Paragraph, Section, Table
from ..pictures import comparison_picture, profile_picture, section_picture
from .verdict import judged_factor, outcome_words

_most = 10


def resistance_section(results: Sequence[Result]) -> Section:
    """Resistance, rise and current of each electrode."""
    result = results[0]
    error = result.accuracy.estimates[0]
    given = any(result.contact_resistance)
    rows: list[tuple[Cell, ...]] = [
        (
            f"{row.name} ({row.held})",
            ohms(row.resistance, error * row.resistance),
            *[_contact(row)] * given,
            phasor_text(row.voltage, symbol="V"),
            phasor_text(row.current, symbol="A"),
            ", ".join(row.bonded) or "–",
        )
        for row in electrode_rows(result)
    ]
    caption = say(
        "Voltages and resistances are to {remote}, which is 0 V. A resistance is that of the "
        "electrode and all bonded to it, with no net current in the others; ± is the numerical "
        "error of {}.",
        small_percent(error),
    )
    if result.along is not None:
        caption += (
            " Metal has a voltage along it: resistances are of each with all its metal at one "
            "potential and without leads, rises the largest of its metal."
        )
    factor = judged_factor(result)
    if factor != 1:
        caption += say(
            " Largest {rise} {}; as judged, with growth and decrement (× {}), {}.",
            volts(result.rise),
            f"{factor:.3g}",
            volts(factor * result.rise),
        )
    contact: list[Cell] = ["Of it contact in series, and over it"] * given
    header = (say("{Electrode}"), say("{Resistance}"), *contact, say("{Rise}"))
    table = Table((*header, "Current into the soil", "Bonded to"), tuple(rows), caption)
    blocks: list[Block] = [table]
    if len(results) > 1:
        compared = comparison(results)
        blocks.append(comparison_picture(compared))
        blocks.append(variants_table(compared))
    return Section("resistance", say("{Resistance} and {rise}"), tuple(blocks))


def _contact(row: ElectrodeRow) -> str:
    """Contact resistance of an electrode and the voltage over it."""
    if row.contact == 0:
        return "–"
    return f"{ohms_text(row.contact)}, {phasor_text(row.over_contact, symbol='V')}"


def variants_table(compared: Comparison) -> Table:
    """The case and its variants, the worst of each quantity marked."""
    rows: list[tuple[Cell, ...]] = []
    for number, name in enumerate(compared.names):
        cells = [name]
        for quantity in compared.quantities:
            mark = " *" if number == quantity.worst else ""
            cells.append(quantity_text(quantity, number) + mark)
        rows.append(tuple(cells))
    quantities = (quantity.name for quantity in compared.quantities)
    return Table(("Variants side by side (* the worst)", *quantities), tuple(rows))


def maps_section(results: Sequence[Result]) -> Section:
    """Maps with a read-out."""
    result = results[0]
    caption = say(
        "Voltages of the soil surface. Point at the map, touch it, or focus it and use the "
        "arrow keys: the box beside it gives the place, the potential to {remote}, touch and "
        "step voltage with their limit and margin. Values are shown to three figures. {} Lines "
        "part the colour bands at round values; where the map shows a share of a limit, "
        "hatching marks what is above it. Feet are {} apart in a step.",
        between_samples,
        length(result.surface.pace),
    )
    return Section("maps", "Maps", (Live("map", caption),))


def scene_section(results: Sequence[Result]) -> Section:
    """The soil with the metal in it, to turn."""
    caption = say(
        "Soil layers with the metal in them, the wider and darker the more current per length "
        "leaks from it. On top the surface potential, in the colours of the map. Drag to turn, "
        "wheel or pinch to come nearer, or use the arrow keys."
    )
    result = results[0]
    most = amperes_per_length(float(np.abs(shown_lines(result).leakage).max()))
    text = say("The largest leakage current per length is {}.", most)
    if has_plates(result):
        text = say("{} Plates are hatched; theirs is per length of their outline.", text)
    return Section(
        "scene",
        "The electrode in its soil",
        (Live("scene", caption), section_picture(result), Paragraph(text)),
    )


def profiles_section(results: Sequence[Result]) -> Section | None:
    """Potential and voltages along the user's lines; None where there are none."""
    result = results[0]
    if not result.profiles:
        return None
    blocks: list[Block] = [profile_picture(result, profile) for profile in result.profiles]
    return Section("profiles", "Profiles", tuple(blocks))


def worst_section(results: Sequence[Result]) -> Section:
    """The ten worst places over all exposures, or the worst voltages where none is judged."""
    result = results[0]
    if result.verdict is None or not result.verdict.judgements:
        texts = tuple(worst_texts(result))
        return Section("worst", WORST_TITLE, (Bullets(texts),))
    found = [
        (place_.share, item, place_)
        for item in result.verdict.judgements
        for place_ in item.places
    ]
    found.sort(key=lambda entry: -entry[0])
    rows: list[tuple[Cell, ...]] = []
    tones = []
    for rank, (share, item, worst) in enumerate(found[:_most], start=1):
        limit = worst.limit.voltage
        safe = worst.voltage + item.doubt <= limit
        tones.append("pass" if safe else "fail")
        margin = limit - worst.voltage
        rows.append(
            (
                str(rank),
                item.name,
                between(worst, item) + _more(worst.alike),
                volts(worst.voltage, item.error),
                volts(limit),
                volts(margin),
                share_text(share) + ("" if safe else " ✕"),
            )
        )
    header = ("", "Exposure", "Place", "Voltage", say("{Permissible}"), "Margin", "Share")
    caption = (
        "Worst first, by share of the limit; growth and decrement included. ✕ does not pass. "
        "Places of one exposure stand a reach or a pace apart; those as far from metal with as "
        "large a share, to half a percent, are told once."
    )
    blocks: list[Block] = [Table(header, tuple(rows), caption, tuple(tones))]
    missed = [item.name for item in result.verdict.judgements if not item.places]
    if missed:
        text = f"{outcome_words['not evaluated']}: {', '.join(missed)}."
        blocks.append(Paragraph(text, "fail"))
    return Section("worst", "Ten worst places", tuple(blocks))


def _more(alike: int) -> str:
    """How many more places are like one."""
    return f"; and {alike} more alike" if alike else ""
