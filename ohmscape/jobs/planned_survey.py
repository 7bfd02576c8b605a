"""A planned soil survey, simulated over the ground of a case: what the verb `survey` does."""

from collections.abc import Sequence
from dataclasses import replace
from os import PathLike

import numpy as np

from ..cases.case import Case
from ..cases.fitting import fit_soil
from ..cases.loading import case_of
from ..cases.reading.size_limits import LARGEST_CONTRAST
from ..cases.soil_survey.readings import survey_of_table
from ..cases.soil_survey.surveyed import contrast, longest_extent, surveyed_soil
from ..cases.soil_survey.writing import survey_table
from ..meshes import build_mesh, mesh_plan
from ..meshes.counting import default_element_limit
from ..solver.contact import behind_contact
from ..solver.errors import BudgetError, CaseError, Problem, TrustError
from ..solver.field.solution import solve
from ..solver.memory import usable_memory
from ..solver.model import Floats, Mesh, Soil
from ..solver.progress import Progress, parts, unwatched
from ..solver.soil_survey import Sounding, fit_survey
from ..solver.soil_survey.planned import PlannedTraverse, SurveyPins
from ..solver.soil_survey.simulated import LayeredAnswer, SimulatedSurvey
from ..solver.solved_soil import SolvedSoil
from ..solver.thin_wire import second_opinion
from ..solver.threads import own_threads_only
from .solving import plan

# Elements at a pin in its distance from the nearest other pin of a reading, and in the
# thickness of the top layer at most: readings over layers and contacts come within 0.3 %.
_at_pins, _in_top_layer = 0.1, 1.0
_fineness = {"coarse": 0.75, "normal": 1.0, "fine": 1.4}
_coarser = 1.5
_directions = (
    "east-west", "north-east to south-west", "north-south", "north-west to south-east",
)  # fmt: skip


@own_threads_only()
def simulate_survey(
    case: Case | str | PathLike[str],
    *,
    accuracy: str | None = None,
    progress: Progress = unwatched,
) -> SimulatedSurvey:
    """What the planned soil survey of a case reads over its ground, and what that leads to.

    The ground is bare: electrodes of the case are not in it yet. They are then solved in the
    ground as it is, and in the layers that are fitted to the readings.

    Parameters
    ----------
    case : Case
        A case with a block `survey_plan`.
    accuracy : {"coarse", "normal", "fine"}, optional
        In place of the case's own.
    progress : callable, optional
        Told the name of each step as it begins, and the share of the work done by then.

    Raises
    ------
    CaseError
        If the case has no survey plan.
    OhmscapeError
        As `solve_case`.
    """
    case = case_of(case)
    if not case.survey_plan:
        msg = "the case plans no soil survey; write the block 'survey_plan'"
        raise CaseError([Problem(msg, file=case.source.file)])
    case = fit_soil(case)
    preset = accuracy or case.numerics.accuracy
    reading, fitting, solving = parts(progress, [4.0, 1.0, 3.0])
    reading("readings", 0.0)
    pins = SurveyPins.of(case.survey_plan)
    fine = _readings(case, pins, fineness=_fineness[preset])
    reading("readings on a coarser mesh", 0.7)
    rough = _readings(case, pins, fineness=_fineness[preset] / _coarser)
    error = max(float(np.abs(b / a - 1.0).max()) for a, b in zip(fine, rough, strict=True))
    fitting("layers", 0.0)
    table = _table(case, case.survey_plan, fine)
    soundings = _fitted(case, fine)
    solving("electrodes in the ground as it is", 0.0)
    true = _resistances(case, _by_elements(case, accuracy=preset))
    solving("electrodes in layers", 0.9)
    answers = tuple(
        LayeredAnswer(name, found, _resistances(case, _in_layers(case, found.chosen.soil)))
        for name, found in soundings
    )
    return SimulatedSurvey(
        traverses=case.survey_plan,
        soil=case.soil,
        resistances=fine,
        field_error=error,
        table=table,
        electrodes=case.conductors.group_names,
        true_resistance=true,
        answers=answers,
    )


