"""A calibration as lines for the case file: soil and contact, to be pasted as they are."""

import json
import re

from ...solver.field_readings import Compared
from ..wording import significant, with_unit
from .words import fitted_values

LINES_FOR_THE_CASE = (
    "Lines for the case, in place of what it says of the same; the rest of an electrode stays. "
    "Indented below the name of a variant they are that variant."
)
_of_that_day = "# Calibrated on readings of one day: soil dries and freezes, contact changes."
_of_soil = ("soil scale", "resistivity", "thickness")
_plain = re.compile(r"[A-Za-z][A-Za-z0-9_./-]*( [A-Za-z0-9_./-]+)*")
_words_of_yaml = {"true", "false", "null", "yes", "no", "on", "off", "y", "n"}


def case_lines(compared: Compared) -> str:
    """Soil and contact resistances that were fitted, as YAML; empty where none was."""
    found = [*_soil(compared), *_contacts(compared)]
    lines = [_of_that_day, *found] if found else []
    return "".join(f"{line}\n" for line in lines)


def beside_lines(compared: Compared) -> list[str]:
    """What those lines do not say of the calibration."""
    found = []
    for name, value in _refused(compared):
        found.append(
            f"'{name}' has a film (contact_resistivity) in the case, and "
            f"{with_unit(value, symbol='Ω')} were found beyond it. Take the film out and "
            "compare again: what is found then stands for all of the contact."
        )
    others = [
        unknown.name
        for unknown in compared.calibration.unknowns
        if unknown.kind not in (*_of_soil, "contact")
    ]
    if others and case_lines(compared):
        found.append(
            f"{' and '.join(others)} belong to the readings, not to the ground: correct them "
            "where the readings are written."
        )
    return found


def _soil(compared: Compared) -> list[str]:
    fit = compared.calibration
    if not any(unknown.kind in _of_soil for unknown in fit.unknowns):
        return []
    lines, soil = ["soil:", "  layers:"], fit.state.soil
    for number, rho in enumerate(soil.resistivity):
        lines.append(f"    - resistivity: {_number(rho)} ohm*m")
        if number < len(soil.thickness):
            lines.append(f"      thickness: {_number(soil.thickness[number])} m")
    return lines


def _contacts(compared: Compared) -> list[str]:
    lines = []
    for group, value, known in _found(compared):
        if not compared.filmed[group]:
            lines.append(f"  - name: {_name(compared.electrodes[group])}")
            lines.append(f"    contact_resistance: {_number(value)} ohm  # {known}")
    return ["electrodes:", *lines] if lines else []


def _found(compared: Compared) -> list[tuple[int, float, str]]:
    """Electrodes, contact resistances found [Ω] and how well; none where none is or was."""
    fit, before = compared.calibration, compared.start.contact
    return [
        (unknown.layer, float(value), f"{words.spread} (95 %)" if words.seen else "not seen")
        for unknown, value, words in zip(
            fit.unknowns, fit.value, fitted_values(fit), strict=True
        )
        if unknown.kind == "contact" and (value > 0 or before[unknown.layer] > 0)
    ]


def _refused(compared: Compared) -> list[tuple[str, float]]:
    """Electrodes whose contact no case takes, as they have a film already. [Ω]"""
    return [
        (compared.electrodes[group], value)
        for group, value, _ in _found(compared)
        if compared.filmed[group]
    ]


def _number(value: float) -> str:
    """Six figures, so that what is pasted gives the readings again."""
    text = significant(value, figures=6)
    return text.rstrip("0").rstrip(".") if "." in text else text


def _name(name: str) -> str:
    plain = _plain.fullmatch(name) and name.lower() not in _words_of_yaml
    return name if plain else json.dumps(name, ensure_ascii=False)
