"""Layers fitted to the surveys of a case: the step between reading a case and solving it."""

from collections.abc import Iterable
from dataclasses import replace

from ..solver.errors import CaseError
from ..solver.soil_survey import Sounding
from .case import Case
from .reading.problems import in_order
from .safety.feet import with_feet
from .safety.safety import problems_of_safety
from .soil_survey.soil import fitted_survey


def fit_soil(case: Case, *, kept: Iterable[Sounding] = ()) -> Case:
    """The case with layers fitted to its survey, and to those of its variants.

    Parameters
    ----------
    kept : iterable of Sounding
        Fits of earlier runs, as results keep them; taken again where readings, options and
        version of the program are the same.

    Returns
    -------
    case : Case
        The soils that fit the survey as well as the best one come first among its variants,
        as many as were asked for. A case whose layers are given or fitted comes back as is.

    Raises
    ------
    CaseError
        If the layers differ by more than can be computed, or limits and surface layers do not
        hold in them.
    """
    if is_fitted(case):
        return case
    known = list(kept)
    base = _fitted(case, known)
    variants = [_fitted(variant, known) for variant in case.variants]
    return with_feet(replace(base, variants=(*_equivalents(base), *variants)))


def is_fitted(case: Case) -> bool:
    """Whether the layers of a case and of its variants are known."""
    return all(item.layers is not None for item in (case, *case.variants))


def _fitted(case: Case, known: list[Sounding]) -> Case:
    if case.survey is None or case.layers is not None:
        return case
    survey = fitted_survey(case.survey, document=case.document, kept=known)
    known.append(survey.found)
    if case.safety is not None:
        problems = problems_of_safety(case.safety, soil=survey.soil, document=case.document)
        if problems:
            raise CaseError(in_order(problems))
    return replace(case, layers=survey.soil, survey=survey)


def _equivalents(case: Case) -> list[Case]:
    """The soils that fit the survey as well as the best one, each as a variant."""
    soils = () if case.survey is None else case.survey.equivalents
    return [
        replace(
            case,
            variant=f"equivalent soil {number}",
            changes=("soil",),
            variants=(),
            layers=soil,
            survey=None,
            option=case.option and replace(case.option, condition=f"equivalent soil {number}"),
        )
        for number, soil in enumerate(soils, start=1)
    ]
