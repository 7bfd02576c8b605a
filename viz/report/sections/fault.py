"""Fault circuit, protection and limits of a report."""

from collections.abc import Sequence

from ....solver.circuit import EARTH_CURRENT, SUPPLY, Circuit, Operation, operate
from ....solver.contact import behind_contact
from ....solver.limits import duration_in_words
from ....solver.protection import Answer
from ....solver.results.along_metal import along_told
from ....solver.results.result import Result
from ....solver.verdict import Verdict
from ...circuit_words import (
    branch_text,
    division_text,
    factors_text,
    path_text,
    supply_text,
    system_text,
)
from ...row_data import held_words, soil_currents
from ...verdict_words import device_sources, opens_text, span_text
from ...wording import ohms_text, phasor_text, significant, with_unit
from ...words.amounts import amperes, ohms, percent
from ...words.text import Text, say
from ..contents import Block, Bullets, Cell, Paragraph, Section, Table


def circuit_section(results: Sequence[Result]) -> Section:
    """What drives the fault and how its current divides."""
    result = results[0]
    operation = result.operation
    stated: list[Block] = []
    if result.system is not None:
        stated.append(Paragraph(f"{system_text(result.system)}."))
    if operation is None:
        rows: tuple[tuple[Cell, ...], ...] = tuple(
            (name, held_words[drive.kind], _given(drive.kind, drive.value))
            for name, drive in zip(result.group_names, result.drives, strict=True)
        )
        note = say(
            "The case has no fault circuit: what it gives to each {electrode} is taken as it "
            "is, and all of it enters this soil."
        )
        table = Table((say("{Electrode}"), "Held by", "Value"), rows)
        return Section("circuit", "Fault circuit", (*stated, Paragraph(note, "note"), table))
    circuit = operation.circuit
    title = (
        f"Fault circuit at {circuit.frequency:g} Hz (effective values of today's symmetrical "
        "current)"
    )
    blocks: list[Block] = [*stated, Paragraph(_supply(operation))]
    if circuit.paths:
        blocks.append(Bullets(tuple(map(path_text, circuit.paths))))
    blocks += [
        Paragraph(_divides(result, operation)),
        _currents(result, operation),
        Paragraph(_division(result, operation)),
        Paragraph(_factors(circuit, result.verdict)),
    ]
    if any(path.ladder is not None for path in circuit.paths):
        text = (
            "Grounds of ladders stand in {remote}; nothing is induced in a path by the line "
            "beside it."
        )
        blocks.append(Paragraph(say(text), "note"))
    return Section("circuit", title, tuple(blocks))


def _divides(result: Result, operation: Operation) -> str:
    """How the current divides; leads along the metal are paths too, said so or not."""
    circuit, told = operation.circuit, along_told(result)
    beside = told is not None and bool(told.leads) and not circuit.paths
    if beside and circuit.split_factor is None:
        return "The current divides between the soil and the leads."
    return division_text(circuit)


def _given(kind: str, value: float) -> str:
    if kind == "floating":
        return "–"
    return with_unit(value, symbol="V" if kind == "voltage" else "A")


def _supply(operation: Operation) -> Text:
    heated = "the soil" if operation.point.entering is None else "soil and metal"
    return supply_text(operation.circuit) + (
        f"; it gives {phasor_text(operation.supply_current, symbol='A')} and "
        f"{with_unit(operation.supply_power.real, symbol='W')}, of which "
        f"{with_unit(operation.point.power, symbol='W')} heat {heated}, and sees "
        f"{ohms_text(operation.driving_impedance)}."
    )


