"""Rows that terminal, page and tables share, as numbers and names before anybody words them."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..solver.circuit import EARTH_CURRENT
from ..solver.results.result import Result
from ..solver.thin_wire import Agreement, ThirdOpinion
from ..solver.wording import percent_text
from .verdict_words import voltage_name
from .wording import ohms_text

Tone = Literal["pass", "warning", "fail"]


held_words = {
    "voltage": "voltage given",
    "current": "current given",
    "circuit": "in the circuit",
    "floating": "floating",
}


@dataclass(frozen=True)
class ElectrodeRow:
    """One electrode of a result; a current that is only rounding is nought.

    `contact` is in series between its metal and the soil, part of `resistance`. [Ω]
    """

    name: str
    held: str
    resistance: float
    voltage: complex
    current: complex
    bonded: tuple[str, ...]
    contact: float = 0.0

    @property
    def over_contact(self) -> complex:
        """What of the rise stands over the contact. [V]"""
        return self.contact * self.current


def electrode_rows(result: Result) -> list[ElectrodeRow]:
    """Resistance, rise and current of each electrode, and what it is bonded to."""
    point, names = result.operating, result.group_names
    least = 1e-6 * np.abs(point.current).max()
    contact = result.contact_resistance or (0.0,) * len(names)
    return [
        ElectrodeRow(
            name,
            held_words[result.drives[k].kind],
            result.resistance(k),
            point.voltage[k],
            point.current[k] if abs(point.current[k]) >= least else 0.0,
            tuple(
                other
                for j, other in enumerate(names)
                if j != k and point.bonded_set[j] == point.bonded_set[k]
            ),
            contact[k],
        )
        for k, name in enumerate(names)
    ]


def part_share(result: Result, part: int) -> float:
    """Share of a part in the net current of its electrode; not a number where there is none."""
    metal, current = result.solution.conductors, result.field.part_current()
    whole = result.operating.current[int(metal.group[metal.part == part][0])]
    if abs(whole) < 1e-6 * float(np.abs(current).sum()):
        return float("nan")
    return float(np.real(current[part] / whole))


@dataclass(frozen=True)
class SecondRow:
    """One value of a result beside that of the second opinion. [Ω] or [V]

    Attributes
    ----------
    resistance : bool
        Whether it is the resistance of the electrode `name`, or the voltage of that name.
    apart : float
        Relative to the other resistance, or to the rise.
    """

    name: str
    resistance: bool
    own: float
    other: float
    apart: float


def second_rows(result: Result) -> list[SecondRow]:
    """Resistances and worst voltages by both methods; none where only one was used.

    Where bodies are in the soil, those of the second method are of the layers without them.
    """
    found = result.agreement or result.without_bodies
    if found is None:
        return []
    rows = []
    for name, own, other in _second_resistances(result, found):
        rows.append(SecondRow(name, True, own, other, own / other - 1))
    for item, other in zip(result.worst, found.worst, strict=True):
        apart = (item.voltage - other) / result.rise
        rows.append(SecondRow(voltage_name(item), False, item.voltage, other, apart))
    return rows


def _second_resistances(result: Result, found: Agreement) -> Iterator[tuple[str, float, float]]:
    """Resistances by both methods; of metal with voltages along it sizes of impedances."""
    if result.along is not None and result.along_second is not None:
        matrices = result.along.port_matrix, result.along_second.port_matrix
        sizes = (np.abs(matrix.diagonal()).tolist() for matrix in matrices)
        ports = (port.name for port in result.along.wiring.ports)
        yield from zip(ports, *sizes, strict=True)
        return
    for group, name in enumerate(result.group_names):
        other = float(found.resistance[result.operating.bonded_set[group]])
        yield name, result.resistance(group), other


def standing_words(result: Result) -> list[tuple[str, Tone]]:
    """What comparing the methods says of the result, each with its tone; nothing without."""
    found = result.agreement
    if found is None:
        return []
    estimates = result.accuracy.estimates
    stated = {"resistance_error": estimates[0], "voltage_error": max(estimates)}
    standing = found.standing(**stated)
    if standing == "agree":
        return [("Both agree within the errors that this result states.", "pass")]
    words: list[tuple[str, Tone]] = []
    if standing == "differ":
        text = "THEY DIFFER BY MORE THAN THEIR ESTIMATED ERRORS: find out why before you rely "
        words.append((text + "on either.", "fail"))
    else:
        resistance, voltage = (percent_text(each, decimals=2) for each in stated.values())
        text = (
            f"The second lies OUTSIDE what this result states ({resistance} of a resistance, "
            f"{voltage} of the rise), within its own error"
        )
        own = "." if found.third else ": which of them is right is not shown."
        words.append((text + own, "warning"))
    if found.third is not None:
        words.append(_third_words(found.third, confirmed=found.third.confirms(**stated)))
        if words[-1][1] == "pass":
            words = [(text, "warning") for text, _ in words[:-1]] + words[-1:]
    return words


def _third_words(third: ThirdOpinion, *, confirmed: bool) -> tuple[str, Tone]:
    """What the axisymmetric method says of the result."""
    off = percent_text(third.resistance_difference, decimals=2)
    volts = percent_text(third.voltage_difference, decimals=2)
    text = (
        f"Third method, with the true face of the rod in its mesh (axisymmetric): "
        f"{ohms_text(third.resistance)} ± {percent_text(third.resistance_error, decimals=2)}; "
        f"this result is {off} off in resistance, {volts} of the rise in voltages: "
    )
    if confirmed:
        return text + "it confirms this result.", "pass"
    return text + "THIS RESULT IS OUTSIDE THE ERROR IT STATES, do not rely on it.", "fail"


def soil_currents(result: Result) -> list[tuple[str, complex, float]]:
    """Electrode, current into the soil and share of the supply, of those that pass any."""
    operation = result.operation
    if operation is None:
        return []
    found = []
    for name in operation.group_names:
        share = operation.share(f"{EARTH_CURRENT}{name}")
        if share > 1e-6:  # floating metal carries none
            found.append((name, operation.current_through(f"{EARTH_CURRENT}{name}"), share))
    return found
