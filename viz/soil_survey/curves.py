"""Curves of a soil in a sounding picture: what the layouts give at and between readings."""

import numpy as np

from ...solver.model import Floats, Soil
from ...solver.soil_survey import (
    DrivenRodReadings,
    FourPinReadings,
    Survey,
    apparent_resistivity,
    layered_rod_resistance,
)
from .contents import Curve

_per_decade = 24  # points of a smooth curve
_rods_per_decade = 40


def curve_of(survey: Survey, *, soil: Soil, name: str) -> Curve:
    """Curve of one soil for all layouts of a survey.

    Pins at equal distances share one smooth curve. Other layouts get one for each traverse,
    their pins moved evenly from one reading to the next; so do driven rods.
    """
    pieces: list[tuple[Floats, Floats]] = []
    if survey.four_pin is not None:
        pieces += _four_pin_pieces(survey.four_pin, soil)
    if survey.driven_rod is not None:
        pieces += _rod_pieces(survey.driven_rod, soil)
    gap = np.array([np.nan])
    spacing = [part for x, _ in pieces for part in (x, gap)]
    value = [part for _, y in pieces for part in (y, gap)]
    return Curve(name, np.concatenate(spacing[:-1]), np.concatenate(value[:-1]))


def _four_pin_pieces(readings: FourPinReadings, soil: Soil) -> list[tuple[Floats, Floats]]:
    wenner = readings.is_wenner
    pieces = []
    if wenner.any():
        a = _smooth(readings.spacing[wenner])
        pins = a[:, None] * np.arange(4)
        depth = float(np.median(readings.pin_depth[wenner]))
        pieces.append((a, apparent_resistivity(pins, soil=soil, pin_depth=depth)))
    for traverse in np.unique(readings.traverse[~wenner]):
        mine = readings.subset(~wenner & (readings.traverse == traverse))
        pins, depths = _between(mine)
        value = apparent_resistivity(pins, soil=soil, pin_depth=depths)
        pieces.append((np.ptp(pins, axis=1) / 3, value))
    return pieces


def _between(readings: FourPinReadings) -> tuple[Floats, Floats]:
    """Pins and depths that go through all layouts of one traverse, with steps between."""
    order = np.argsort(readings.spacing, kind="stable")
    pins, depth = readings.pins[order], readings.pin_depth[order]
    place = np.arange(len(pins), dtype=float)
    steps = np.linspace(0, len(pins) - 1, 8 * (len(pins) - 1) + 1)
    low = pins.min(axis=1, keepdims=True)
    span = np.ptp(pins, axis=1)
    shape = (pins - low) / span[:, None]
    moved = np.column_stack([np.interp(steps, place, column) for column in shape.T])
    size = np.exp(np.interp(steps, place, np.log(span)))
    return moved * size[:, None], np.interp(steps, place, depth)


def _rod_pieces(readings: DrivenRodReadings, soil: Soil) -> list[tuple[Floats, Floats]]:
    pieces = []
    for traverse in np.unique(readings.traverse):
        mine = readings.subset(readings.traverse == traverse)
        radius = float(np.median(mine.radius))
        length = _smooth(mine.driven_length, per_decade=_rods_per_decade)
        ohms = layered_rod_resistance(length, radius=radius, soil=soil)
        as_read = DrivenRodReadings.single(length, radius=radius, resistance=ohms)
        pieces.append((length, as_read.apparent_resistivity))
    return pieces


def _smooth(spacing: Floats, *, per_decade: int = _per_decade) -> Floats:
    """Spacings from the smallest to the largest, evenly in the logarithm."""
    low, high = float(spacing.min()), float(spacing.max())
    count = max(2, 1 + round(per_decade * np.log10(high / low)))
    return np.geomspace(low, high, count)