def _currents(result: Result, operation: Operation) -> Table:
    """Each current with its share of the supply's."""
    rows: list[tuple[Cell, ...]] = []
    for branch in operation.branches:
        if not branch.connected:
            rows.append((branch_text(branch), "not connected", "–", "–"))
            continue
        text = phasor_text(branch.current, symbol="A")
        if abs(branch.far_current) > 0 and branch.far_current != branch.current:
            in_ground = phasor_text(branch.current - branch.far_current, symbol="A")
            text += f" ({in_ground} of it through its grounds)"
        of_supply = _of_supply(operation.share(branch.name))
        loss = with_unit(branch.loss, symbol="W")
        rows.append((branch_text(branch), text, of_supply, loss))
    for name, into_soil, share in soil_currents(result):
        what = say("{earth current} of '{}'", name)
        rows.append((what, phasor_text(into_soil, symbol="A"), _of_supply(share), "–"))
    caption = "Out of phase, shares may add up to more than 100 %."
    return Table(("Path", "Current", "Share", "Loss"), tuple(rows), caption)


def _of_supply(share: float) -> str:
    return f"{percent(share)} of the {SUPPLY}"


def _division(result: Result, operation: Operation) -> Text:
    """Split factor and the resistance it belongs to, on both meshes."""
    struck = operation.struck
    names = " + ".join(f"'{operation.group_names[k]}'" for k in struck)
    if result.along is not None:
        return say(
            "division: {} passes {} of it into the soil (split factor); one solution gives it "
            "with the voltage along the metal, whose errors stand with that.",
            names,
            significant(operation.split_factor),
        )
    behind = behind_contact(result.coarse, result.contact_resistance)
    coarse = operate(
        operation.circuit,
        current_matrix=behind.current_matrix,
        group_names=operation.group_names,
        bonds=result.bonds,
    )
    number = operation.point.bonded_set[struck[0]]
    fine, rough = (
        ohms(float(each.point.resistance[number, number])) for each in (operation, coarse)
    )
    return say(
        "division: {} passes {} of it into the soil (split factor), with {} to {remote}; one "
        "solution gives both, the soil being part of the circuit's equations; on the coarser "
        "mesh {} with {}.",
        names,
        significant(operation.split_factor),
        fine,
        significant(coarse.split_factor),
        rough,
    )


def _factors(circuit: Circuit, verdict: Verdict | None) -> str:
    text = factors_text(circuit)
    if verdict is None:
        return text
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
    blocks: list[Block] = []
    if verdict is not None:
        lasts = span_text(verdict.shortest, verdict.longest)
        words = verdict.duration_words
        text = f"Duration of the fault: {lasts}; {words}. The longest time decides."
        blocks.append(Paragraph(text))
    devices = [_device(answer) for answer in clearing.answers]
    header = ("Devices, at today's symmetrical current: more never makes them slower",)
    tones = tuple(tone for _, tone in devices)
    blocks.append(Table(header, tuple((text,) for text, _ in devices), tones=tones))
    if clearing.without_main is not None:
        text = f"should the main devices fail: {opens_text(clearing.without_main)}"
        blocks.append(Paragraph(text, "note"))
    sources = Bullets(tuple(device_sources(result)))
    return Section("protection", title, (*blocks, sources))


def _device(answer: Answer) -> tuple[Text, str]:
    """What one device sees, whether it opens and how that is known, and its tone."""
    sees = _measured(answer.measures) + f" {amperes(answer.current)}"
    opens = opens_text(answer.trip)
    remark = f"; {answer.remark}" if answer.remark else ""
    if not answer.fitted:
        text = say("{}: NOT FITTED; would see {}: {}{}", answer.name, sees, opens, remark)
        return text, ""
    sure = answer.trip.certainty == "certainly"
    backup = " [backup]" if answer.backup else ""
    values = ("✓" if sure else "✕", answer.name, sees, opens, answer.trip.words)
    text = say("{} {} ({}): {}; {}{}{}", *values, backup, remark)
    return text, "pass" if sure and answer.keeps_rule else "fail"


def _measured(name: str) -> Text:
    """What a device looks at: the supply, a path, or the current of an electrode."""
    if name.startswith(EARTH_CURRENT):
        return say("{earth current} of {}", name.removeprefix(EARTH_CURRENT))
    return say("{}", name)
