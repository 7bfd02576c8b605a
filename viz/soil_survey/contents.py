"""What a sounding picture shows, as plain numbers."""

from collections.abc import Sequence
from dataclasses import dataclass

from ...solver.model import Flags, Floats, Integers, Soil


@dataclass(frozen=True)
class Curve:
    """One fitted model as it is drawn.

    Attributes
    ----------
    name : str
        What the key calls it.
    spacing, apparent_resistivity : ndarray of float, shape (m,)
        Points of its curve, spacing rising; nan breaks the line. [m], [Ω·m]
    """

    name: str
    spacing: Floats
    apparent_resistivity: Floats


@dataclass(frozen=True)
class LayerRange:
    """Range of one parameter among all models that fit within the noise.

    Attributes
    ----------
    low, high : float
        Ends of the range. [Ω·m] or [m]
    resolved : bool
        Whether the readings determine the parameter.
    """

    low: float
    high: float
    resolved: bool


@dataclass(frozen=True)
class SoundingPicture:
    """What a sounding picture shows.

    Attributes
    ----------
    title, subtitle : str
        Heading; what was fitted.
    units : {"SI", "US"}
        Lengths in metres or feet.
    names : tuple of str
        Traverses.
    spacing, apparent_resistivity, residual : ndarray of float, shape (n,)
        The readings; residual is ln(measured / fitted) of the chosen model. [m], [Ω·m]
    traverse : ndarray of int, shape (n,)
        Index into `names`.
    driven_rod, outlier : ndarray of bool, shape (n,)
        Whether a reading is of a driven rod; whether it is off the curve.
    curves : sequence of Curve
        Fitted models, the chosen one first.
    soil : Soil
        The chosen model.
    resistivity_range, depth_range : tuple of LayerRange
        Range of each layer's resistivity, and of the depth of each plane.
    equivalents : tuple of Soil
        Models that fit as well.
    """

    title: str
    subtitle: str
    units: str
    names: tuple[str, ...]
    spacing: Floats
    apparent_resistivity: Floats
    residual: Floats
    traverse: Integers
    driven_rod: Flags
    outlier: Flags
    curves: Sequence[Curve]
    soil: Soil
    resistivity_range: tuple[LayerRange, ...]
    depth_range: tuple[LayerRange, ...]
    equivalents: tuple[Soil, ...] = ()
