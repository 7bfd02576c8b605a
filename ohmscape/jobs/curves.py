"""A case against one of its choices, by thin conductors: what the verb `curve` does."""

from collections.abc import Mapping

from ..cases.case import Case
from ..cases.design.space import Choice, Partly
from ..cases.designs import bill_of, design_case, quantities_of
from ..cases.fitting import fit_soil
from ..cases.reading.messages import not_among
from ..solver.design import Curve, CurvePoint
from ..solver.errors import CaseError, OhmscapeError, Problem
from ..solver.progress import Progress, parts, unwatched
from .layers_only import refuse_bodies
from .trying import Trials


def curve_of(
    case: Case,
    choice: str,
    *,
    others: Mapping[str, str] | None = None,
    progress: Progress = unwatched,
) -> Curve:
    """Resistance, largest share of the limits and cost of a case against one of its choices.

    Parameters
    ----------
    case : Case
        A case with a block `design`.
    choice : str
        Name of one of its choices.
    others : mapping of str to str, optional
        Options of other choices by their names; those not named are left as the case has
        them. Rules between choices are not asked.
    progress : callable, optional
        Told the name of each option as it is tried, and the share of the work done by then.

    Raises
    ------
    CaseError
        If there is no such choice or option, or the options of others do not go together.
    """
    if case.design is None:
        msg = "the case has nothing to choose from; write the block 'design'"
        raise CaseError([Problem(msg, file=case.source.file)])
    case = fit_soil(case)
    refuse_bodies(case, what="curves are solved by thin conductors, which know layers only")
    assert case.design is not None  # a fit changes the soil alone
    space = case.design
    number = _number(choice, space.choices)
    base: list[int | None] = [None] * len(space.choices)
    for name, option in (others or {}).items():
        other = _number(name, space.choices)
        if other == number:
            msg = f"choice {name!r} is the one that varies; leave it out of the others"
            raise CaseError(msg)
        options = space.choices[other].options
        if option not in options:
            raise CaseError(not_among(option, options, what=f"option of choice {name!r}"))
        base[other] = options.index(option)
    trials = Trials()
    options = space.choices[number].options
    points = []
    for row, each in enumerate(parts(progress, [1.0] * len(options))):
        each(f"{choice}: {options[row]}", 0.0)
        chosen = (*base[:number], row, *base[number + 1 :])
        points.append(_point(case, chosen, options[row], trials))
    return Curve(
        title=case.title,
        units=case.units,
        choice=choice,
        others=space.words(tuple(base)),
        currency=None if space.prices is None else space.prices.currency,
        targets=space.targets,
        points=tuple(points),
    )


def _number(name: str, choices: tuple[Choice, ...]) -> int:
    names = [choice.name for choice in choices]
    if name not in names:
        raise CaseError(not_among(name, names, what="choice"))
    return names.index(name)


def _point(case: Case, chosen: Partly, option: str, trials: Trials) -> CurvePoint:
    try:
        design = design_case(case, chosen)
        lines = bill_of(case, design, chosen)
        cost = sum(line.price or 0.0 for line in lines)
        if case.design is not None and case.design.prices is None:
            cost = quantities_of(design).metal
    except CaseError as error:
        return CurvePoint(option, float("inf"), None, str(error))
    known = [each.survey.found for each in (case, *case.variants) if each.survey is not None]
    try:
        return CurvePoint(option, cost, trials.evaluation(fit_soil(design, kept=known)))
    except OhmscapeError as error:
        return CurvePoint(option, cost, None, str(error))