def meshed_pins(
    pins: SurveyPins,
    *,
    soil: Soil,
    fineness: float = 1.0,
    element_limit: int = default_element_limit,
) -> Mesh:
    """Mesh for the pins of a survey.

    Raises
    ------
    CaseError
        If a pin stands in a face of a body.
    BudgetError
        If it would be larger than the limit, or than memory.
    """
    size = _at_pins * pins.room
    if soil.thickness:
        size = np.minimum(size, _in_top_layer * soil.thickness[0])
    planned = mesh_plan(
        pins.conductors,
        soil=soil,
        size=size / fineness,
        fineness=fineness,
        element_limit=element_limit,
        memory_limit=usable_memory(),
    )
    return build_mesh(planned)


def _readings(case: Case, pins: SurveyPins, *, fineness: float) -> tuple[Floats, ...]:
    """Readings by finite elements, by traverse. [Ω]"""
    limit = case.numerics.element_limit or default_element_limit
    mesh = meshed_pins(pins, soil=case.soil, fineness=fineness, element_limit=limit)
    return pins.resistances(solve(mesh, soil=case.soil, conductors=pins.conductors))


def _table(
    case: Case, traverses: Sequence[PlannedTraverse], resistances: Sequence[Floats]
) -> str:
    """The readings as the table of a survey."""
    notes = [
        f"Simulated soil survey of: {' '.join(case.title.split())}",
        "By finite elements over the ground of the case with its bodies; measured by nobody.",
    ]
    ways = [_direction(case, each) for each in traverses]
    return survey_table(traverses, resistances, notes=notes, directions=ways)


def _direction(case: Case, traverse: PlannedTraverse) -> str:
    """Which way a traverse runs: by the compass where the case knows north, else its angle."""
    angle = float(np.degrees(traverse.azimuth))
    if case.north is None:
        return f"{angle:.4g} deg from the x axis"
    # North is clockwise from y; the line runs both ways.
    from_east = angle + float(np.degrees(case.north))
    return _directions[round(from_east / 45.0) % 4]


def _fitted(case: Case, resistances: Sequence[Floats]) -> list[tuple[str, Sounding]]:
    """Layers fitted to each traverse, then to all, from the tables a reader would get."""
    plans = case.survey_plan
    alone = [(each.name, [each], [ohms]) for each, ohms in zip(plans, resistances, strict=True)]
    together = [("", list(plans), list(resistances))] if len(plans) > 1 else []
    diagonal = longest_extent(case.conductors)
    found = []
    for name, some, ohms in [*alone, *together]:
        readings = survey_of_table(_table(case, some, ohms).encode(), file="survey.csv")
        fit = fit_survey(readings.survey, electrode_diagonal=diagonal)
        # A lateral contact may ask for layers of a contrast that no case may have.
        layers = next(
            count
            for count in range(fit.supported, 0, -1)
            if contrast(fit.with_layers(count).soil) <= LARGEST_CONTRAST
        )
        fitted = surveyed_soil(readings, layers=layers, electrode_diagonal=diagonal)
        found.append((name, fitted.found))
    return found


def _by_elements(case: Case, *, accuracy: str | None = None) -> SolvedSoil:
    """Electrodes of a case in its ground, by finite elements."""
    mesh = build_mesh(plan(case, accuracy=accuracy))
    return solve(mesh, soil=case.soil, conductors=case.conductors, order=case.numerics.order)


def _in_layers(case: Case, soil: Soil) -> SolvedSoil:
    """Electrodes of a case in layers: by thin conductors, else by finite elements."""
    try:
        return second_opinion(case.conductors, soil=soil)
    except (BudgetError, TrustError):  # too many or too close for thin conductors
        return _by_elements(replace(case, layers=soil, survey=None))


def _resistances(case: Case, solved: SolvedSoil) -> Floats:
    """Resistance of each electrode with its contact, others without net current. [Ω]"""
    whole = behind_contact(solved, case.contact_resistance)
    return np.asarray(np.linalg.inv(whole.current_matrix).diagonal())
