"""Whether a result, or what a case asks for, can be: soil, system, metal and contact."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..anisotropy import round_metal
from ..circuit import Circuit
from ..drives import Drive, System, membership
from ..model import Conductors, Floats, Soil
from ..patches import faces
from .result import Result

# Soil breaks down at the metal from about here on: studies of lightning take 300 to 400 kV/m
# (from memory). Nothing in this program knows of it. [V/m]
BREAKDOWN_FIELD = 300e3
# A system may stand above its nominal voltage: factor c of IEC 60909-0 (from memory).
VOLTAGE_ALLOWANCE = 1.1
CURRENT_ALLOWANCE = 1.05  # fault levels are told in round numbers
# Copper from 40 °C to where it melts, no heat lost: 7.00 kcmil per kA for 1 s, soft-drawn, as
# IEEE Std 80 has it (from memory). [A √s/m²]
MELTS_COPPER = 1000 / (7.00 * 0.5067e-6)
FAST_CLEARING = 0.1  # breakers of high-voltage systems need about as long [s]
# Contact of a fresh rod is told to be up to a few times what its soil has; our judgement.
MOST_CONTACT = 10.0


def field_at_metal(result: Result) -> Floats:
    """Mean field in the soil at the metal of each group, shape (g,). [V/m]

    Notes
    -----
    ρ i / (2 π a) of each length, a the radius of the metal or its sheath, i the current it
    leaks per length, ρ the resistivity of the layer or body its middle lies in; where that is
    not the same upright, of both directions across the metal the root of the product, which is
    the mean of ρ over the angles that current leaves by.
    """
    field, conductors = result.field, result.solution.conductors
    elements, soil = field.solution.elements, result.solution.soil
    middle = (elements.start + elements.end) / 2
    resistivity = soil.resistivity_at(middle)
    if not soil.isotropic:
        direction = (elements.end - elements.start) / elements.length[:, None]
        stretch = soil.anisotropy[soil.layer_at(-middle[:, 2])]
        resistivity = resistivity * round_metal(direction, stretch=stretch)
    radius = conductors.sheath_radius[elements.piece]
    strength = resistivity * np.abs(field.leakage) / (2 * np.pi * radius)
    group, length = conductors.group[elements.piece], elements.length
    count = len(conductors.group_names)
    # Of plates, current over both faces; they count by these, beside them round metal too.
    flat = conductors.flat[elements.piece]
    many = np.bincount(elements.piece, minlength=len(conductors.length))
    own = (faces(conductors) / np.maximum(many, 1))[elements.piece]
    strength = np.where(flat, resistivity * np.abs(field.element_current) / own, strength)
    plated = np.bincount(group[flat], minlength=count)[group] > 0
    weight = np.where(plated, own, length)
    total = np.bincount(group, weights=strength * weight, minlength=count)
    return np.asarray(total / np.bincount(group, weights=weight, minlength=count))


def driving_system(system: System | None, *, circuit: Circuit | None) -> System:
    """What a case states of its system, and where it does not, what its circuit says."""
    given = system or System()
    voltage, current = given.voltage_to_earth, given.largest_fault_current
    supply = None if circuit is None else circuit.supply
    if supply is not None and supply.voltage is not None:
        if current is None and supply.impedance != 0:
            current = supply.voltage / abs(supply.impedance)
        voltage = supply.voltage if voltage is None else voltage
    return System(voltage, current)


def fault_current(result: Result) -> float:
    """What the system has to drive: the supply's current, or all that enters the soil. [A]"""
    if result.operation is not None:
        return result.operation.fault_current
    return float(np.real(result.operating.current).clip(min=0.0).sum())


def melting_time(conductors: Conductors, *, current: Floats) -> Floats:
    """Time in which a group's current melts copper as thick as its thickest metal. [s]

    `current` has shape (g,), as has the answer; infinite where there is none, or only plates.
    """
    thickest, flat = np.zeros(len(conductors.group_names)), conductors.flat
    np.maximum.at(thickest, conductors.group[~flat], conductors.radius[~flat])
    thickest[thickest == 0] = np.inf
    with np.errstate(divide="ignore"):
        return np.asarray((MELTS_COPPER * np.pi * thickest**2 / np.abs(current)) ** 2)


