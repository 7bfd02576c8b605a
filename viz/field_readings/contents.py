"""What a comparison picture shows, as plain numbers."""

from dataclasses import dataclass

from ...solver.model import Floats


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
