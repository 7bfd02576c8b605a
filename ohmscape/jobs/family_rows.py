"""What is done with one row of a family, in any process alike: checked, tried, solved.

Each answer hangs on template and row alone, never on what the process did before: tables of a
soil are shared by the conditions of a row, as how wide they were made for another row would
show in the last figures.
"""

from dataclasses import dataclass
from functools import lru_cache

from threadpoolctl import threadpool_limits

from ..cases.case import Case
from ..cases.family.columns import AS_TEMPLATE
from ..cases.family.reading import row_case
from ..cases.family.rows import Row, Template, case_sha256
from ..cases.fitting import fit_soil
from ..solver.design import Evaluation, Targets
from ..solver.errors import BudgetError, CaseError, MeshError, Problem, TrustError
from ..solver.family import Record, Remedy, record_of
from ..solver.soil_survey import Sounding
from ..viz.doubts import doubt_texts, doubts_before, rise_doubts
from .remedies import remedy_of
from .run import run_variants
from .trying import Trials, evaluation_of
from .ways import as_it_stands

Checked = str | tuple[Problem, ...]
"""Hash of the case of a row, or all that is wrong with it."""


def checked(template: Template, row: Row) -> Checked:
    """Hash of the case of a row, or what is wrong with it."""
    try:
        return case_sha256(row_case(template, row))
    except CaseError as error:
        return error.problems


def tried(template: Template, targets: Targets, row: Row) -> Record:
    """What thin conductors find of a row."""
    try:
        case = as_it_stands(_fitted(template, row))
        with threadpool_limits(1):
            found = Trials().evaluation(case)
    except (BudgetError, TrustError) as error:
        return Record("thin conductors", "not solved", fault=_said(error), other_method=True)
    except CaseError as error:
        return Record("thin conductors", "not solved", fault=_said(error))
    return record_of(found, targets=targets, doubts=_doubts_before(case, found))


def solved(template: Template, targets: Targets, accuracy: str | None, row: Row) -> Record:
    """What finite elements find of a row, as a run of its case alone does."""
    try:
        case = as_it_stands(_fitted(template, row))
        with threadpool_limits(1):
            results = run_variants(case, accuracy=accuracy)
    except (CaseError, MeshError, TrustError) as error:
        return Record("finite elements", "not solved", fault=_said(error))
    return record_of(
        evaluation_of(case, results), targets=targets, doubts=tuple(doubt_texts(results))
    )


@dataclass(frozen=True)
class Asked:
    """A row that does not pass, of which is asked what would make it pass."""

    row: Row
    first: str  # condition that thin conductors found to decide
    proof: bool  # whether finite elements have to say so in any case


def remedied(
    template: Template, targets: Targets, accuracy: str | None, band: float, asked: Asked
) -> Remedy:
    """What would make a row pass, of what its template offers to be built."""
    try:
        case = _fitted(template, asked.row, design=True)
        with threadpool_limits(1):
            return remedy_of(
                case,
                targets=targets,
                accuracy=accuracy,
                band=band,
                first=asked.first,
                proof=asked.proof,
            )
    except CaseError as error:
        return Remedy(fault=_said(error))


def _fitted(template: Template, row: Row, *, design: bool = False) -> Case:
    """Case of a row; a survey that it shares with the template is fitted once a process."""
    return fit_soil(row_case(template, row, design=design), kept=_soundings(template))


@lru_cache(maxsize=4)
def _soundings(template: Template) -> tuple[Sounding, ...]:
    nothing = Row(0, 0, "", (AS_TEMPLATE,) * len(template.columns))
    case = fit_soil(row_case(template, nothing))
    every = (case, *case.variants)
    return tuple(each.survey.found for each in every if each.survey is not None)


def _doubts_before(case: Case, found: Evaluation) -> tuple[str, ...]:
    """What of a row cannot be, in any of its conditions, each once."""
    texts: dict[str, None] = {}
    for each, condition in zip((case, *case.variants), found.conditions, strict=True):
        of = f" of variant '{each.variant}'" if each.variant else ""
        said = rise_doubts(condition.rise, system=each.system, circuit=each.circuit, of=of)
        said += doubts_before(
            each.conductors,
            soil=each.soil,
            drives=each.drives,
            bonds=[bond.groups for bond in each.bonds if bond.closed],
            circuit=each.circuit,
            system=each.system,
            contact_resistance=each.contact_resistance,
        )
        texts |= dict.fromkeys(said)
    return tuple(texts)


def _said(error: Exception) -> str:
    """A message in one line."""
    return " ".join(str(error).split())
