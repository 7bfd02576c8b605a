"""From unit solutions to a result: maps, worst places, accuracy, verdict."""

import platform
import resource
import sys
from collections.abc import Sequence
from importlib.metadata import version

import numpy as np

from .. import __version__
from ..cases.case import Case
from ..cases.circuit.operating import operating_of
from ..cases.study.study import Profile as ProfileLine
from ..solver.exposure.places import TouchableMetal
from ..solver.exposure.surface import Area, SurfaceMap, surface_map
from ..solver.exposure.worst import WorstVoltage, worst_step, worst_touch
from ..solver.handbook.order_check import order_checks
from ..solver.progress import Laps, Progress, unwatched
from ..solver.results.accuracy import compare
from ..solver.results.result import Profile, Result
from ..solver.solved_soil import Field
from .judging import clearing_of, verdict_of
from .solving import Solved, agreement_of, mapped_area, tolerance_of

# What the steps cost, as shares of them all.
_evaluating = {
    "maps": 0.5,
    "worst places": 0.15,
    "accuracy": 0.02,
    "second opinion at the worst places": 0.03,
    "verdict": 0.3,
}
# By when it is known whether a result meets its tolerance.
share_before_verdict = 1.0 - _evaluating["verdict"]


def evaluate(
    case: Case,
    solved: Solved,
    *,
    tolerance: float | None = None,
    progress: Progress = unwatched,
) -> Result:
    """Result of a case from unit solutions of its metal and soil; nothing is solved.

    Parameters
    ----------
    solved : Solved
        What `solve_case` gave for the same soil and metal.
    progress : callable, optional
        Told the name of each step as it begins, and the share of the work done by then.

    Raises
    ------
    CaseError
        If bonds and drives contradict, or nothing is driven.
    ToleranceError
        If the estimated error is above the tolerance.
    """
    laps = Laps(progress, _evaluating)
    laps.begin("maps")
    solution = solved.fine
    operating, operation = operating_of(case, solution.current_matrix)
    rougher, _ = operating_of(case, solved.coarse.current_matrix)
    field = Field(solution, operating.voltage)
    area, metals = mapped_area(case), touchable_metals(case)
    surface = surface_map(area, field=field, metals=metals, pace=case.study.pace)
    profiles = tuple(_profile(item, area=area, field=field) for item in case.study.profiles)
    laps.begin("worst places")
    worst = _worst(surface, metals=metals, field=field, area=area)
    laps.begin("accuracy")
    accuracy = compare(
        operating,
        worst=worst,
        metal_groups={metal.name: metal.group for metal in metals},
        coarse=solved.coarse,
        rougher=rougher,
        growth=solved.growth,
        tolerance=tolerance_of(case) if tolerance is None else tolerance,
    )
    laps.begin("second opinion at the worst places")
    agreed = agreement_of(case, solved, operating=operating, worst=worst)
    laps.begin("verdict")
    clearing = clearing_of(case, operating=operating, operation=operation)
    verdict = verdict_of(
        case,
        field=field,
        surface=surface,
        area=area,
        metals=metals,
        accuracy=accuracy,
        operation=operation,
        clearing=clearing,
    )
    laps.end()
    return Result(
        title=case.title,
        variant=case.variant,
        units=case.units,
        case_file=case.source.file,
        case_text=case.source.text,
        case_hash=case.source.sha256,
        solution=solution,
        coarse=solved.coarse,
        drives=case.drives,
        bonds=tuple(bond.groups for bond in case.bonds if bond.closed),
        operating=operating,
        area=area,
        surface=surface,
        metals=metals,
        worst=worst,
        profiles=profiles,
        order_checks=order_checks(case.conductors, soil=case.soil, operating=operating),
        accuracy=accuracy,
        seconds=solved.seconds | laps.seconds,
        peak_memory=_peak_memory(),
        versions=versions(),
        verdict=verdict,
        operation=operation,
        clearing=clearing,
        second_opinion=solved.second,
        agreement=agreed,
        sounding=None if case.survey is None else case.survey.found,
        north=case.north,
        job=case.job,
    )


def touchable_metals(case: Case) -> tuple[TouchableMetal, ...]:
    """Touchable metal of the case as the solver takes it."""
    reach = case.study.reach
    return tuple(
        TouchableMetal(item.name, item.group, item.shape, item.points, reach)
        for item in case.study.touchables
    )


def _profile(item: ProfileLine, *, area: Area, field: Field) -> Profile:
    """Potential along one of the case's lines."""
    start, end = np.array(item.start), np.array(item.end)
    length = float(np.linalg.norm(end - start))
    spacing = item.spacing or min(area.spacing, length / 200)
    share = np.linspace(0, 1, max(2, round(length / spacing) + 1))[:, None]
    plan_points = start + share * (end - start)
    points = np.column_stack([plan_points, np.full(len(share), -item.depth)])
    return Profile(item.name, points, field.potential(points))


def _worst(
    surface: SurfaceMap, *, metals: Sequence[TouchableMetal], field: Field, area: Area
) -> tuple[WorstVoltage, ...]:
    """Worst touch on each metal that can be reached, then the worst step."""
    found: list[WorstVoltage] = []
    for k, metal in enumerate(metals):
        found += worst_touch(surface, index=k, metal=metal, field=field, area=area)
    return (*found, *worst_step(surface, field=field, area=area))


def _peak_memory() -> float:
    """Largest resident memory of the process so far. [byte]"""
    unit = 1 if sys.platform == "darwin" else 1024
    return float(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit)


def versions() -> dict[str, str]:
    """Versions of Python, ohmscape and the libraries that make the numbers."""
    libraries = ("numpy", "scipy", "scikit-fem", "gmsh", "pyamg")
    found = {name: version(name) for name in libraries}
    return {"python": platform.python_version(), "ohmscape": __version__, **found}
