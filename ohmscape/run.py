"""Runs: from a case, and from its variants, to results."""

import platform
import resource
import sys
from collections.abc import Callable, Sequence
from importlib.metadata import version

import numpy as np

from . import __version__
from .cases.case import Case
from .cases.case import Profile as ProfileLine
from .cases.circuit import operating_of
from .cases.variants import as_variant
from .errors import ResultError, ToleranceError
from .judging import clearing_of, verdict_of
from .solver.accuracy import compare
from .solver.field import Field
from .solver.model import Soil, same_metal
from .solver.order_check import order_checks
from .solver.places import TouchableMetal
from .solver.result import Profile, Result
from .solver.surface import Area, SurfaceMap, surface_map
from .solver.worst import WorstVoltage, worst_step, worst_touch
from .solving import (
    Laps,
    Progress,
    Solved,
    agreement_of,
    mapped_area,
    refined,
    solve_case,
    tolerance_of,
)

_most_refinements = 4


def run_case(
    case: Case, *, accuracy: str | None = None, progress: Progress = lambda step: None
) -> Result:
    """Result of a case.

    Parameters
    ----------
    case : Case
        What `load_case` gave.
    accuracy : {"coarse", "normal", "fine"}, optional
        In place of the case's own.
    progress : callable, optional
        Told the name of each step as it begins.

    Returns
    -------
    result : Result

    Raises
    ------
    CaseError
        If bonds and drives contradict, or nothing is driven.
    BudgetError
        If the mesh would be larger than the case allows.
    MeshError, MissingLibraryError
        If the mesh cannot be made.
    TrustError
        If the result misses its own limits.
    """
    _check_drives(case)
    solved = solve_case(case, accuracy=accuracy, progress=progress)
    return _to_tolerance(case, solved, accuracy=accuracy, progress=progress)[1]


def run_variants(
    case: Case, *, accuracy: str | None = None, progress: Progress = lambda step: None
) -> tuple[Result, ...]:
    """Results of a case as it stands and of each of its variants, in their order.

    Parameters
    ----------
    case, accuracy, progress
        As for `run_case`.

    Returns
    -------
    results : tuple of Result
        The first one is that of `run_case`. Variants in the same soil share its solution.

    Raises
    ------
    OhmscapeError
        As `run_case`.
    """
    solved: dict[Soil, Solved] = {}

    def result_of(each: Case, told: Progress) -> Result:
        if each.soil not in solved:
            solved[each.soil] = solve_case(each, accuracy=accuracy, progress=told)
        solved[each.soil], result = _to_tolerance(
            each, solved[each.soil], accuracy=accuracy, progress=told
        )
        return result

    return _with_variants(case, result_of=result_of, progress=progress)


def run_again(
    case: Case, results: Sequence[Result], *, progress: Progress = lambda step: None
) -> tuple[Result, ...]:
    """Results of an edited case from what finished results hold; nothing is solved.

    Currents, circuit, protection, limits, bonds and maps may differ from those of the
    results. Metal and soil may not.

    Parameters
    ----------
    case : Case
        The edited case.
    results : sequence of Result, at least one
        Of the case before it was edited, and of its variants.
    progress : callable, optional
        Told the name of each step as it begins.

    Returns
    -------
    results : tuple of Result
        Of the case and of each of its variants.

    Raises
    ------
    ResultError
        If the metal is another, or the soil of the case or a variant is in no result.
    OhmscapeError
        As `run_case`, for what is not solved.
    """
    if not same_metal(case.conductors, results[0].solution.conductors):
        msg = "the metal of the case is not that of the result: run the case instead"
        raise ResultError(msg)
    solved = {result.solution.soil: result for result in results}

    def result_of(each: Case, told: Progress) -> Result:
        if each.soil not in solved:
            what = f"variant '{each.variant}'" if each.variant else "the case"
            msg = f"the soil of {what} is in no result of that folder: run the case instead"
            raise ResultError(msg)
        before = solved[each.soil]
        # The preset of the run is not in the case when the command line gave it.
        tolerance = each.numerics.tolerance or before.accuracy.tolerance
        return evaluate(each, Solved.of(before), tolerance=tolerance, progress=told)

    return _with_variants(case, result_of=result_of, progress=progress)


def _to_tolerance(
    case: Case, solved: Solved, *, accuracy: str | None, progress: Progress
) -> tuple[Solved, Result]:
    """Result that meets the tolerance, from finer solutions while it is missed."""
    tolerance = tolerance_of(case, accuracy=accuracy)
    for _ in range(_most_refinements):
        try:
            return solved, evaluate(case, solved, tolerance=tolerance, progress=progress)
        except ToleranceError as miss:
            solved = refined(case, solved, miss=miss, accuracy=accuracy, progress=progress)
    return solved, evaluate(case, solved, tolerance=tolerance, progress=progress)


def _with_variants(
    case: Case, *, result_of: Callable[[Case, Progress], Result], progress: Progress
) -> tuple[Result, ...]:
    """Results of a case and its variants."""
    cases = [case, *(as_variant(case, item) for item in case.variants)]
    for each in cases:
        _check_drives(each)
    results = []
    for each in cases:
        name = f"{each.variant}: " if each.variant else ""

        def told(step: str, name: str = name) -> None:
            progress(name + step)

        results.append(result_of(each, told))
    return tuple(results)


def evaluate(
    case: Case,
    solved: Solved,
    *,
    tolerance: float | None = None,
    progress: Progress = lambda step: None,
) -> Result:
    """Result of a case from unit solutions of its metal and soil; nothing is solved.

    Parameters
    ----------
    case : Case
        Drives, bonds and study.
    solved : Solved
        What `solve_case` gave for the same soil and metal.
    tolerance : float, optional
        In place of the case's own.
    progress : callable, optional
        Told the name of each step as it begins.

    Returns
    -------
    result : Result

    Raises
    ------
    CaseError
        If bonds and drives contradict, or nothing is driven.
    ToleranceError
        If the estimated error is above the tolerance.
    """
    laps = Laps(progress)
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
        sounding=None if case.survey is None else case.survey.sounding,
    )


def _check_drives(case: Case) -> None:
    """Raise on drives that contradict: that must not wait for a mesh to be found."""
    operating_of(case, np.eye(len(case.drives)))


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
