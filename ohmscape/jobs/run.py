"""Runs: from a case, and from its variants, to results."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from os import PathLike

import numpy as np

from ..cases.case import Case
from ..cases.circuit.operating import require_operable
from ..cases.fitting import fit_soil
from ..cases.loading import case_of
from ..solver.errors import ResultError, ToleranceError
from ..solver.model import same_metal
from ..solver.progress import Progress, headed, parts, unwatched
from ..solver.results.result import Result
from ..solver.solved_soil import remembering
from .evaluating import evaluate, share_before_verdict
from .refining import refined
from .solving import Solved, solve_case, studied_places, tolerance_of, with_along

_most_refinements = 4
# What solving a case costs beside evaluating it.
_solving = 3.0


def run_case(
    case: Case | str | PathLike[str],
    *,
    accuracy: str | None = None,
    progress: Progress = unwatched,
) -> Result:
    """Result of a case.

    Parameters
    ----------
    case : Case, str or path-like
        What `load_case` gave, or the path of a case file or the name of a shipped case.
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
    case = case_of(case)
    _check_drives(case)
    case = fit_soil(case)
    solving, evaluating = parts(progress, [_solving, 1.0])
    solved = solve_case(case, accuracy=accuracy, progress=solving)
    return _to_tolerance(case, solved, accuracy=accuracy, progress=evaluating)[1]


def run_variants(
    case: Case | str | PathLike[str],
    *,
    accuracy: str | None = None,
    coarser: float = 1.0,
    progress: Progress = unwatched,
    found: Callable[[Result], None] = lambda result: None,
) -> tuple[Result, ...]:
    """Results of a case as it stands and of each of its variants, in their order.

    Parameters
    ----------
    case, accuracy, progress
        As for `run_case`.
    coarser : float, default 1
        Multiplies the raster of the maps, for results that are not to be shown: the worst
        places are climbed to all the same, but one between its places may be missed.
    found : callable, optional
        Given each result as soon as it is found.

    Returns
    -------
    results : tuple of Result
        The first one is that of `run_case`. Those of the same metal in the same soil share
        its solution.

    Raises
    ------
    OhmscapeError
        As `run_case`.
    """
    case = fit_soil(case_of(case))
    cases = _every(case)
    shared = [_shares(cases, number) for number in range(len(cases))]
    solutions = Solutions(accuracy=accuracy, coarser=coarser)

    def result_of(number: int, progress: Progress) -> Result:
        result = solutions.result(cases[number], progress=progress)
        found(result)
        return result

    costs = [1.0 + (_solving if first == k else 0.0) for k, first in enumerate(shared)]
    return _one_by_one(cases, result_of=result_of, costs=costs, progress=progress)


class Solutions:
    """Unit solutions, shared by cases of the same metal in the same soil.

    Parameters
    ----------
    accuracy : str or None
        In place of the cases' own.
    coarser : float, default 1
        As for `run_variants`.
    for_many : bool, default False
        Whether cases that ask for the same places follow, so that potentials are kept.
    """

    def __init__(
        self, *, accuracy: str | None, coarser: float = 1.0, for_many: bool = False
    ) -> None:
        self._accuracy, self._coarser, self._for_many = accuracy, coarser, for_many
        self._known: list[tuple[Case, Solved]] = []
        self._found: list[Result] = []  # what variants of the same view take over

    def result(self, case: Case, *, progress: Progress = unwatched) -> Result:
        """Result of a fitted case, its variants left out; raises as `run_case`."""
        known = (k for k, (each, _) in enumerate(self._known) if solved_alike(each, case))
        place = next(known, len(self._known))
        if place == len(self._known):
            solving, progress = parts(progress, [_solving, 1.0])
            apart = (one for each, one in self._known if alike_but_wiring(each, case))
            same = next(apart, None)
            solved = (
                solve_case(case, accuracy=self._accuracy, progress=solving)
                if same is None
                else with_along(case, same)
            )
            if self._for_many:
                solved = replace(
                    solved, fine=remembering(solved.fine), coarse=remembering(solved.coarse)
                )
            self._known.append((case, solved))
        solved, result = _to_tolerance(
            case,
            self._known[place][1],
            accuracy=self._accuracy,
            coarser=self._coarser,
            earlier=self._found,
            progress=progress,
        )
        self._known[place] = (case, solved)  # perhaps a finer one
        if not self._for_many:
            self._found.append(result)
        return result


