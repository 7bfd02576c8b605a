"""Voltage along the metal: ports, rises, leads, places and coatings."""

from collections.abc import Sequence

from ....solver.results.along_metal import AlongTold, along_told
from ....solver.results.result import Result
from ....solver.wording import number_text
from ...along_words import frequency_words, impedance_text, spot_text
from ...wording import phasor_text
from ...words.amounts import percent, small_percent, volts
from ...words.text import say
from ..contents import Block, Paragraph, Section, Table
from ..pictures import along_picture

# Of the potential: what is told of it, and what is a warning.
_told_from, _warned_from = 0.005, 0.05
_warned_apart = 0.01  # of an impedance, by what metal does not induce


def along_section(results: Sequence[Result]) -> Section | None:
    """Voltage and current along metal; None where each electrode is at one potential."""
    result = results[0]
    told = along_told(result)
    if told is None:
        return None
    blocks: list[Block] = [
        Paragraph(
            f"Worked out {frequency_words(told)}, together with the soil: resistance and "
            "inductance of the metal, what its currents induce in each other, and their return "
            "through the soil. All phasors are turned so that the largest rise is real."
        ),
        _ports(told),
        _rises(told),
    ]
    blocks += [_leads(told)] if told.leads else []
    blocks += [_places(told)] if told.places else []
    blocks += [_coats(told)] if told.coats else []
    blocks.append(along_picture(result, told=told))
    blocks += [*_beyond(result), *_way_back(result), *_apart(result)]
    text = (
        "An interference study asks for more than this: the routes of all lines that induce, "
        "the currents in them, devices that limit voltages, and the owners of what is touched."
    )
    blocks.append(Paragraph(text, "note"))
    return Section("along-metal", "Voltage along the metal", tuple(blocks))


def _beyond(result: Result) -> list[Block]:
    """Where the potential of the soil is not that of alternating current."""
    if result.along is None or result.along.quasi_static.potential < _told_from:
        return []
    share = result.along.quasi_static.potential
    text = (
        "Potentials of the soil are those of direct current. In these layers, at the distance "
        "of the size of the metal, those of this frequency differ by about "
        f"{small_percent(share)}: that moves rises and what is carried far, and hardly touch, "
        "step and drops."
    )
    return [Paragraph(text, "warning" if share > _warned_from else "note")]


def _way_back(result: Result) -> list[Block]:
    """What bodies would change of the return of alternating current."""
    if (
        result.along is None
        or not result.along.soil.bodies
        or not result.along.wiring.frequency
    ):
        return []
    text = (
        "Alternating current is taken to return through the layers, as if there were no bodies "
        "in them. A body as large as the metal with ten times more or less resistivity changes "
        "the inductance by about a tenth."
    )
    return [Paragraph(text, "note")]


def _apart(result: Result) -> list[Block]:
    """Metal that induces nothing in other metal, where there is too much of it."""
    apart = None if result.along is None else result.along.apart
    if apart is None:
        return []
    text = (
        f"{number_text(apart.runs, 'length')} of {apart.of:,} that the metal is taken in, the "
        "upright and the shorter ones, act on themselves alone: there are too many to take "
        "together. With what they would induce, the impedance of a place fed would change by "
        f"about {small_percent(apart.share)}."
    )
    return [Paragraph(text, "warning" if apart.share > _warned_apart else "note")]


def _ports(told: AlongTold) -> Table:
    rows = tuple(
        (
            row.name,
            phasor_text(row.current, symbol="A"),
            phasor_text(row.voltage, symbol="V"),
            impedance_text(row.impedance),
        )
        for row in told.ports
    )
    caption = say(
        "Current into the metal there, voltage to {remote}, and impedance to {remote} with no "
        "current into the other places."
    )
    return Table(("Place fed", "Current", say("{Rise}"), "Impedance"), rows, caption)


def _rises(told: AlongTold) -> Table:
    rows = tuple(
        (
            row.name,
            phasor_text(row.highest, symbol="V"),
            spot_text(row.highest_at),
            phasor_text(row.lowest, symbol="V"),
            spot_text(row.lowest_at),
        )
        for row in told.rises
    )
    header = (say("{Electrode}"), "Largest", "at", "Smallest", "at")
    caption = say("{Rise} of the metal of each {electrode} where it is largest and smallest.")
    return Table(header, rows, caption)


def _leads(told: AlongTold) -> Table:
    largest = max(abs(row.current) for row in told.ports)
    rows = tuple(
        (
            row.name,
            phasor_text(row.current, symbol="A"),
            percent(abs(row.current) / largest),
            phasor_text(row.voltage, symbol="V"),
        )
        for row in told.leads
    )
    caption = (
        "From its first end to its second. Share: of the largest current that enters the "
        "metal; out of phase, shares may add up to more than 100 %. Between the ends: of their "
        "voltages to remote earth; a meter on leads beside it reads less or more, by what is "
        "induced in those."
    )
    return Table(("Lead or joint", "Current", "Share", "Between its ends"), rows, caption)


def _places(told: AlongTold) -> Table:
    rows = tuple((row.name, phasor_text(row.voltage, symbol="V")) for row in told.places)
    caption = say("Voltage to {remote} that is carried to each named place.")
    return Table(("Place", say("{Rise}")), rows, caption)


def _coats(told: AlongTold) -> Table:
    rows = tuple((row.part, volts(row.voltage), spot_text(row.at)) for row in told.coats)
    caption = "Between the metal and the soil outside its film, coating or fill, at its worst."
    return Table(("Covered metal", "Over its cover", "at"), rows, caption)
