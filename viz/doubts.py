"""The words against what cannot be: a slip in a current, a resistivity, a size or a contact."""

from collections.abc import Sequence

import numpy as np

from ..solver.circuit import Circuit
from ..solver.drives import Drive, System
from ..solver.model import Conductors, Floats, Integers, Phasors, Soil
from ..solver.results import plausible
from ..solver.results.result import Result
from .one_potential_words import uneven_texts
from .wording import significant, with_unit
from .words.underfoot import better_underfoot

_few_radii = 10.0
_look = "the size of the metal and the soil"


def doubt_texts(results: Sequence[Result]) -> list[str]:
    """What of results cannot be, or hardly, by their soil, system and metal."""
    found = []
    for result in results:
        of = f" of variant '{result.variant}'" if result.variant else ""
        circuit = None if result.operation is None else result.operation.circuit
        system = plausible.driving_system(result.system, circuit=circuit)
        metal = result.solution.conductors
        shares = plausible.contact_shares(
            metal, soil=result.solution.soil, contact_resistance=result.contact_resistance
        )
        found += [
            *_fields(plausible.field_at_metal(result), metal.group_names, of, "would stand"),
            *_rise(result.rise, system, f"a rise{of} of"),
            *_fault_current(plausible.fault_current(result), system, of),
            *_melting(metal, _together(result.operating.current, result.operating.bonded_set)),
            *_contacts(shares, metal.group_names, of),
            *_near_faces(metal, result.solution.soil, of),
            *(f"DOUBTFUL{of}: {text}" for text in better_underfoot(result)),
        ]
    return list(dict.fromkeys([*found, *uneven_texts(results)]))


def doubts_before(
    conductors: Conductors,
    *,
    soil: Soil,
    drives: Sequence[Drive],
    bonds: Sequence[tuple[int, int]],
    circuit: Circuit | None,
    system: System | None,
    contact_resistance: Sequence[float],
) -> list[str]:
    """What of a case cannot be, or hardly, whatever solving it gives."""
    bounds = plausible.bounds_of(
        conductors, soil=soil, drives=drives, bonds=bonds, circuit=circuit
    )
    known = plausible.driving_system(system, circuit=circuit)
    names = conductors.group_names
    supply = None if circuit is None else circuit.supply
    driven = [item.value for item in drives if item.kind == "voltage"]
    driven += [supply.voltage] if supply is not None and supply.voltage is not None else []
    current = sum(max(item.value, 0.0) for item in drives if item.kind == "current")
    current += (supply.current or 0.0) if supply is not None else 0.0
    shares = plausible.contact_shares(
        conductors, soil=soil, contact_resistance=contact_resistance
    )
    return [
        *_fields(bounds.field, names, "", "would stand at the least"),
        *_rise(max(map(abs, driven), default=0.0), known, "a given voltage of"),
        *_rise(bounds.rise, known, "a rise, at the least, of"),
        *_fault_current(current, known, ""),
        *_melting(conductors, bounds.current),
        *_contacts(shares, names, ""),
        *_near_faces(conductors, soil, ""),
    ]


def rise_doubts(
    rise: float, *, system: System | None, circuit: Circuit | None, of: str = ""
) -> list[str]:
    """What of a rise cannot be in a system. [V]"""
    return _rise(rise, plausible.driving_system(system, circuit=circuit), f"a rise{of} of")


def _fields(field: Floats, names: Sequence[str], of: str, stands: str) -> list[str]:
    return [
        f"CANNOT BE: the soil at '{name}'{of} {stands} at {with_unit(value, symbol='V/m')} "
        "along all of its metal; it breaks down from about "
        f"{with_unit(plausible.BREAKDOWN_FIELD, symbol='V/m')} on (lightning studies, from "
        f"memory). Check current against the fault level, the system's voltage, {_look}"
        for name, value in zip(names, field.tolist(), strict=True)
        if value > plausible.BREAKDOWN_FIELD
    ]


def _rise(rise: float, system: System, what: str) -> list[str]:
    """A rise above what one phase to earth can drive."""
    nominal = system.voltage_to_earth
    if nominal is None or rise <= plausible.VOLTAGE_ALLOWANCE * nominal:
        return []
    most, given = (
        with_unit(value, symbol="V") for value in (plausible.VOLTAGE_ALLOWANCE * nominal, rise)
    )
    between = with_unit(plausible.VOLTAGE_ALLOWANCE * nominal * np.sqrt(3), symbol="V")
    return [
        f"CANNOT BE from one phase to earth: {what} {given}, where the system drives at most "
        f"{most} ({with_unit(nominal, symbol='V')} to earth and 10 % over it, factor c of "
        f"IEC 60909, from memory); two phases at once have {between}. Check current, signs of "
        f"reactances, the system's voltage, {_look}"
    ]


def _fault_current(current: float, system: System, of: str) -> list[str]:
    """More current than the system has."""
    most = system.largest_fault_current
    if most is None or current <= plausible.CURRENT_ALLOWANCE * most:
        return []
    return [
        f"CANNOT BE: a fault current{of} of {with_unit(current, symbol='A')}, where the system "
        f"drives {with_unit(most, symbol='A')} at most. Check current, signs of "
        "reactances and fault level"
    ]


def _together(current: Phasors, label: Integers) -> Floats:
    """Current of each group with all bonded to it, shape (g,). [A]"""
    same = label[:, None] == label[None, :]
    return np.asarray(np.abs(same @ current))


def _melting(conductors: Conductors, current: Floats) -> list[str]:
    """Currents that even the thickest metal of an electrode hardly leads there."""
    names = conductors.group_names
    times = plausible.melting_time(conductors, current=current)
    return [
        f"DOUBTFUL: {with_unit(amperes, symbol='A')} into the soil at '{name}' would melt "
        f"copper as thick as its thickest metal in {with_unit(time, symbol='s')}, before a "
        f"device opens, unless it is fed at many places. Check current, {_look}"
        for name, amperes, time in zip(names, current.tolist(), times.tolist(), strict=True)
        if time < plausible.FAST_CLEARING
    ]


def _contacts(shares: Floats, names: Sequence[str], of: str) -> list[str]:
    """Contacts that are far above what the soil has."""
    return [
        f"DOUBTFUL: the contact of '{name}'{of} has more than {significant(share, figures=2)} "
        "times the resistance of its soil; that of a fresh rod is at most a few times as much. "
        "Check value and unit"
        for name, share in zip(names, shares.tolist(), strict=True)
        if share > plausible.MOST_CONTACT
    ]


def _near_faces(conductors: Conductors, soil: Soil, of: str) -> list[str]:
    """Ends of metal so near to a face of a body that a thin wire is a poor picture of them."""
    found = {}
    radius = conductors.sheath_radius
    for body in soil.bodies:
        for ends in (conductors.start, conductors.end):
            gap = body.shape.distance(ends)
            for k in np.flatnonzero((gap < _few_radii * radius) & ~conductors.flat):
                part = conductors.part_names[int(conductors.part[k])]
                found[part, body.name] = (
                    f"DOUBTFUL: '{part}'{of} ends {with_unit(float(gap[k]), symbol='m')} from "
                    f"a face of '{body.name}', nearer than {_few_radii:g} times its radius; "
                    "metal is taken as thin, and what a face does so close to it is not "
                    "resolved. Take it farther away, or well through"
                )
    return list(found.values())
