"""What a comparison picture shows, as plain numbers."""

from dataclasses import dataclass

import numpy as np

from ...solver.field_readings import Compared, Curve
from ...solver.model import Floats
from ...solver.wording import number_text
from ..wording import Unit, length_unit, significant
from .words import explains, fitted_values

_most_panels = 6


@dataclass(frozen=True)
class SeriesPanel:
    """One series: readings with error bars, curves of the model.

    Attributes
    ----------
    name : str
        Name of the series and what the meter was across.
    value_name : str
        Name of the readings with their unit.
    distance : ndarray of float, shape (n,)
        Of the probe, in the unit of lengths; numbers of readings where it has no line.
    value, deviation : ndarray of float, shape (n,)
        Measured, with one standard deviation.
    case, fitted : ndarray of float, shape (n,)
        Simulated at the readings.
    curve : ndarray of float, shape (3, k)
        Distance, case and calibrated along the line; k = 0 without a line.
    numbered : bool
        Whether `distance` holds numbers of readings.
    """

    name: str
    value_name: str
    distance: Floats
    value: Floats
    deviation: Floats
    case: Floats
    fitted: Floats
    curve: Floats
    numbered: bool


@dataclass(frozen=True)
class Bar:
    """One explanation in the ranking.

    Attributes
    ----------
    name, text : str
        The unknown; its value in words.
    misfit : float
        What is left.
    """

    name: str
    text: str
    misfit: float


@dataclass(frozen=True)
class ComparePicture:
    """What a comparison picture shows.

    Attributes
    ----------
    title, subtitle : str
        Heading; what was fitted.
    length : str
        Unit of lengths.
    panels : tuple of SeriesPanel
        One for each series.
    misfit : float
        Of the case as it stands.
    bars : tuple of Bar
        Ranking of explanations, best first.
    calibrated : Bar
        All chosen unknowns together.
    left_out : int
        Series that are not shown.
    """

    title: str
    subtitle: str
    length: str
    panels: tuple[SeriesPanel, ...]
    misfit: float
    bars: tuple[Bar, ...]
    calibrated: Bar
    left_out: int = 0


def compare_picture(compared: Compared, *, units: str) -> ComparePicture:
    """What the picture of a comparison shows.

    Parameters
    ----------
    units : {"SI", "US"}
        Of lengths.
    """
    fit = compared.calibration
    together = ", ".join(f"{item.name} {item.value}" for item in fitted_values(fit))
    measured = compared.measured
    curves = {curve.series: curve for curve in compared.curves}
    unit = length_unit(units)
    panels = [
        panel
        for number in range(len(measured.series))
        for per in ("ampere", "source")
        if (panel := _panel(compared, number, per, curves.get(number), unit)) is not None
    ]
    return ComparePicture(
        title=compared.title,
        subtitle=(
            f"{number_text(len(measured.readings), 'reading')}: misfit "
            f"{significant(compared.case.misfit)} as the case stands, "
            f"{significant(fit.misfit)} calibrated"
        ),
        length=unit.symbol,
        panels=tuple(panels[:_most_panels]),
        misfit=compared.case.misfit,
        bars=tuple(
            Bar(item.name, item.value if explains(found) else "", found.fit.misfit)
            for found in compared.explanations
            for item in fitted_values(found.fit)
        ),
        calibrated=Bar("calibrated", together, fit.misfit),
        left_out=max(len(panels) - _most_panels, 0),
    )


def _panel(
    compared: Compared, number: int, per: str, curve: Curve | None, unit: Unit
) -> SeriesPanel | None:
    """Readings of one series that are divided by the same; None without any."""
    measured = compared.measured
    notes, items = measured.notes, measured.readings.items
    mine = [
        k
        for k, item in enumerate(items)
        if notes[k].series == number and item.per == per and not item.loop
    ]
    if not mine:
        return None
    series = measured.series[number]
    share = 100.0 if per == "source" else 1.0
    distance = np.array([notes[k].distance for k in mine]) * unit.factor
    numbered = curve is None
    if numbered:
        distance = np.array([notes[k].number for k in mine], dtype=float)
    line = np.zeros((3, 0))
    # A curve is of the kind of the nearest reading.
    if curve is not None:
        line = np.array(
            [curve.distance * unit.factor, share * curve.case, share * curve.fitted]
        )
    return SeriesPanel(
        name=f"{series.name}: {series.across[0]} over {series.across[1]}",
        value_name="Share of the source voltage [%]"
        if per == "source"
        else "Voltage per ampere [Ω]",
        distance=distance,
        value=share * measured.readings.value[mine],
        deviation=share * measured.readings.deviation[mine],
        case=share * compared.case.predicted[mine],
        fitted=share * compared.calibrated.predicted[mine],
        curve=line,
        numbered=numbered,
    )
