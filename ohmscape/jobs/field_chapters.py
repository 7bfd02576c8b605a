"""What a case has for the field, as chapters of the report on its result."""

from ..cases.case import Case
from ..cases.fitting import fit_soil
from ..solver.errors import CaseError, Problem, ResultError
from ..solver.progress import Progress, parts, unwatched
from ..solver.results.result import Result
from ..viz.earth_tests.sections import prediction_sections
from ..viz.field_readings.sections import comparison_sections
from ..viz.report.contents import Section
from .earth_tests import predict_tests
from .field_readings import compare_case


def field_chapters(
    case: Case, *, result: Result, progress: Progress = unwatched
) -> tuple[Section, ...]:
    """Field readings held against the model, earth tests predicted: as the case has them.

    Parameters
    ----------
    case : Case
        The case of the result, read again with its tables.
    progress : callable, optional
        Told the name of each step as it begins, and the share of the work done by then.

    Raises
    ------
    ResultError
        If the result is of another case.
    CaseError
        If the case has neither readings nor earth tests.
    OhmscapeError
        As `compare_case` and `predict_tests`.
    """
    if case.source.sha256 != result.case_hash:
        msg = (
            f"{case.source.file or 'the case'} (SHA-256 {case.source.sha256[:12]}) is not the "
            f"case of the result ({result.case_hash[:12]}): run it again, or give that case"
        )
        raise ResultError(msg)
    if case.measured is None and not case.earth_tests:
        msg = "the case has nothing for the field; give it a 'measured' or 'earth_tests' block"
        raise CaseError([Problem(msg, file=case.source.file)])
    case = fit_soil(case, kept=[] if result.sounding is None else [result.sounding])
    comparing, testing = parts(progress, [1.0, 1.0])
    found: tuple[Section, ...] = ()
    if case.measured is not None:
        found += comparison_sections(compare_case(case, progress=comparing))
    if case.earth_tests:
        found += prediction_sections(predict_tests(case, progress=testing))
    return found
