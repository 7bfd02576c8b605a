"""A case as everything after the case file sees it: frozen, typed, in SI units."""

from dataclasses import dataclass, field
from typing import Literal

from ..solver.circuit import Circuit
from ..solver.design import PricedOption
from ..solver.distances import DistancePlan
from ..solver.drives import Drive, System
from ..solver.earth_tests import EarthTestPlan
from ..solver.errors import CaseError
from ..solver.field_readings import Measured
from ..solver.ground_picture import GroundPicture
from ..solver.heating import HeatingPlan, Material
from ..solver.metal import FeedPlace
from ..solver.metal.wiring import Port, Wiring
from ..solver.model import Conductors, Soil
from ..solver.plan_place import SitePlace
from ..solver.protection import Device
from ..solver.shown import Row, amount, as_html, as_text, stack
from ..solver.soil_survey.planned import PlannedTraverse
from ..solver.verdict import Safety
from ..solver.wording import plain
from .design.space import DesignSpace
from .drawn_plan import DrawnPlan
from .reading.documents import Document
from .soil_survey.surveyed import SurveyedSoil
from .study.study import Numerics, Study
from .uncertainty.inputs import UncertaintyPlan


@dataclass(frozen=True)
class Bond:
    """Connection without resistance between two groups."""

    name: str
    groups: tuple[int, int]  # the two groups it connects
    closed: bool  # whether it is made; groups joined by closed bonds share one potential


@dataclass(frozen=True)
class Raised:
    """What joins metal of a part that does not touch the soil: the rail of a fence, bonds."""

    # Places of the metal that are joined, two by two, (x, y, z) [m]
    ends: tuple[tuple[tuple[float, float, float], tuple[float, float, float]], ...]
    apart: int  # parts that the metal of the part falls into all the same
    height: float = 0.0  # of what joins them, over the surface [m]
    material: str = ""  # as `PartSummary` has it
    radius: float = 0.0  # of its metal; 0 of bonds without impedance [m]
    stranded: float | None = None  # as `PartSummary` has them
    strip: tuple[float, float] | None = None


@dataclass(frozen=True)
class PartSummary:
    """What became of one part of an electrode."""

    name: str  # the user's name, or kind and number; the kind in the case file
    kind: str
    group: int
    rods: int
    rod_length: float  # total length of its rods, and of its other metal [m]
    conductor_length: float
    strip: tuple[float, float] | None = None  # width and thickness, where it is one [m]
    section: float = 0.0  # of its metal across, the least where it has several [m²]
    material: str = ""  # as the case file spells it; empty where it does not say
    stranded: float | None = None  # section of the metal where it is stranded [m²]
    temperature: float = 20.0  # of the metal [°C]
    # Section of the metal of its conductors, and the length that has it [m²], [m]
    sections: tuple[tuple[float, float], ...] = ()
    plates: int = 0  # faces of plates and piles, and their area [m²]
    area: float = 0.0
    raised: Raised | None = None


@dataclass(frozen=True)
class Source:
    """The text a case was read from."""

    file: str  # name of the file; empty when the case came as text or from Python
    text: str  # the text itself; for a case built in Python, its content as JSON
    sha256: str  # hash of the bytes of the text
    tables: tuple[tuple[str, str], ...] = ()  # name and hash of each table the case refers to


