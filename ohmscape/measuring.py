"""From a case and its readings to comparison and calibration: what the verb `compare` does."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from time import perf_counter
from typing import Literal

import numpy as np

from .cases.case import Case, Profile
from .cases.measured import Measured
from .errors import CaseError, Problem
from .meshes import build_mesh
from .solver.measured import (
    Agreement,
    Explanation,
    FieldModel,
    Fit,
    Reading,
    Readings,
    State,
    Unknown,
    chosen_unknowns,
    explanations,
    field_model,
    fit,
    pairs,
    predicted,
    scaled_start,
    unknowns_of,
)
from .solver.measured.transfer import in_metal
from .solver.model import Floats, Soil
from .solving import plan

_curve_points = 80
# Misfit above which one unknown alone is not enough. [standard deviations]
NOT_ENOUGH = 1.5
# Where a case does not say what to fit.
_usual = ("soil scale", "contact")


@dataclass(frozen=True)
class Curve:
    """Simulated readings along the line of a series.

    Attributes
    ----------
    series : int
        Index of the series.
    distance : ndarray of float, shape (k,)
        Of the probe. [m]
    case, fitted : ndarray of float, shape (k,)
        Simulated with the case as it stands, and calibrated, in the unit of the readings.
    """

    series: int
    distance: Floats
    case: Floats
    fitted: Floats


@dataclass(frozen=True)
class Compared:
    """Readings of a case beside the model, and what they say about it.

    Attributes
    ----------
    title : str
        Heading.
    units : {"SI", "US"}
        Lengths in metres or feet.
    measured : Measured
        The readings.
    start : State
        What the case says.
    case : Agreement
        The case as it stands, beside the readings.
    explanations : tuple of Explanation
        Each unknown fitted alone, the one that explains most first.
    pairs : tuple of Fit
        Two together, the best pair first; only where none alone is enough.
    calibration : Fit
        The chosen unknowns, fitted together.
    calibrated : Agreement
        The calibrated model beside the readings.
    curves : tuple of Curve
        For series whose probe moved along a line.
    area : ndarray of float, shape (s, layers)
        Area of the metal of each set of bonded electrodes in each calibrated layer. [m²]
    method : str
        How fields were solved.
    solves : int
        Number of fields solved.
    seconds : float
        Time of all of it. [s]
    """

    title: str
    units: Literal["SI", "US"]
    measured: Measured
    start: State
    case: Agreement
    explanations: tuple[Explanation, ...]
    pairs: tuple[Fit, ...]
    calibration: Fit
    calibrated: Agreement
    curves: tuple[Curve, ...]
    area: Floats
    method: str
    solves: int
    seconds: float


def compare_case(
    case: Case,
    *,
    unknowns: Sequence[str] = (),
    accuracy: str | None = None,
    progress: Callable[[str], None] = lambda step: None,
) -> Compared:
    """The readings of a case held against its model, and a model fitted to them.

    Parameters
    ----------
    case : Case
        A case with readings.
    unknowns : sequence of str
        What to fit in place of what the case says: `soil scale`, `resistivities`,
        `thicknesses`, `resistivity of layer 1` …, `contact`, `reference`, `divider`,
        `current`.
    accuracy : {"coarse", "normal", "fine"}, optional
        Of the volume model, in place of the case's own.
    progress : callable, optional
        Told the name of each step as it begins.

    Returns
    -------
    compared : Compared

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
    measured = case.measured
    if measured is None:
        msg = "this case has no readings; give it a 'measured' block"
        raise CaseError([Problem(msg, file=case.source.file)])
    readings = measured.readings
    along = _along(measured, case)
    curve_points = [
        end.place for items in along.values() for _, r in items for end in r.ends if end.place
    ]
    points = np.array([*readings.places, *curve_points], dtype=float).reshape(-1, 3)
    model = field_model(
        case.conductors,
        points=points,
        bonds=tuple(bond.groups for bond in case.bonds if bond.closed),
        mesh=lambda: build_mesh(plan(_reaching(case, points), accuracy=accuracy)),
        order=case.numerics.order,
    )
    progress("the case as it stands")
    start = State(case.soil, (0.0,) * (int(model.set_of_group.max()) + 1))
    names = case.conductors.group_names
    among = unknowns_of(
        readings, state=start, set_of_group=model.set_of_group.tolist(), group_names=names
    )
    chosen = _chosen(unknowns or measured.fit, among=among, readings=readings, case=case)
    before = Agreement.of(readings, predicted(readings, model=model, state=start))
    progress("what alone would explain the readings")
    alone = explanations(readings, model=model, start=start, unknowns=among)
    together: tuple[Fit, ...] = ()
    if alone[0].fit.misfit > NOT_ENOUGH:
        together = pairs(readings, model=model, start=start, unknowns=among)
    progress("calibration")
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
        curves=_curves(along, model=model, states=(start, calibration.state)),
        area=_areas(case, model=model, soil=calibration.state.soil),
        method=model.method,
        solves=model.solves,
        seconds=perf_counter() - begun,
    )


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