def solved_alike(one: Case, other: Case) -> bool:
    """Whether unit solutions of one case are those of another too."""
    return one.wiring == other.wiring and alike_but_wiring(one, other)


def alike_but_wiring(one: Case, other: Case) -> bool:
    """Whether unit solutions of metal at one potential are those of another case too."""
    return (
        one.soil == other.soil
        and one.numerics == other.numerics
        and same_metal(one.conductors, other.conductors)
        and np.array_equal(studied_places(one), studied_places(other))
    )


def _every(case: Case) -> tuple[Case, ...]:
    """The case and its variants, each found able to operate before anything is solved."""
    cases = (case, *case.variants)
    for each in cases:
        _check_drives(each)
    return cases


def _shares(cases: Sequence[Case], number: int) -> int:
    """The first of the cases whose unit solutions serve one of them."""
    return next(k for k in range(number + 1) if solved_alike(cases[k], cases[number]))


def reassess(
    case: Case,
    results: Sequence[Result],
    *,
    progress: Progress = unwatched,
    found: Callable[[Result], None] = lambda result: None,
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
    found : callable, optional
        Given each result as soon as it is found.

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
    case = fit_soil(case, kept=[item.sounding for item in results if item.sounding])
    cases, earlier = _every(case), list[Result]()

    def result_of(number: int, progress: Progress) -> Result:
        each = cases[number]
        before = _solved_before(each, results)
        # The preset of the run is not in the case when the command line gave it.
        tolerance = each.numerics.tolerance or before.accuracy.tolerance
        result = evaluate(
            each, Solved.of(before), tolerance=tolerance, earlier=earlier, progress=progress
        )
        earlier.append(result)
        found(result)
        return result

    return _one_by_one(cases, result_of=result_of, costs=[1.0] * len(cases), progress=progress)


def _solved_before(case: Case, results: Sequence[Result]) -> Result:
    """The result that holds the unit solutions of a case."""
    metal = [item for item in results if same_metal(case.conductors, item.solution.conductors)]
    what = f"variant '{case.variant}'" if case.variant else "the case"
    if not metal:
        msg = f"the metal of {what} is not that of the result: run the case instead"
        raise ResultError(msg)
    found = next((item for item in metal if _solves(item, case)), None)
    if found is None:
        which = "soil" if case.wiring is None else "soil, wired as it is (along_metal),"
        msg = f"the {which} of {what} is in no result of that folder: run the case instead"
        raise ResultError(msg)
    return found


def _solves(result: Result, case: Case) -> bool:
    """Whether a result of the metal of a case holds its unit solutions."""
    wiring = None if result.along is None else result.along.wiring
    return result.solution.soil == case.soil and wiring == case.wiring


def _to_tolerance(
    case: Case,
    solved: Solved,
    *,
    accuracy: str | None,
    coarser: float = 1.0,
    earlier: Sequence[Result] = (),
    progress: Progress,
) -> tuple[Solved, Result]:
    """Result that meets the tolerance, from finer solutions while it is missed."""
    tolerance = tolerance_of(case, accuracy=accuracy)
    made = partial(evaluate, case, tolerance=tolerance, coarser=coarser, earlier=earlier)
    for _ in range(_most_refinements):
        try:
            return solved, made(solved, progress=progress)
        except ToleranceError as miss:
            # Nobody can know of it before: what was kept for the verdict is divided again.
            left = parts(progress, [share_before_verdict, 1.0 - share_before_verdict])[1]
            refining, progress = parts(left, [_solving, 1.0])
            solved = refined(case, solved, miss=miss, progress=refining)
    return solved, made(solved, progress=progress)


def _one_by_one(
    cases: Sequence[Case],
    *,
    result_of: Callable[[int, Progress], Result],
    costs: Sequence[float],
    progress: Progress,
) -> tuple[Result, ...]:
    """Results of a case and its variants, under the name of each."""
    count = len(cases) - 1
    return tuple(
        result_of(number, headed(each, _heading(cases[number], number=number, count=count)))
        for number, each in enumerate(parts(progress, costs))
    )


def _heading(case: Case, *, number: int, count: int) -> str:
    """Which of the variants a case is; empty for the case as it stands."""
    return f"variant {number} of {count}, {case.variant}" if case.variant else ""


def _check_drives(case: Case) -> None:
    """Raise on drives that contradict: that must not wait for a mesh to be found."""
    require_operable(case)
