"""Readings as they were written, from a table or a case file, made into a survey."""

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from ...solver.errors import CaseError, Problem
from ...solver.soil_survey import DrivenRodReadings, FourPinReadings, Survey, Traverse
from ...solver.soil_survey.pin_geometry import half_space_coefficients

Pins = tuple[float, float, float, float]

_Readings = TypeVar("_Readings", FourPinReadings, DrivenRodReadings)
_index = re.compile(r"readings\[([0-9]+)\]")


@dataclass(frozen=True)
class SurveyRow:
    """One reading in SI units, with the place it was read from."""

    problem: Callable[[str], Problem]  # makes a problem of a message, at the reading's line
    traverse: int  # index of its traverse
    # Current pin, potential pin, potential pin, current pin; None for a driven rod. [m]
    pins: Pins | None = None
    driven_length: float = math.nan  # of a driven rod, else nan [m]
    diameter: float = math.nan
    # What was given, nan what was not. With both, the resistance counts and the other is held
    # against it. [Ω], [Ω·m]
    resistance: float = math.nan
    apparent_resistivity: float = math.nan
    deviation: float = math.nan  # relative standard deviation; nan where not given
    pin_depth: float = 0.0  # depth of the pins [m]
    # Whether the depth is in `apparent_resistivity`; None where not said.
    depth_corrected: bool | None = None


def wenner_pins(spacing: float) -> Pins:
    """Places of four pins along their line, a spacing apart, about the middle. [m]"""
    return (-1.5 * spacing, -0.5 * spacing, 0.5 * spacing, 1.5 * spacing)


def schlumberger_pins(half_current: float, half_potential: float) -> Pins:
    """Places of four pins along their line, about the middle, by half spacings. [m]"""
    return (-half_current, -half_potential, half_potential, half_current)


def survey_of(
    rows: Sequence[SurveyRow], *, traverses: Sequence[Traverse]
) -> tuple[Survey, tuple[SurveyRow, ...]]:
    """Survey of all readings, and the rows in the survey's order.

    `CaseError` if readings are impossible; each problem at the line of its reading.
    """
    problems: list[Problem] = []
    four = [row for row in rows if row.pins is not None]
    rods = [row for row in rows if row.pins is None]
    for row in four:
        if math.isnan(row.resistance) and row.pin_depth > 0 and row.depth_corrected is None:
            msg = (
                "apparent resistivity with buried pins: say by depth_corrected whether it was "
                "worked out with the depth of the pins (yes) or as 2 pi a R (no), or give the "
                "resistance"
            )
            problems.append(row.problem(msg))
    pins = _located(problems, four, _four_pins)
    driven = _located(problems, rods, _driven_rods)
    if problems:
        raise CaseError(problems)
    return Survey(tuple(traverses), four_pin=pins, driven_rod=driven), (*four, *rods)


def _located(
    problems: list[Problem], rows: list[SurveyRow], make: Callable[[list[SurveyRow]], _Readings]
) -> _Readings | None:
    """Readings of the rows; what is wrong with them goes to `problems`, at their lines."""
    if not rows:
        return None
    try:
        return make(rows)
    except CaseError as error:
        for found in error.problems:
            match = _index.fullmatch(found.path)
            # Problems of the whole name no reading; the first line will do.
            row = rows[int(match[1])] if match else rows[0]
            problems.append(row.problem(found.message))
        return None


def _four_pins(rows: list[SurveyRow]) -> FourPinReadings:
    places = np.array([row.pins for row in rows])
    given = np.array([row.apparent_resistivity for row in rows])
    depth = np.array([row.pin_depth for row in rows])
    in_it = np.array([bool(row.depth_corrected) for row in rows])
    # Pins in one place are refused by the readings, with all other problems.
    with np.errstate(divide="ignore", invalid="ignore"):
        worked_out = given * half_space_coefficients(
            places, pin_depth=np.where(in_it, depth, 0.0)
        )
    measured = np.array([row.resistance for row in rows])
    return FourPinReadings(
        pins=places,
        resistance=np.where(np.isnan(measured), worked_out, measured),
        deviation=np.array([row.deviation for row in rows]),
        pin_depth=depth,
        traverse=np.array([row.traverse for row in rows]),
    )


def _driven_rods(rows: list[SurveyRow]) -> DrivenRodReadings:
    return DrivenRodReadings.single(
        [row.driven_length for row in rows],
        radius=[row.diameter / 2 for row in rows],
        resistance=[row.resistance for row in rows],
        deviation=[row.deviation for row in rows],
        traverse=[row.traverse for row in rows],
    )
