"""Variants of a case: another soil, or bonds and paths opened and closed."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from ..solver.errors import CaseError
from . import schema
from .case import Case, Variant
from .circuit.operating import operating_of
from .reading.documents import Document, Step
from .safety.safety import problems_of_safety
from .soil_survey.surveyed import soil_of


def as_variant(case: Case, variant: Variant) -> Case:
    """The case as one of its variants has it, without variants of its own."""
    switched, fitted = dict(variant.switched), dict(variant.fitted)
    return replace(
        case,
        variant=variant.name,
        variants=(),
        soil=variant.soil or case.soil,
        survey=case.survey if variant.soil is None else variant.survey,
        bonds=tuple(
            replace(bond, closed=switched.get(bond.name, bond.closed)) for bond in case.bonds
        ),
        circuit=None if case.circuit is None else case.circuit.switched(switched),
        protection=case.protection
        and tuple(
            replace(item, fitted=fitted.get(item.name, item.fitted)) for item in case.protection
        ),
    )


def equivalent_variants(case: Case) -> tuple[Variant, ...]:
    """The soils that fit the survey as well as the best one, each as a variant."""
    if case.survey is None:
        return ()
    return tuple(
        Variant(f"equivalent soil {number}", soil=soil)
        for number, soil in enumerate(case.survey.equivalents, start=1)
    )


def with_variants(
    case: Case, given: Sequence[schema.Variant], *, document: Document, folder: Path | None
) -> Case:
    """The case with its variants: equivalent soils first, then the user's own.

    Parameters
    ----------
    document : Document
        For lines and places.
    folder : Path or None
        Folder of the case file, for tables of surveys.

    Raises
    ------
    CaseError
        If a variant's soil is wrong, its bonds join electrodes that contradict, or the
        supply drives nothing in it or in the case.
    """
    own = [
        _variant(item, case=case, document=document, folder=folder, path=("variants", number))
        for number, item in enumerate(given)
    ]
    found = replace(case, variants=(*equivalent_variants(case), *own))
    problems = []
    each: list[tuple[tuple[Step, ...], Case]] = [
        (("variants", number), as_variant(case, variant)) for number, variant in enumerate(own)
    ]
    if case.circuit is not None:
        each.insert(0, (("circuit",), case))
    for path, held in each:
        try:
            operating_of(held, np.eye(len(case.drives)))
        except CaseError as error:
            problems.append(document.problem(str(error), path=path))
        if held.safety is not None and held.soil != case.soil:
            problems += problems_of_safety(
                held.safety, soil=held.soil, document=document, variant=held.variant
            )
    if problems:
        raise CaseError(problems)
    return found


def _variant(
    given: schema.Variant,
    *,
    case: Case,
    document: Document,
    folder: Path | None,
    path: tuple[Step, ...],
) -> Variant:
    soil, survey = None, None
    if given.soil is not None:
        soil, survey = soil_of(
            given.soil,
            conductors=case.conductors,
            document=document,
            folder=folder,
            path=(*path, "soil"),
        )
    switched = dict.fromkeys(given.close, True) | dict.fromkeys(given.open, False)
    fitted = dict.fromkeys(given.fit, True) | dict.fromkeys(given.remove, False)
    return Variant(
        given.name,
        soil=soil,
        survey=survey,
        switched=tuple(switched.items()),
        fitted=tuple(fitted.items()),
    )
