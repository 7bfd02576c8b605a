"""Runs: from a case, and from its variants, to results."""

from collections.abc import Callable, Sequence

import numpy as np

from ..cases.case import Case
from ..cases.circuit.operating import operating_of
from ..cases.variants import as_variant
from ..solver.errors import ResultError, ToleranceError
from ..solver.model import Soil, same_metal
from ..solver.progress import Progress, headed, parts, unwatched
from ..solver.results.result import Result
from .evaluating import evaluate, share_before_verdict
from .refining import refined
from .solving import Solved, solve_case, tolerance_of

_most_refinements = 4
# What solving a case costs beside evaluating it.
_solving = 3.0


def run_case(
    case: Case, *, accuracy: str | None = None, progress: Progress = unwatched
) -> Result:
    """Result of a case.

    Parameters
    ----------
    case : Case
        What `load_case` gave.
    accuracy : {"coarse", "normal", "fine"}, optional
        In place of the case's own.
    progress : callable, optional
        Told the name of each step as it begins, and the share of the work done by then.

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
    solving, evaluating = parts(progress, [_solving, 1.0])
    solved = solve_case(case, accuracy=accuracy, progress=solving)
    return _to_tolerance(case, solved, accuracy=accuracy, progress=evaluating)[1]


def run_variants(
    case: Case, *, accuracy: str | None = None, progress: Progress = unwatched
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

    def result_of(each: Case, progress: Progress) -> Result:
        if each.soil not in solved:
            solving, progress = parts(progress, [_solving, 1.0])
            solved[each.soil] = solve_case(each, accuracy=accuracy, progress=solving)
        solved[each.soil], result = _to_tolerance(
            each, solved[each.soil], accuracy=accuracy, progress=progress
        )
        return result

    return _with_variants(case, result_of=result_of, solving=_solving, progress=progress)


def run_again(
    case: Case, results: Sequence[Result], *, progress: Progress = unwatched
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
        Told the name of each step as it begins, and the share of the work done by then.

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

    def result_of(each: Case, progress: Progress) -> Result:
        if each.soil not in solved:
            what = f"variant '{each.variant}'" if each.variant else "the case"
            msg = f"the soil of {what} is in no result of that folder: run the case instead"
            raise ResultError(msg)
        before = solved[each.soil]
        # The preset of the run is not in the case when the command line gave it.
        tolerance = each.numerics.tolerance or before.accuracy.tolerance
        return evaluate(each, Solved.of(before), tolerance=tolerance, progress=progress)

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
            # Nobody can know of it before: what was kept for the verdict is divided again.
            left = parts(progress, [share_before_verdict, 1.0 - share_before_verdict])[1]
            refining, progress = parts(left, [_solving, 1.0])
            solved = refined(case, solved, miss=miss, progress=refining)
    return solved, evaluate(case, solved, tolerance=tolerance, progress=progress)


def _with_variants(
    case: Case,
    *,
    result_of: Callable[[Case, Progress], Result],
    solving: float = 0.0,
    progress: Progress,
) -> tuple[Result, ...]:
    """Results of a case and its variants, of which each new soil costs to be solved."""
    cases = [case, *(as_variant(case, item) for item in case.variants)]
    for each in cases:
        _check_drives(each)
    soils = [each.soil for each in cases]
    costs = [
        1.0 + (solving if soil not in soils[:number] else 0.0)
        for number, soil in enumerate(soils)
    ]
    return tuple(
        result_of(each, headed(reported, _heading(each, number=number, count=len(cases) - 1)))
        for number, (each, reported) in enumerate(
            zip(cases, parts(progress, costs), strict=True)
        )
    )


def _heading(case: Case, *, number: int, count: int) -> str:
    """Which of the variants a case is; empty for the case as it stands."""
    return f"variant {number} of {count}, {case.variant}" if case.variant else ""


def _check_drives(case: Case) -> None:
    """Raise on drives that contradict: that must not wait for a mesh to be found."""
    operating_of(case, np.eye(len(case.drives)))
