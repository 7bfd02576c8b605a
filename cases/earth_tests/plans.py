"""The earth_tests block in SI units: where probes and clamps go, checked against the metal."""

import math
from collections.abc import Sequence

import numpy as np

from ...solver.earth_tests import (
    ClampPlan,
    DrivenRodPlan,
    EarthTestPlan,
    FallOfPotentialPlan,
    Leads,
    Pin,
    with_pin,
)
from ...solver.errors import CaseError, Problem
from ...solver.model import Conductors
from ..reading.documents import Document
from ..reading.problems import in_order
from . import schema as schema

_usual_steps = 20
_least_radii = 10


def earth_tests_of(
    given: Sequence[schema.EarthTest], *, conductors: Conductors, document: Document
) -> tuple[EarthTestPlan, ...]:
    """Tests of the earth_tests block, whose names have been checked.

    `CaseError` if a probe is no slender rod or stands on or beside the metal, all at once.
    """
    problems: list[Problem] = []
    plans: list[EarthTestPlan] = []
    for number, test in enumerate(given):
        try:
            plans.append(_plan(test, conductors))
        except CaseError as error:
            problems.append(document.problem(str(error), path=("earth_tests", number)))
    if problems:
        raise CaseError(in_order(problems))
    return tuple(plans)


def _plan(test: schema.EarthTest, conductors: Conductors) -> EarthTestPlan:
    if isinstance(test, schema.TwoClamps):
        return ClampPlan(test.name, test.around)
    if isinstance(test, schema.DrivenRod):
        return _driven_rod(test)
    return _fall_of_potential(test, conductors)


def _fall_of_potential(
    test: schema.FallOfPotential, conductors: Conductors
) -> FallOfPotentialPlan:
    start = test.start or _middle(conductors, test.electrode)
    leads = _leads(start, test.current_probe, angle=test.potential_probe.angle)
    steps = test.potential_probe.count or _usual_steps
    even = leads.distance * np.arange(1, steps) / steps
    plan = FallOfPotentialPlan(
        name=test.name,
        electrode=test.electrode,
        leads=leads,
        depth=test.current_probe.depth,
        radius=0.5 * test.current_probe.diameter,
        distances=test.potential_probe.distances or tuple(even.tolist()),
        other_distances=test.other_distances,
        paths_connected=test.paths_connected,
    )
    for distance in (leads.distance, *test.other_distances):
        with_pin(conductors, plan.pin(leads.at_distance(distance)), name="")
    return plan


def _driven_rod(test: schema.DrivenRod) -> DrivenRodPlan:
    leads, radius = _leads((0.0, 0.0), test.current_probe), 0.5 * test.diameter
    probe = Pin(
        leads.current_place, test.current_probe.depth, 0.5 * test.current_probe.diameter
    )
    if min(test.lengths) < _least_radii * radius:
        msg = (
            f"a driven length of {min(test.lengths):g} m is below ten radii of the rod, "
            f"{_least_radii * radius:g} m; begin deeper"
        )
        raise CaseError(msg)
    if leads.distance <= probe.depth + radius:
        msg = (
            f"the current probe is {leads.distance:g} m from the rod and {probe.depth:g} m "
            "deep; put it farther away than it is deep"
        )
        raise CaseError(msg)
    return DrivenRodPlan(test.name, test.lengths, radius, leads, probe, test.potential_distance)


def _leads(
    start: tuple[float, float], probe: schema.CurrentProbe, *, angle: float = 0.0
) -> Leads:
    if probe.at is None:
        return Leads(start, probe.azimuth or 0.0, probe.distance or 0.0, angle)
    across = np.subtract(probe.at, start)
    azimuth = math.atan2(across[1], across[0])
    return Leads(start, azimuth, float(np.hypot(*across)), angle)


def _middle(conductors: Conductors, electrode: str) -> tuple[float, float]:
    """Middle of the smallest rectangle round an electrode in plan. [m]"""
    mine = conductors.group == conductors.group_names.index(electrode)
    plan = np.vstack([conductors.start[mine, :2], conductors.end[mine, :2]])
    x, y = (float(v) for v in 0.5 * (plan.min(axis=0) + plan.max(axis=0)))
    return x, y
