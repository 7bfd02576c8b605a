"""Fault circuit, protection and limits of a report."""

from collections.abc import Sequence

from ....solver.circuit import (
    EARTH_CURRENT,
    OTHER_PATHS,
    Circuit,
    Operation,
)
from ....solver.limits import duration_in_words
from ....solver.protection import Trip
from ....solver.results.result import Result
from ....solver.verdict import Verdict
from ...circuit_words import impedance_text, node_text, source_text
from ...row_data import soil_currents
from ...verdict_words import opens_text, span_text
from ...wording import ohms_text, phasor_text, significant, with_unit
from ...words.amounts import amperes, ohms, percent
from ...words.text import Text, say
from ..contents import Block, Cell, Paragraph, Section, Table

_held = {"voltage": "voltage given", "current": "current given", "floating": "floating"}


def circuit_section(results: Sequence[Result]) -> Section:
    """What drives the fault and how its current divides."""
    result = results[0]
    operation = result.operation
    title = "Fault circuit and division of the current"
    if operation is None:
        rows: tuple[tuple[Cell, ...], ...] = tuple(
            (name, _held.get(drive.kind, drive.kind), _given(drive.kind, drive.value))
            for name, drive in zip(result.group_names, result.drives, strict=True)
        )
        note = say(
            "The case has no fault circuit: what it gives to each {electrode} is taken as it "
            "is, and all of it enters this soil."
        )
        table = Table((say("{Electrode}"), "Held by", "Value"), rows)
        return Section("circuit", title, (Paragraph(note, "note"), table))
    circuit = operation.circuit
    blocks: list[Block] = [
        Paragraph(_supply(operation)),
        _branches(result, operation),
        Paragraph(_division(operation)),
        Paragraph(_factors(circuit, result.verdict)),
    ]
    return Section("circuit", title, tuple(blocks))


def _given(kind: str, value: float) -> str:
    if kind == "floating":
        return "–"
    return with_unit(value, symbol="V" if kind == "voltage" else "A")


def _supply(operation: Operation) -> Text:
    supply = operation.circuit.supply
    return say(
        "At {} Hz the supply gives {} to {}, returning at {}: {}, {} of active power, into a "
        "driving impedance of {}. Effective values of today's symmetrical current.",
        f"{operation.circuit.frequency:g}",
        source_text(supply),
        node_text(supply.to),
        node_text(supply.returns_at),
        phasor_text(operation.supply_current, symbol="A"),
        with_unit(operation.supply_power.real, symbol="W"),
        ohms_text(operation.driving_impedance),
    )


def _branches(result: Result, operation: Operation) -> Table:
    paths = {path.name: path for path in operation.circuit.paths}
    rows: list[tuple[Cell, ...]] = []
    for branch in operation.branches:
        path = paths.get(branch.name)
        what: Cell = "by the factor given"
        if path is not None:
            what = impedance_text(path)
        name: Cell = branch.name
        if branch.name != OTHER_PATHS:
            ends = (node_text(end) for end in branch.between)
            name = say("{}: {} to {}", branch.name, *ends)
        if not branch.connected:
            rows.append((name, what, "NOT CONNECTED", "–"))
            continue
        current = phasor_text(branch.current, symbol="A")
        rows.append((name, what, current, percent(operation.share(branch.name))))
    for name, into_soil, share in soil_currents(result):
        into = say("into the soil from '{}'", name)
        rows.append((into, "soil", phasor_text(into_soil, symbol="A"), percent(share)))
    caption = (
        "Shares are of the supply's current; out of phase, they may add up to more than 100 %."
    )
    return Table(("Path", "Impedance", "Current", "Share"), tuple(rows), caption)


def _division(operation: Operation) -> Text:
    circuit = operation.circuit
    struck = operation.struck
    names = " + ".join(f"'{operation.group_names[k]}'" for k in struck)
    row = operation.point.bonded_set[struck[0]]
    if circuit.split_factor is not None:
        how = "as the case gives it"
    elif circuit.paths:
        how = "found in one solution with the resistance, the soil being part of the circuit"
    elif circuit.all_current_in_soil:
        how = "the case says that all of it enters the soil"
    else:
        how = "no path beside the soil is given"
    return say(
        "{Split} {} ({}): that share of the fault current enters the soil as {current} from "
        "{}, which has {} to {remote}.",
        significant(operation.split_factor),
        how,
        names,
        ohms(float(operation.point.resistance[row, row])),
    )


def _factors(circuit: Circuit, verdict: Verdict | None) -> Text:
    ratio = "not given" if circuit.x_over_r is None else f"{circuit.x_over_r:g}"
    text = say("Growth factor {}, X/R {}.", f"{circuit.growth_factor:g}", ratio)
    if verdict is None:
        return text + " Neither is in the values of this report."
    return text + (
        f" The verdict multiplies all voltages by growth {verdict.growth_factor:.3g} and "
        f"decrement {verdict.decrement_factor:.3g}; maps of potential, touch and step are at "
        "today's symmetrical current."
    )


def protection_section(results: Sequence[Result]) -> Section:
    """What clears the fault and how long it lasts."""
    result = results[0]
    title = say("Protection and {clearing}")
    clearing, verdict = result.clearing, result.verdict
    if clearing is None:
        if verdict is None:
            text = "The case gives neither protective devices nor a duration."
        else:
            lasts = duration_in_words(verdict.longest)
            text = (
                f"Duration of the fault: {lasts}, {verdict.duration_words}; no device modelled."
            )
        return Section("protection", title, (Paragraph(text),))
    rows: list[tuple[Cell, ...]] = []
    tones: list[str] = []
    for answer in clearing.answers:
        role = "backup" if answer.backup else "main"
        if not answer.fitted:
            role = "NOT FITTED"
        trip = answer.trip
        sees = say("{}: {}", _measured(answer.measures), amperes(answer.current))
        words = trip.words + (f"; {answer.remark}" if answer.remark else "")
        rows.append((answer.name, role, sees, _answer(trip), words))
        sure = trip.certainty == "certainly"
        good = sure and answer.keeps_rule
        tones.append("" if not answer.fitted else "pass" if good else "fail")
    together = f"All devices together: {_answer(clearing.trip)} ({clearing.trip.words})."
    if verdict is not None:
        lasts = span_text(verdict.shortest, verdict.longest)
        words = verdict.duration_words
        together = f"Duration of the fault: {lasts}; {words}. The longest time decides."
    blocks: list[Block] = [Paragraph(together)]
    header = ("Device", "Role", "Sees", "Opens", "How it is known")
    caption = "Devices are asked at today's symmetrical current: more never makes them slower."
    blocks.append(Table(header, tuple(rows), caption, tuple(tones)))
    if clearing.without_main is not None:
        text = (
            f"Should the main devices fail, the backup alone: {_answer(clearing.without_main)}."
        )
        blocks.append(Paragraph(text, "note"))
    return Section("protection", title, tuple(blocks))


def _measured(name: str) -> Text:
    """What a device looks at: the supply, a path, or the current of an electrode."""
    if name.startswith(EARTH_CURRENT):
        return say("{earth current} of {}", name.removeprefix(EARTH_CURRENT))
    return say("{}", name)


def _answer(trip: Trip) -> str:
    return f"{'✓' if trip.certainty == 'certainly' else '✕'} {opens_text(trip)}"
