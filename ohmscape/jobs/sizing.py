"""The designs of a case: tried, proven, and the cheapest that passes; what `size` does."""

from dataclasses import dataclass, replace
from pathlib import Path

from .. import __version__
from ..cases.case import Case
from ..cases.designs import design_text
from ..cases.fitting import fit_soil
from ..solver.design import Sizing
from ..solver.errors import CaseError, Problem
from ..solver.progress import Progress, parts, rising, unwatched
from ..solver.results.result import Result
from ..solver.wording import FOR_ENGINEERS_IN_SHORT
from .crew import Crew
from .design_search import DesignSearch
from .design_steps import with_steps
from .kept_designs import KeptDesigns
from .run import run_variants
from .trying import evaluation_of

_trying, _proving, _showing = 0.5, 0.4, 0.1  # of the time, where progress is shown


@dataclass(frozen=True)
class Sized:
    """What `size` found.

    Attributes
    ----------
    sizing : Sizing
        The search.
    design : Case
        The cheapest design that passes, or the one nearest to passing.
    results : tuple of Result
        Of that design and of its variants.
    """

    sizing: Sizing
    design: Case
    results: tuple[Result, ...]


def size_case(
    case: Case,
    *,
    accuracy: str | None = None,
    folder: Path | None = None,
    progress: Progress = unwatched,
) -> Sized:
    """The cheapest design of a case that passes, the front, and how far both are proven.

    Parameters
    ----------
    case : Case
        A case with a block `design`.
    accuracy : {"coarse", "normal", "fine"}, optional
        Of the finite elements, in place of the case's own.
    folder : Path, optional
        Where evaluations are kept while they are made; a search that was killed goes on from
        them. Left out, they are kept in memory.
    progress : callable, optional
        Told which design is tried, the best so far, and the share of the work done by then.

    Returns
    -------
    sized : Sized

    Raises
    ------
    CaseError
        If the case has no choices, or nothing to reach.
    OhmscapeError
        If the design to be shown cannot be solved.
    """
    case = _sizable(case)
    with Crew(case, accuracy=accuracy) as crew:
        kept = KeptDesigns(folder, case=case, accuracy=accuracy)
        return _sized(DesignSearch(case, kept, crew, unwatched), rising(progress))


def _sized(search: DesignSearch, progress: Progress) -> Sized:
    """Designs tried, proven, and the one to show run in full, until that one stays."""
    trying, proving, solving = parts(progress, [_trying, _proving, _showing])
    search.progress = trying
    search.try_all()
    search.progress = proving
    found: Sized | None = None
    while True:
        sizing = search.outcome()
        search.kept.save(now=True)
        shown = sizing.cheapest or sizing.nearest
        if shown is None:
            faults = dict.fromkeys(item.fault for item in sizing.tried)
            msg = f"no design can be built and solved: {next(iter(faults), '')}"
            raise CaseError([search.case.document.problem(msg, path=("design",))])
        if found is not None and found.sizing.shown.chosen == shown.chosen:
            return replace(found, sizing=with_steps(search, sizing))
        design = search.crew.work.design(shown.chosen)
        results = run_variants(design, accuracy=search.crew.work.accuracy, progress=solving)
        found = Sized(sizing, design, results)
        # Its finer map may find what misses, and says the numbers that are shown.
        search.shown_in_full(shown.chosen, evaluation_of(design, results))


def sized_text(case: Case, found: Sized) -> str:
    """Text of the case file of the design that was found, for a case with these choices.

    Raises
    ------
    CaseError
        If the text of the case cannot be edited to say that.
    """
    sizing = found.sizing
    assert case.design is not None  # it has been sized
    if sizing.cheapest is None:
        what = "NO DESIGN PASSES; this is the nearest"
    elif sizing.proven:
        what = "the cheapest that passes, by finite elements in all conditions"
    else:
        what = "the best found that passes, by finite elements in all conditions"
    cost = f"{sizing.shown.cost:,.0f} {sizing.currency or 'm of metal'}"
    heading = (
        f"Sized by ohmscape {__version__}: {what}, {cost}.",
        *(
            f"  {name}: {option}"
            for (name, _), option in zip(
                sizing.choices, sizing.options(sizing.shown.chosen), strict=True
            )
        ),
        FOR_ENGINEERS_IN_SHORT,
    )
    return design_text(case, sizing.shown.chosen, heading=heading)


def _sizable(case: Case) -> Case:
    """The case, its survey fitted; `CaseError` if it has no choices or nothing to reach."""
    if case.design is None:
        msg = "the case has nothing to choose from; write the block 'design'"
        raise CaseError([Problem(msg, file=case.source.file)])
    targets = case.design.targets
    if case.safety is None and targets.resistance is None and targets.rise is None:
        msg = (
            "has nothing to reach: write exposures into the block 'safety', or a resistance or "
            "rise into design.targets"
        )
        raise CaseError([case.document.problem(msg, path=("design",))])
    return fit_soil(case)