@dataclass(frozen=True, repr=False)
class Case:
    """A case that passed every check.

    Attributes
    ----------
    title, note : str
        The user's words.
    units : {"SI", "US"}
        Units of printed output.
    layers : Soil or None
        Layers of soil; None while they are still to be fitted to `survey`.
    conductors : Conductors
        Straight pieces of metal, split where they join.
    drives : tuple of Drive, one per group
        What drives each group of `conductors`, bonded or not.
    contact_resistance : tuple of float, one per group
        In series between the metal of each group and the soil. [Ω]
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
    document : Document
        What was read, for the line and place of problems that are found later.
    survey : SurveyedSoil or None
        Survey of the soil; None where the layers were given.
    variants : tuple of Case
        The case under other conditions, each a whole case of its own, to be solved beside it.
    variant : str
        Name of the variant that this case is; empty for the case as it stands.
    changes : tuple of str
        What sets a variant apart, one thing each, in the words of the case file.
    safety : Safety or None
        What is held against limits.
    circuit : Circuit or None
        Fault circuit that drives the electrodes in place of `drives`.
    protection : tuple of Device or None
        Protective devices; None leaves it to `safety` how long the fault lasts.
    heating : HeatingPlan or None
        Leads and metal that are held against how hot they may get.
    distances : DistancePlan or None
        How far voltages reach, where somebody asks.
    earth_tests : tuple of EarthTestPlan
        Tests with an earth tester, to be predicted.
    survey_plan : tuple of PlannedTraverse
        Soil survey to be simulated over its soil.
    measured : Measured or None
        Readings that the model is held against.
    uncertainty : UncertaintyPlan or None
        What is not known of it.
    design : DesignSpace or None
        What may be chosen, what has to be reached and what it costs.
    option : PricedOption or None
        What is built and what that costs, and in which condition it is held; None without
        prices.
    north : float or None
        Direction of true north, clockwise from +y; None where the case does not say. [rad]
    drawing : DrawnPlan or None
        What was taken from a drawing, and what was not; None where it names none.
    site : SitePlace or None
        Where on the earth it lies; None where the case does not say.
    ground_picture : GroundPicture or None
        Picture of the ground in the rectangle that is mapped.
    job : tuple of (str, str)
        What the work is filed under: keys of the case file and their text.
    system : System or None
        What the case states of the system whose fault drives it.
    feeds : tuple of FeedPlace or None, one per group
        Where current enters its metal; None where the case does not say.
    own_materials : tuple of Material
        Metals of the case beside those of the table.
    wiring : Wiring or None
        How its metal is wired where the voltage along it is worked out; None where the metal
        of each electrode is at one potential.
    places : tuple of Port
        With wiring, all places that have a name, ports or not.
    """

    title: str
    note: str
    units: Literal["SI", "US"]
    layers: Soil | None
    conductors: Conductors
    drives: tuple[Drive, ...]
    contact_resistance: tuple[float, ...]
    bonds: tuple[Bond, ...]
    parts: tuple[PartSummary, ...]
    joints: int
    study: Study
    numerics: Numerics
    source: Source
    document: Document = field(compare=False)
    survey: SurveyedSoil | None = None
    variants: tuple["Case", ...] = ()
    variant: str = ""
    changes: tuple[str, ...] = ()
    safety: Safety | None = None
    circuit: Circuit | None = None
    protection: tuple[Device, ...] | None = None
    heating: HeatingPlan | None = None
    distances: DistancePlan | None = None
    earth_tests: tuple[EarthTestPlan, ...] = ()
    survey_plan: tuple[PlannedTraverse, ...] = ()
    measured: Measured | None = None
    design: DesignSpace | None = None
    option: PricedOption | None = None
    uncertainty: UncertaintyPlan | None = None
    north: float | None = None
    drawing: DrawnPlan | None = None
    site: SitePlace | None = None
    ground_picture: GroundPicture | None = field(default=None, compare=False)
    job: tuple[tuple[str, str], ...] = ()
    system: System | None = None
    feeds: tuple[FeedPlace | None, ...] = ()
    own_materials: tuple[Material, ...] = ()
    wiring: Wiring | None = None
    places: tuple[Port, ...] = ()

    @property
    def soil(self) -> Soil:
        """Layers of soil; `CaseError` if they are still to be fitted (`fit_soil`)."""
        if self.layers is None:
            msg = (
                "the soil of this case is a survey whose layers are not fitted yet; "
                "fit them first: case = fit_soil(case)"
            )
            raise CaseError(msg)
        return self.layers

    @property
    def drawn(self) -> tuple[tuple[str, str], ...]:
        """What became of its drawing and of its picture of the ground, a row each."""
        rows = () if self.drawing is None else self.drawing.rows
        picture = self.ground_picture
        return rows if picture is None else (*rows, ("picture", picture.words))

    def _rows(self) -> list[Row]:
        """What it is about, in few words."""
        rows = [("variant", self.variant)] if self.variant else []
        if self.layers is None:
            rows.append(("soil", "a survey, its layers not fitted yet"))
        else:
            soil = self.layers
            rows.append(("soil", stack(soil.resistivity, soil.thickness, soil.upright)))
            rows += [
                (
                    f"in it, {body.name}",
                    "void"
                    if body.void
                    else amount(body.resistivity, "Ω·m")
                    + ("" if body.film is None else " behind a film"),
                )
                for body in soil.bodies
            ]
        for group, name in enumerate(self.conductors.group_names):
            mine = self.conductors.group == group
            length = float(self.conductors.length[mine].sum())
            what = f"{plain(length)} m of metal, {self.drives[group].kind}"
            if ohms := self.contact_resistance[group]:
                what += f", {plain(ohms)} ohm of contact in series"
            rows.append((name, what))
        judged = 0 if self.safety is None else len(self.safety.exposures)
        rows.append(
            ("judged", f"{judged} exposures" if judged else "nothing: no limits declared")
        )
        if self.variants:
            rows.append(("variants", ", ".join(item.variant for item in self.variants)))
        return rows

    def __repr__(self) -> str:
        return as_text("Case", self.title, self._rows())

    def _repr_html_(self) -> str:
        return as_html("Case", self.title, self._rows())
