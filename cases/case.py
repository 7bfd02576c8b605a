"""A case as everything after the case file sees it: frozen, typed, in SI units."""

from dataclasses import dataclass
from typing import Literal

from ..solver.circuit import Circuit
from ..solver.drives import Drive
from ..solver.model import Conductors, Soil
from ..solver.protection import Device
from ..solver.verdict import Safety
from .earth_tests.plans import EarthTestPlan
from .field_readings.measured import Measured
from .soil_survey.surveyed import SurveyedSoil
from .study.study import Numerics, Study


@dataclass(frozen=True)
class Bond:
    """Connection without resistance between two groups.

    Attributes
    ----------
    name : str
        The user's name.
    groups : tuple of int, length 2
        The two groups it connects.
    closed : bool
        Whether it is made; groups joined by closed bonds share one potential.
    """

    name: str
    groups: tuple[int, int]
    closed: bool


@dataclass(frozen=True)
class PartSummary:
    """What became of one part of an electrode.

    Attributes
    ----------
    name, kind : str
        The user's name, or kind and number; the kind in the case file.
    group : int
        Group it belongs to.
    rods : int
        Number of rods in it.
    rod_length, conductor_length : float
        Total length of its rods, and of its other metal. [m]
    """

    name: str
    kind: str
    group: int
    rods: int
    rod_length: float
    conductor_length: float


@dataclass(frozen=True)
class Source:
    """The text a case was read from.

    Attributes
    ----------
    file : str
        Name of the file; empty when the case came as text or from Python.
    text : str
        The text itself; for a case built in Python, its content as JSON.
    sha256 : str
        Hash of the bytes of the text.
    tables : tuple of tuple of str
        Name and hash of each table the case refers to.
    """

    file: str
    text: str
    sha256: str
    tables: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Variant:
    """The same metal under other conditions, solved beside the case.

    Attributes
    ----------
    name : str
        The user's name.
    soil : Soil or None
        Layers in place of the case's; None keeps them.
    survey : SurveyedSoil or None
        Survey to which `soil` was fitted.
    fitted : tuple of (str, bool)
        Names of protective devices, and whether each is there.
    switched : tuple of (str, bool)
        Names of bonds and paths, and whether each is closed here.
    """

    name: str
    soil: Soil | None = None
    survey: SurveyedSoil | None = None
    switched: tuple[tuple[str, bool], ...] = ()
    fitted: tuple[tuple[str, bool], ...] = ()


@dataclass(frozen=True)
class Case:
    """A case that passed every check.

    Attributes
    ----------
    title, note : str
        The user's words.
    units : {"SI", "US"}
        Units of printed output.
    soil : Soil
        Layers of soil.
    conductors : Conductors
        Straight pieces of metal, split where they join.
    drives : tuple of Drive, one per group
        What drives each group of `conductors`, bonded or not.
    bonds : tuple of Bond
        Connections between groups.
    parts : tuple of PartSummary, one per part
        What each part of `conductors` is.
    joints : int
        Number of places where two or more pieces meet.
    study : Study
        Where to look.
    numerics : Numerics
        How finely to compute.
    source : Source
        Where the case came from.
    survey : SurveyedSoil or None
        Survey to which `soil` was fitted, with ranges and equivalent models; None where the
        layers were given.
    variants : tuple of Variant
        Other conditions to solve beside it.
    variant : str
        Name of the variant that this case is; empty for the case as it stands.
    safety : Safety or None
        What is held against limits.
    circuit : Circuit or None
        Fault circuit that drives the electrodes in place of `drives`.
    protection : tuple of Device or None
        Protective devices; None leaves it to `safety` how long the fault lasts.
    earth_tests : tuple of EarthTestPlan
        Tests with an earth tester, to be predicted.
    measured : Measured or None
        Readings that the model is held against.
    north : float or None
        Direction of true north, clockwise from +y; None where the case does not say. [rad]
    job : tuple of (str, str)
        What the work is filed under: keys of the case file and their text.
    """

    title: str
    note: str
    units: Literal["SI", "US"]
    soil: Soil
    conductors: Conductors
    drives: tuple[Drive, ...]
    bonds: tuple[Bond, ...]
    parts: tuple[PartSummary, ...]
    joints: int
    study: Study
    numerics: Numerics
    source: Source
    survey: SurveyedSoil | None = None
    variants: tuple[Variant, ...] = ()
    variant: str = ""
    safety: Safety | None = None
    circuit: Circuit | None = None
    protection: tuple[Device, ...] | None = None
    earth_tests: tuple[EarthTestPlan, ...] = ()
    measured: Measured | None = None
    north: float | None = None
    job: tuple[tuple[str, str], ...] = ()
