"""From a validated uncertainty block to distributions, or all that is wrong with it."""

import re
from pathlib import Path
from typing import Any

import numpy as np

from ...solver.errors import CaseError, Problem
from ...solver.uncertainty.distributions import (
    Distribution,
    Lognormal,
    Normal,
    OneOf,
    Triangular,
    Uniform,
)
from ..design.reading import resolved
from ..reading.documents import Document, Step
from ..reading.messages import shown
from ..reading.problems import in_order
from ..reading.steps import overlap
from . import schema
from .inputs import NextReading, UncertainInput, UncertaintyPlan

_number_and_unit = re.compile(
    r"(?P<number>[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?) *(?P<unit>\D.*)?"
)


def uncertainty_of(
    given: schema.Uncertainty,
    *,
    surveyed: bool,
    document: Document,
    folder: Path | None = None,
) -> UncertaintyPlan:
    """What is drawn of a case; `CaseError` with all that is wrong with its inputs.

    Parameters
    ----------
    surveyed : bool
        Whether the soil of the case is a survey.
    """
    problems: list[Problem] = []
    inputs: list[UncertainInput] = []
    for number, item in enumerate(given.inputs):
        path: tuple[Step, ...] = ("uncertainty", "inputs", number)
        try:
            inputs.append(_input(item, document=document, place=path))
        except CaseError as error:
            problems += [
                one if one.line or one.path else document.problem(one.message, path=path)
                for one in error.problems
            ]
    from_survey = given.soil_from_survey and surveyed
    problems += _overlapping(inputs, from_survey=from_survey, document=document)
    if not problems and not inputs and not from_survey:
        msg = "nothing is drawn: give 'inputs', or a survey as the soil"
        problems.append(document.problem(msg, path=("uncertainty",)))
    if problems:
        raise CaseError(in_order(problems))
    readings = [
        NextReading(
            item.name,
            item.error,
            np.array(item.wenner or (), dtype=float),
            None if item.rod is None else (item.rod.length, item.rod.diameter),
        )
        for item in given.next_readings
    ]
    return UncertaintyPlan(
        tuple(inputs), from_survey, given.draws, given.seed, tuple(readings), folder
    )


def _input(
    given: schema.Input, *, document: Document, place: tuple[Step, ...]
) -> UncertainInput:
    target = resolved(document.content, given.set)
    if given.one_of is not None:
        values = tuple(document.content["uncertainty"]["inputs"][place[-1]]["one_of"]["values"])
        weights = given.one_of.weights or (1.0,) * len(values)
        return UncertainInput(given.name, target, OneOf(weights), values=values)
    distribution, unit = _of_numbers(given)
    return UncertainInput(given.name, target, distribution, unit)


def _of_numbers(given: schema.Input) -> tuple[Distribution, str]:
    """Distribution of a number, and the unit behind it."""
    if given.lognormal is not None:
        (median,), unit = _numbers(given.lognormal.median)
        return Lognormal(median, given.lognormal.factor), unit
    if given.normal is not None:
        (mean, deviation), unit = _numbers(given.normal.mean, given.normal.deviation)
        return Normal(mean, deviation, low=0.0), unit
    if given.uniform is not None:
        (low, high), unit = _numbers(given.uniform.first, given.uniform.to)
        return Uniform(low, high), unit
    assert given.triangular is not None  # the schema asks for one of them
    form = given.triangular
    (low, likely, high), unit = _numbers(form.first, form.likely, form.to)
    return Triangular(low, likely, high), unit


def _numbers(*values: Any) -> tuple[tuple[float, ...], str]:
    """Numbers of values that have one unit, and that unit; `CaseError` if they differ."""
    numbers, units = [], []
    for value in values:
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            msg = f"{shown(value)} is no number, with or without a unit"
            raise CaseError(msg)
        if not isinstance(value, str):
            numbers.append(float(value))
            units.append("")
            continue
        found = _number_and_unit.fullmatch(value.strip())
        if found is None or len(value) > 60:
            msg = f"{shown(value)} is no number with a unit such as 4 kA"
            raise CaseError(msg)
        numbers.append(float(found["number"]))
        units.append((found["unit"] or "").strip())
    if len(set(units)) > 1:
        listed = ", ".join(shown(value) for value in values)
        msg = f"{listed} have several units; write all of them in one"
        raise CaseError(msg)
    return tuple(numbers), units[0]


def _overlapping(
    inputs: list[UncertainInput], *, from_survey: bool, document: Document
) -> list[Problem]:
    """Inputs that set what another one sets, or what the survey gives."""
    problems = []
    for number, item in enumerate(inputs):
        path = ("uncertainty", "inputs", number, "set")
        if from_survey and item.target[0] == "soil":
            msg = (
                "sets the soil, which is drawn from its survey; leave it out or say "
                "'soil_from_survey: false'"
            )
            problems.append(document.problem(msg, path=path))
        for other in inputs[:number]:
            if overlap(item.target, other.target):
                msg = f"sets what {other.name!r} sets too; draw it once"
                problems.append(document.problem(msg, path=path))
    return problems