def _along(measured: Measured, case: Case) -> dict[int, list[tuple[float, Reading]]]:
    """For each series on a line: distances and readings that would draw its curve."""
    found = {}
    for number in range(len(measured.series)):
        mine = [
            (told.distance, item)
            for told, item in zip(measured.told, measured.readings.items, strict=True)
            if told.series == number and not math.isnan(told.distance)
        ]
        probes = [item for _, item in mine if _moving(item) is not None]
        if len({distance for distance, _ in mine}) < 3 or len(probes) < len(mine):
            continue
        order = sorted(mine, key=lambda pair: pair[0])
        (near, first), (far, last) = order[0], order[-1]
        a, b = (np.array(_place(item)) for item in (first, last))
        distance = np.array([d for d, _ in order])
        share = (distance - near) / (far - near)
        straight = a + share[:, None] * (b - a)
        places = np.array([_place(item) for _, item in order])
        if np.abs(places - straight).max() > 1e-3 * (far - near):
            continue
        steps = np.geomspace(max(near, 1e-3 * far), far, _curve_points)
        line = a + ((steps - near) / (far - near))[:, None] * (b - a)
        outside = ~in_metal(line, conductors=case.conductors)
        found[number] = [
            (float(d), _moved(first, place))
            for d, place in zip(steps[outside], line[outside], strict=True)
        ]
    return found


def _moving(item: Reading) -> int | None:
    """Which end is the probe that moves: the only pin that is no reference."""
    pins = [k for k, end in enumerate(item.ends) if end.is_pin and not end.reference]
    return pins[0] if len(pins) == 1 else None


def _place(item: Reading) -> tuple[float, float, float]:
    moving = _moving(item)
    assert moving is not None
    place = item.ends[moving].place
    assert place is not None
    return place


def _moved(item: Reading, place: Floats) -> Reading:
    """The same reading with its probe elsewhere."""
    x, y, z = (float(value) for value in place)
    moving = _moving(item)
    end = replace(item.ends[moving or 0], place=(x, y, min(z, 0.0)))
    return replace(item, plus=end) if moving == 0 else replace(item, minus=end)


def _curves(
    along: dict[int, list[tuple[float, Reading]]],
    *,
    model: FieldModel,
    states: tuple[State, State],
) -> tuple[Curve, ...]:
    curves = []
    for number, items in along.items():
        readings = Readings(tuple(item for _, item in items))
        case, fitted = (predicted(readings, model=model, state=state) for state in states)
        distance = np.array([d for d, _ in items])
        curves.append(Curve(number, distance, case, fitted))
    return tuple(curves)


def _areas(case: Case, *, model: FieldModel, soil: Soil) -> Floats:
    """Area of each set's metal in each layer, ends of pieces left out, (s, layers). [m²]"""
    c = case.conductors
    face = 2 * np.pi * c.radius * c.length
    depths = np.sort(-np.column_stack([c.start[:, 2], c.end[:, 2]]), axis=1)
    upper, lower = depths.T
    planes = np.array([0.0, *soil.interface_depth, np.inf])
    inside = np.minimum(lower[:, None], planes[1:]) - np.maximum(upper[:, None], planes[:-1])
    level = lower - upper < 1e-9
    share = np.where(
        level[:, None],
        np.eye(len(planes) - 1)[soil.layer_at(upper)],
        np.maximum(inside, 0.0) / np.where(level, 1.0, lower - upper)[:, None],
    )
    sets = model.set_of_group[c.group]
    count = int(model.set_of_group.max()) + 1
    return np.array([(face[:, None] * share)[sets == k].sum(axis=0) for k in range(count)])


def film_of(compared: Compared, unknown: Unknown, *, value: float) -> Floats:
    """Film over the metal in each layer that acts like a contact resistance, (layers,).

    Parameters
    ----------
    compared : Compared
        For the metal and the calibrated layers.
    unknown : Unknown
        The contact resistance.
    value : float
        Its value. [Ω]

    Returns
    -------
    film : ndarray of float
        Resistance per area, in proportion to the resistivity of each layer, as loosened soil
        has it; nan in layers without metal. [Ω·m²]

    Notes
    -----
    In proportion, because then the current leaves the metal as without a film, with a
    density that goes as one over the resistivity. An even film in layered soil would drive
    current into the worse layers and change potentials per ampere.
    """
    area = compared.area[unknown.layer]
    rho = np.array(compared.calibration.state.soil.resistivity)
    return np.where(area > 0, value * (area / rho).sum() * rho, np.nan)
