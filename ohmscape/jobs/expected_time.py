"""How long the parts of a run are expected to take, which its progress is measured by.

Seconds on one core of a plain machine, from the shipped cases (12,000 to 77,000 elements);
only their ratios matter.
"""

from ..cases.case import Case
from .run import solved_alike
from .solving import plan

seconds_per_element = 8e-5
"""From mesh to checks, both solutions and maps. [s]"""
_again = 0.25  # of that for a variant with the same metal in the same soil
_data, _picture, _report = 0.4, 0.7, 4.5
_other_pictures = 5  # potential, step, section, and the 3-D view as two


def computing_time(case: Case, *, accuracy: str | None = None) -> float:
    """Time to solve and evaluate a case and its variants. [s]

    Parameters
    ----------
    accuracy : {"coarse", "normal", "fine"}, optional
        In place of the case's own.

    Raises
    ------
    BudgetError
        If the mesh would be larger than the case allows.
    """
    cases = (case, *case.variants)
    seconds = 0.0
    for number, each in enumerate(cases):
        solved = not any(solved_alike(each, other) for other in cases[:number])
        elements = plan(each, accuracy=accuracy).elements
        seconds += seconds_per_element * elements * (1.0 if solved else _again)
    return seconds


def saving_time(case: Case, *, pictures: bool) -> float:
    """Time to write the results of a case and its variants. [s]

    Parameters
    ----------
    pictures : bool
        Whether to draw and to write the report.
    """
    judged = 0 if case.safety is None else len(case.safety.exposures)
    study = case.study
    count = _other_pictures + len(study.touchables) + judged + len(study.profiles)
    results = 1 + len(case.variants)
    drawing = _picture * count if pictures else 0.0
    return results * (_data + drawing) + (_report if pictures else 0.0)
