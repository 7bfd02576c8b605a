"""From a case and its readings to comparison and calibration: what the verb `compare` does."""

from collections.abc import Sequence
from dataclasses import replace
from os import PathLike
from time import perf_counter

import numpy as np

from ..cases.case import Case
from ..cases.fitting import fit_soil
from ..cases.loading import case_of
from ..cases.study.study import Profile
from ..meshes import build_mesh
from ..solver.errors import CaseError, Problem
from ..solver.field_readings import (
    NOT_ENOUGH,
    Agreement,
    Compared,
    Explanation,
    FieldModel,
    Fit,
    Reading,
    Readings,
    State,
    Unknown,
    along_lines,
    chosen_unknowns,
    curves_along,
    explanations,
    field_model,
    fit,
    pairs,
    predicted,
    scaled_start,
    unknowns_of,
)
from ..solver.field_readings.transfer import Transfer
from ..solver.model import Floats, Soil
from ..solver.progress import Progress, parts, unwatched
from .layers_only import refuse_bedded, refuse_bodies
from .solving import plan

# Where a case does not say what to fit.
_usual = ("soil scale", "contact")


def compare_case(
    case: Case | str | PathLike[str],
    *,
    unknowns: Sequence[str] = (),
    accuracy: str | None = None,
    progress: Progress = unwatched,
) -> Compared:
    """The readings of a case held against its model, and a model fitted to them.

    Parameters
    ----------
    unknowns : sequence of str
        What to fit in place of what the case says: `soil scale`, `resistivities`,
        `thicknesses`, `resistivity of layer 1` …, `contact`, `reference`, `divider`,
        `current`.
    accuracy : {"coarse", "normal", "fine"}, optional
        Of the volume model, in place of the case's own.
    progress : callable, optional
        Told the name of each step as it begins, and the share of the work done by then.

    Raises
    ------
    CaseError
        If the case has no readings, they stand in metal, or what to fit does not fit them.
    BudgetError, MeshError, MissingLibraryError
        If the mesh cannot be made.
    TrustError
        If a field misses its own limits.
    """
    begun = perf_counter()
    case = fit_soil(case_of(case))
    measured = case.measured
    if measured is None:
        msg = "this case has no readings; give it a 'measured' block"
        raise CaseError([Problem(msg, file=case.source.file)])
    refuse_bodies(case, what="readings are predicted and fitted in layers only")
    refuse_bedded(case, what="readings are fitted by one resistivity for each layer")
    readings = measured.readings
    along = along_lines(measured, conductors=case.conductors)
    model = _model(case, along=along, accuracy=accuracy)
    fields = _Fields(model)
    standing, explaining, calibrating = parts(progress, [1.0, 8.0, 6.0])
    fields.begin("the case as it stands", progress=standing, expected=1)
    start = State(case.soil, case.contact_resistance)
    metal, names = case.conductors, case.conductors.group_names
    among = unknowns_of(
        readings, state=start, set_of_group=model.set_of_group.tolist(), group_names=names
    )
    chosen = _chosen(unknowns or measured.fit, among=among, readings=readings, case=case)
    before = Agreement.of(readings, predicted(readings, model=model, state=start))
    fields.begin(
        "what alone would explain the readings", progress=explaining, expected=5 * len(among)
    )
    alone = explanations(readings, model=model, start=start, unknowns=among)
    together: tuple[Fit, ...] = ()
    if alone[0].fit.misfit > NOT_ENOUGH:
        together = pairs(readings, model=model, start=start, unknowns=among)
    fields.begin("calibration", progress=calibrating, expected=8 * len(chosen))
    scaled = scaled_start(readings, model=model, start=start, unknowns=chosen, among=among)
    calibration = fit(
        readings,
        model=model,
        start=_nearest(scaled, alone=alone, chosen=chosen, readings=readings, model=model),
        unknowns=chosen,
    )
    return Compared(
        title=case.title,
        units=case.units,
        measured=measured,
        start=start,
        case=before,
        explanations=alone,
        pairs=together,
        calibration=calibration,
        calibrated=Agreement.of(readings, calibration.predicted),
        curves=curves_along(along, model=model, states=(start, calibration.state)),
        electrodes=names,
        filmed=tuple(bool(metal.contact[metal.group == k].any()) for k in range(len(names))),
        method=model.method,
        solves=model.solves,
        seconds=perf_counter() - begun,
    )


def _model(
    case: Case, *, along: dict[int, list[tuple[float, Reading]]], accuracy: str | None
) -> FieldModel:
    """Field of the metal at all pins: of the readings, and of the curves along their lines."""
    assert case.measured is not None
    curved = [
        end.place for items in along.values() for _, r in items for end in r.ends if end.place
    ]
    pins = [*case.measured.readings.places, *curved]
    points = np.array(pins, dtype=float).reshape(-1, 3)
    return field_model(
        case.conductors,
        points=points,
        bonds=tuple(bond.groups for bond in case.bonds if bond.closed),
        mesh=lambda: build_mesh(plan(_reaching(case, points), accuracy=accuracy)),
        order=case.numerics.order,
    )


class _Fields:
    """Solver of a model that tells each field it solves, among those expected of a step."""

    def __init__(self, model: FieldModel) -> None:
        self._solve = model.solver
        model.solver = self

    def begin(self, step: str, *, progress: Progress, expected: int) -> None:
        """Begin a step of so many fields, more or less."""
        self._step, self._progress, self._expected, self._count = step, progress, expected, 0
        progress(step, 0.0)

    def __call__(self, soil: Soil) -> Transfer:
        """Volts per ampere in a soil."""
        share = min(1.0, self._count / self._expected)
        self._count += 1
        self._progress(f"{self._step}: field {self._count}", share)
        return self._solve(soil)


def _nearest(
    scaled: State,
    *,
    alone: Sequence[Explanation],
    chosen: Sequence[Unknown],
    readings: Readings,
    model: FieldModel,
) -> State:
    """The state known to be closest to the readings in which only chosen unknowns differ.

    A soil scale counts from the soil that its fit starts from: that has to be the case's.
    """
    if any(unknown.kind == "soil scale" for unknown in chosen):
        return scaled
    misfit = Agreement.of(readings, predicted(readings, model=model, state=scaled)).misfit
    tried = [item for item in alone if item.unknown in chosen]
    best = min(tried, key=lambda item: item.fit.misfit)
    return best.fit.state if best.fit.misfit < misfit else scaled


def _reaching(case: Case, points: Floats) -> Case:
    """The case with the places of all pins among those that its mesh must reach."""
    far = tuple(
        Profile("", (float(x), float(y)), (float(x), float(y)), float(-z), None)
        for x, y, z in points
    )
    return replace(case, study=replace(case.study, profiles=(*case.study.profiles, *far)))


def _chosen(
    names: Sequence[str], *, among: Sequence[Unknown], readings: Readings, case: Case
) -> tuple[Unknown, ...]:
    """What to fit: as asked, or the soil scale and contacts as far as readings go."""
    if not names:
        usual = [u for u in among if u.kind in _usual]
        return tuple(usual[: len(readings)])
    try:
        return chosen_unknowns(names, among=among)
    except CaseError as error:
        found = [Problem(p.message, file=case.source.file) for p in error.problems]
        raise CaseError(found) from error