def contact_shares(
    conductors: Conductors, *, soil: Soil, contact_resistance: Sequence[float]
) -> Floats:
    """At least how often each group's contact has the resistance of its soil, shape (g,).

    Notes
    -----
    Contact in series, and films ρ' / (2 π a L) of all metal, over what the soil can have at
    most: one of its pieces alone, of length ℓ, in nothing but the worst layer or body. That
    is twice the rod driven from the surface, as deep metal may have half of it again:
    ρ / (π ℓ) · ln(4 ℓ / a).
    """
    length, radius = conductors.length, conductors.radius
    alone = max(soil.leading) / (np.pi * length) * np.log(4 * length / radius + math.e)
    through = np.where(conductors.contact > 0, conductors.contact, np.nan)
    shares = []
    for group, series in enumerate(contact_resistance or [0.0] * len(conductors.group_names)):
        mine = conductors.group == group
        leads = np.sum(faces(conductors)[mine] / through[mine])
        film = 0.0 if np.isnan(leads) else 1 / leads  # metal without a film needs none
        shares.append((series + film) / alone[mine].min())
    return np.array(shares)


@dataclass(frozen=True)
class Bounds:
    """What currents ask for at the least, known before anything is solved.

    Attributes
    ----------
    current : ndarray of float, shape (g,)
        Into the soil from each group with all bonded to it; 0 where it is not known. [A]
    field : ndarray of float, shape (g,)
        Mean field in the soil along its metal, at least. [V/m]
    rise : float
        Largest rise, at least; 0 where it is not known. [V]
    """

    current: Floats
    field: Floats
    rise: float


def bounds_of(
    conductors: Conductors,
    *,
    soil: Soil,
    drives: Sequence[Drive],
    bonds: Sequence[tuple[int, int]],
    circuit: Circuit | None,
) -> Bounds:
    """What given currents ask for at the least.

    Notes
    -----
    The field is that of even leakage from the widest metal or sheath in the best layer or
    body. All current leaves the half ball round the metal: what it spends outside is at least
    I² ρ / (2 π R) with the best of them everywhere (Thomson), so that some metal is at
    I ρ / (2 π R) or more; only where no current comes back.
    """
    member = membership(len(drives), bonds=bonds)
    given = np.array([item.value if item.kind == "current" else 0.0 for item in drives])
    known = all(
        item.kind == "floating" or (item.kind == "current" and item.value >= 0)
        for item in drives
    )
    if circuit is not None and circuit.supply.current is not None and not circuit.paths:
        share = circuit.split_factor or 1.0
        given[conductors.group_names.index(circuit.supply.to)] = share * circuit.supply.current
        known = circuit.supply.returns_at not in conductors.group_names
    label = member.argmax(axis=0)
    current = np.abs(member @ given)[label]
    in_set = label[conductors.group]
    flat, count = conductors.flat, len(member)
    length = np.bincount(in_set[~flat], conductors.length[~flat], count)[label]
    plates = np.bincount(in_set[flat], faces(conductors)[flat], count)[label]
    widest = np.zeros(count)
    np.maximum.at(widest, in_set[~flat], conductors.sheath_radius[~flat])
    best = min(soil.leading)
    field = best * current / (2 * np.pi * widest[label] * length + plates)
    ends = np.vstack([conductors.start, conductors.end])
    centre = (ends.min(axis=0) + ends.max(axis=0)) / 2 * [1.0, 1.0, 0.0]
    ball = np.linalg.norm(ends - centre, axis=1).max() + conductors.sheath_radius.max()
    total = float(given.sum()) if known else 0.0
    return Bounds(current, field, best * total / (2 * np.pi * float(ball)))
