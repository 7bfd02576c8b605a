"""Field sheets of a case: what the verb `sheets` plans and expects."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from os import PathLike
from typing import Literal

import numpy as np

from ..cases.case import Case
from ..cases.fitting import fit_soil
from ..cases.loading import case_of
from ..solver.earth_tests import (
    SHIFT,
    FallOfPotential,
    FallOfPotentialPlan,
    FieldSheets,
    Leads,
    Method,
    Network,
    Pin,
    TestPoint,
    fall_of_potential,
    potential_findings,
    probe_places,
    steadiest,
    with_pin,
)
from ..solver.errors import CaseError, Problem
from ..solver.exposure.places import TouchableMetal
from ..solver.model import Floats, Phasors
from ..solver.progress import Progress, headed, parts, unwatched
from ..solver.results.result import Result
from ..solver.soil_survey.spacings import survey_spacings
from ..solver.solved_soil import SolvedSoil
from .earth_tests import closed_bonds, extent_of, solved_with
from .layers_only import refuse_along_metal, refuse_plates
from .run import run_case
from .steps import touchable_metals

_probe = "current probe"
# Of the current probe, where no earth test of the case says it.
_depth, _radius = 0.5, 0.008
_most_soils = 8
_sides = 4  # places round each metal, beside its worst one
_apart = 0.6  # m: test points nearer than that are one


@dataclass(frozen=True)
class PlannedSheets:
    """Sheets of a case, with the result that its plan and worst places are from."""

    sheets: FieldSheets
    result: Result


def plan_sheets(
    case: Case | str | PathLike[str],
    *,
    cable: float,
    electrode: str | None = None,
    azimuth: float | None = None,
    accuracy: str | None = None,
    elements: bool = False,
    units: Literal["SI", "US"] | None = None,
    progress: Progress = unwatched,
) -> PlannedSheets:
    """Where to measure on the site of a case, and what to expect there.

    Parameters
    ----------
    cable : float
        Length of each of the two cables that the crew has. [m]
    electrode : str, optional
        That is tested; left out, that of the first fall-of-potential test of the case, else
        the first that is driven.
    azimuth : float, optional
        Direction of the current lead, from the x axis towards the y axis; left out, that of
        the same test, else along the x axis. [rad]
    accuracy : {"coarse", "normal", "fine"}, optional
        Of the run that looks for the worst places, in place of the case's own.
    elements : bool, default False
        Whether to solve for the probes by finite elements in place of thin conductors.
    units : {"SI", "US"}, optional
        Whether spacings of the survey are round in metres or feet; left out, as the case
        prints.

    Returns
    -------
    planned : PlannedSheets
        The case as it stands and all its variants that change the soil alone, among them the
        soils that fit its survey as well, make the ranges.

    Raises
    ------
    CaseError
        If there is no such electrode, or the current probe would stand in or at the metal.
    OhmscapeError
        As `run_case`.
    """
    case = fit_soil(case_of(case))
    refuse_along_metal(case, what="field sheets take metal at one potential")
    refuse_plates(case, what="tests are worked out for round metal")
    plan = _test_of(case, electrode)
    name = _electrode(case, electrode, plan)
    leads, probe = _laid(case, name, plan, cable=cable, azimuth=azimuth)
    alike = [each for each in case.variants if each.changes == ("soil",)]
    soils = [case, *alike][:_most_soils]
    left = [each.variant for each in alike[_most_soils - 1 :]]
    running, solving = parts(progress, [3.0, 1.0 * len(soils)])
    result = run_case(case, accuracy=accuracy, progress=headed(running, "worst places"))
    solved, method, error = _solved(soils, probe, elements=elements, progress=solving)
    bonds = list(closed_bonds(case))

    def curves(each: Leads, distances: Sequence[float]) -> list[FallOfPotential]:
        return [
            fall_of_potential(
                soil,
                electrode=name,
                probe=_probe,
                leads=each,
                distance=distances,
                bonds=bonds,
            )
            for soil in solved
        ]

    places = probe_places(curves, leads=leads, longest=cable)
    extent = extent_of(case, name)
    unit = 0.3048 if (units or case.units) == "US" else 1.0
    sheets = FieldSheets(
        electrode=name,
        conditions=tuple(each.variant or "as it stands" for each in soils),
        soil=case.soil,
        extent=extent,
        cable=cable,
        leads=leads,
        probe=probe,
        places=places,
        chosen=steadiest(places),
        points=tuple(_points(case, result, name, solved, bonds)),
        spacings=survey_spacings(extent, unit=unit),
        findings=(
            *potential_findings(curves(leads, ())[0], extent=extent, soil=case.soil),
            *[f"soils that are not held here: {', '.join(left)}"] * bool(left),
        ),
        method=method,
        error=error,
    )
    return PlannedSheets(sheets, result)


def _test_of(case: Case, electrode: str | None) -> FallOfPotentialPlan | None:
    """The first fall-of-potential test of the case, of an electrode if one is asked for."""
    return next(
        (
            plan
            for plan in case.earth_tests
            if isinstance(plan, FallOfPotentialPlan) and electrode in (None, plan.electrode)
        ),
        None,
    )


def _electrode(case: Case, asked: str | None, plan: FallOfPotentialPlan | None) -> str:
    names = case.conductors.group_names
    if asked is not None and asked not in names:
        msg = f"no electrode {asked!r}; the case has {', '.join(map(repr, names))}"
        raise CaseError([Problem(msg, file=case.source.file)])
    if asked is not None:
        return asked
    if plan is not None:
        return plan.electrode
    driven = [
        name for name, drive in zip(names, case.drives, strict=True) if drive.kind != "floating"
    ]
    return (driven or list(names))[0]


def _laid(
    case: Case,
    electrode: str,
    plan: FallOfPotentialPlan | None,
    *,
    cable: float,
    azimuth: float | None,
) -> tuple[Leads, Pin]:
    """Leads in line, and the current probe at the end of the cable."""
    if plan is None:
        mine = case.conductors.group == case.conductors.group_names.index(electrode)
        ends = np.vstack([case.conductors.start[mine, :2], case.conductors.end[mine, :2]])
        x, y = (0.5 * (ends.min(axis=0) + ends.max(axis=0))).tolist()
        start, usual, depth, radius = (x, y), 0.0, _depth, _radius
    else:
        start, usual = plan.leads.start, plan.leads.azimuth
        depth, radius = plan.depth, plan.radius
    try:
        leads = Leads(start, usual if azimuth is None else azimuth, cable)
        probe = Pin(leads.current_place, depth, radius)
        with_pin(case.conductors, probe, name=_probe)
    except CaseError as error:
        msg = f"with a cable of {cable:g} m from ({start[0]:.3g}, {start[1]:.3g}) m {error}"
        raise CaseError([Problem(msg, file=case.source.file)]) from error
    return leads, probe


def _solved(
    soils: Sequence[Case], probe: Pin, *, elements: bool, progress: Progress
) -> tuple[list[SolvedSoil], Method, float]:
    """Field of the metal with the probe in each soil; the method and largest error of them."""
    found, methods, errors = [], [], []
    for each, reported in zip(soils, parts(progress, [1.0] * len(soils)), strict=True):
        metal = with_pin(each.conductors, probe, name=_probe)
        soil, method, error = solved_with(
            each, metal, elements=elements or bool(each.soil.bodies), progress=reported
        )
        found.append(soil)
        methods.append(method)
        errors.append(error)
    return found, methods[0], max(errors)


def _points(
    case: Case,
    result: Result,
    electrode: str,
    solved: Sequence[SolvedSoil],
    bonds: Sequence[tuple[str, str]],
) -> Iterator[TestPoint]:
    """Test points: the worst places of the run, and others round each metal."""
    driven = [_driven(soil, electrode, bonds) for soil in solved]
    metals = touchable_metals(case)
    number = 0
    for metal in metals:
        for foot, why, prospective in _feet(result, metal):
            if not case.soil.on_ground(np.array([foot])).all():
                continue
            number += 1
            expected = np.array(
                [
                    _touch(soil, voltage, metal.group, np.array([foot]))[0]
                    for soil, voltage in zip(solved, driven, strict=True)
                ]
            )
            sign = -1.0 if expected[0] < 0 else 1.0
            shifted = sign * _touch(solved[0], driven[0], metal.group, _moved(foot))
            yield TestPoint(
                f"T{number}", "touch", metal.name, foot, None, why, sign < 0, sign * expected,
                shifted, prospective,
            )  # fmt: skip
    steps = [one for one in result.worst if one.kind == "step" and one.other_foot is not None]
    for number, worst in enumerate(steps, start=1):
        assert worst.other_foot is not None
        feet = np.array([worst.foot, worst.other_foot])
        expected = np.array(
            [
                _step(soil, voltage, feet[:1], feet[1:])[0]
                for soil, voltage in zip(solved, driven, strict=True)
            ]
        )
        shifted = _step(solved[0], driven[0], _moved(worst.foot), _moved(worst.other_foot))
        ends, sign = (worst.foot, worst.other_foot), 1.0
        if expected[0] < 0:  # the first foot is where the soil is higher
            ends, sign = ends[::-1], -1.0
        yield TestPoint(
            f"S{number}", "step", "", *ends, "worst step", False, sign * expected,
            sign * shifted, worst.voltage,
        )  # fmt: skip


def _driven(soil: SolvedSoil, electrode: str, bonds: Sequence[tuple[str, str]]) -> Phasors:
    """Voltages of all metal while the tester drives 1 A from electrode to current probe. [V]"""
    network = Network.of(soil.current_matrix, groups=soil.conductors.group_names, bonds=bonds)
    return network.voltages({electrode: 1.0, _probe: -1.0})


def _touch(soil: SolvedSoil, voltage: Phasors, group: int, feet: Floats) -> Floats:
    """Metal over soil; paths are lifted, so that all is in phase. [V]"""
    ground = soil.potential(_on_top(feet), voltage=voltage)
    return np.asarray(voltage[group] - ground)


def _step(soil: SolvedSoil, voltage: Phasors, feet: Floats, others: Floats) -> Floats:
    one, other = (soil.potential(_on_top(each), voltage=voltage) for each in (feet, others))
    return np.asarray(one - other)


def _on_top(feet: Floats) -> Floats:
    return np.column_stack([feet, np.zeros(len(feet))])


def _moved(foot: tuple[float, float]) -> Floats:
    """Places a little off, on all four sides. [m]"""
    return np.array(foot) + SHIFT * np.array([(1, 0), (-1, 0), (0, 1), (0, -1)], dtype=float)


def _feet(
    result: Result, metal: TouchableMetal
) -> Iterator[tuple[tuple[float, float], str, float | None]]:
    """Places of feet from which a metal is touched: its worst, then one on each side."""
    kept: list[tuple[float, float]] = []
    for worst in result.worst:
        if worst.kind == "touch" and worst.name == metal.name:
            kept.append(worst.foot)
            yield worst.foot, "worst place", worst.voltage
    middle = 0.5 * (metal.vertices.min(axis=0) + metal.vertices.max(axis=0))
    far = 2 * metal.reach + float(np.ptp(metal.vertices, axis=0).sum())
    angles = 2 * math.pi * np.arange(_sides) / _sides
    around = middle + far * np.column_stack([np.cos(angles), np.sin(angles)])
    for x, y in metal.pulled_within_reach(around).tolist():
        if all(math.hypot(x - a, y - b) > _apart for a, b in kept):
            kept.append((x, y))
            yield (x, y), "beside it", None
