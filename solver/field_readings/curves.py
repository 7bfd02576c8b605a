"""Simulated readings along the lines on which the probe of a series moved."""

import math
from dataclasses import dataclass, replace

import numpy as np

from ..model import Conductors, Floats
from .measured import Measured
from .prediction import predicted
from .readings import Reading, Readings
from .state import State
from .transfer import FieldModel, in_metal

_points = 80


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


def along_lines(
    measured: Measured, *, conductors: Conductors
) -> dict[int, list[tuple[float, Reading]]]:
    """For each series on a line: distances and readings that would draw its curve.

    Parameters
    ----------
    conductors : Conductors
        Metal, in which no probe can stand.

    Returns
    -------
    along : dict of int to list of (float, Reading)
        By index of the series; distance [m] of the probe and a reading with it there. Series
        whose probe moved to fewer than three distances, or not straight, are not in it.
    """
    found = {}
    for number in range(len(measured.series)):
        mine = [
            (note.distance, item)
            for note, item in zip(measured.notes, measured.readings.items, strict=True)
            if note.series == number and not math.isnan(note.distance)
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
        steps = np.geomspace(max(near, 1e-3 * far), far, _points)
        line = a + ((steps - near) / (far - near))[:, None] * (b - a)
        outside = ~in_metal(line, conductors=conductors)
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


def curves_along(
    along: dict[int, list[tuple[float, Reading]]],
    *,
    model: FieldModel,
    states: tuple[State, State],
) -> tuple[Curve, ...]:
    """Simulated readings along lines.

    Parameters
    ----------
    model : FieldModel
        Field of the metal at all their pins.
    states : tuple of State, length 2
        The case as it stands, and calibrated.

    Returns
    -------
    curves : tuple of Curve
        One for each series in `along`.

    Raises
    ------
    TrustError
        If a field misses its own limits.
    """
    curves = []
    for number, items in along.items():
        readings = Readings(tuple(item for _, item in items))
        case, fitted = (predicted(readings, model=model, state=state) for state in states)
        distance = np.array([d for d, _ in items])
        curves.append(Curve(number, distance, case, fitted))
    return tuple(curves)
