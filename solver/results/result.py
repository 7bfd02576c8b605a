"""Everything a run found out, in one frozen object, with what shows it can be trusted."""

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from ..circuit import Operation
from ..contact import behind_contact
from ..design import PricedOption
from ..distances import Distances
from ..drives import Drive, OperatingPoint, System
from ..errors import CaseError
from ..exposure.places import TouchableMetal
from ..exposure.raster import Area
from ..exposure.surface import SurfaceMap
from ..exposure.worst import WorstVoltage
from ..field.along_metal import AlongMetal
from ..field.along_soil import AlongSoil
from ..field.elements import LineElements
from ..field.sensitivity import SoilShares
from ..field.solution import Solution
from ..ground_picture import GroundPicture
from ..handbook.order_check import OrderCheck
from ..metal import AlongField, OnePotential
from ..metal.wiring import Port
from ..model import Floats, Phasors
from ..plan_place import PlanPlace, SitePlace
from ..protection import FaultClearing
from ..shown import Row, amount, as_html, as_text
from ..soil_survey import Sounding
from ..solved_soil import Field
from ..thin_wire import Agreement, SecondOpinion, WiredOpinion
from ..verdict import Verdict
from ..wording import percent_text


@dataclass(frozen=True)
class Profile:
    """Potential along a straight line.

    Attributes
    ----------
    name : str
        The user's name.
    points : ndarray of float, shape (n, 3)
        Places, z up. [m]
    potential : ndarray of float or complex, shape (n,)
        To remote earth. [V]
    """

    name: str
    points: Floats
    potential: Phasors

    @property
    def distance(self) -> Floats:
        """Distance of each point from the start of the line, shape (n,). [m]"""
        return np.linalg.norm(self.points - self.points[0], axis=1)


@dataclass(frozen=True)
class Accuracy:
    """How far the result moves when the mesh is made coarser.

    Attributes
    ----------
    growth, coarse_growth : float
        Increase of the element size per distance from the metal, in the mesh of the result
        and in the coarser one; of a mesh made finer where its error came from, that of an
        even one as good by its error indicator.
    coarse_elements : int
        Elements of the coarser mesh.
    resistance : float
        Largest relative change of a resistance to remote earth.
    touch, step : float
        Change of the worst touch and step voltage at their places, relative to the rise.
    tolerance : float
        Largest error allowed of these voltages, relative to the rise.
    surface : float or None
        Largest change of the potential of the surface, relative to the rise: at samples of
        the map nearest to shallow metal and all over, and along profiles; None if unknown.
    surface_places : int
        Number of these places.
    model_resistance, model_voltage : float
        What the model of metal and backfill leaves open whatever the mesh, of a resistance as
        a share of it and of a voltage relative to the rise.
    order : float
        Power of the element size with which errors fall: 2, or less where edges of bodies
        have a share in them (`field.at_edges`).
    """

    growth: float
    coarse_growth: float
    coarse_elements: int
    resistance: float
    touch: float
    step: float
    tolerance: float
    surface: float | None = None
    surface_places: int = 0
    model_resistance: float = 0.0
    model_voltage: float = 0.0
    order: float = 2.0

    @property
    def resistance_tolerance(self) -> float:
        """Largest relative error allowed of a resistance: half of that of the voltages."""
        return 0.5 * self.tolerance

    def estimate(self, change: float) -> float:
        """Error that the mesh leaves in the result, from the change that coarsening makes.

        Most of the error is that of elements growing away from the metal; it falls as the
        square of their growth, at edges of bodies not as fast. In the reference cases of the
        tests it is below 2 % times that square, which is stated where the change happens to
        be smaller. No mesh makes good that metal is taken as thin wires: 0.05 % is stated at
        the least, as far as rods are from the boundary integral of their true faces.
        """
        ratio = self.coarse_growth / self.growth
        return max(change / (ratio**self.order - 1), 0.02 * self.growth**2, 5e-4)

    @property
    def estimates(self) -> tuple[float, float, float]:
        """Errors left in resistances, and in the worst touch and step relative to the rise."""
        return (
            self.estimate(self.resistance) + self.model_resistance,
            self.estimate(self.touch) + self.model_voltage,
            self.estimate(self.step) + self.model_voltage,
        )

    @property
    def surface_estimate(self) -> float | None:
        """Error left anywhere on maps and profiles, relative to the rise; None if unknown."""
        return (
            None if self.surface is None else self.estimate(self.surface) + self.model_voltage
        )


@dataclass(frozen=True, repr=False)
class Result:
    """Result of one case.

    Attributes
    ----------
    title, variant, units : str
        The user's title and the name of the variant, empty for the case as it stands; SI or
        US for printed values.
    case_file, case_text, case_hash : str
        The case this came from, in full, and its SHA-256.
    solution : Solution
        Unit solutions of the g electrode groups.
    coarse : Solution
        The same on the coarser mesh that shows how good they are.
    drives : tuple of Drive, length g
        What holds each group.
    bonds : tuple of (int, int)
        Groups joined by closed bonds.
    operating : OperatingPoint
        Voltages and currents.
    area : Area
        Rectangle that was mapped.
    surface : SurfaceMap
        Maps of potential, touch and step.
    metals : tuple of TouchableMetal
        What can be touched.
    worst : tuple of WorstVoltage
        Worst touch on each metal that can be reached, then the worst step.
    profiles : tuple of Profile
        Potential along the user's lines.
    order_checks : tuple of OrderCheck
        Handbook formulas, where one applies.
    accuracy : Accuracy
        What coarsening the mesh does.
    seconds : dict of str to float
        Time of each step of the run. [s]
    peak_memory : float
        Largest memory of the process. [byte]
    versions : dict of str to str
        Of Python, ohmscape and its libraries.
    verdict : Verdict or None
        Every exposure held against its limit; None where the case declares none.
    operation : Operation or None
        The fault circuit with the division of its current, of which `operating` is part;
        None where electrodes are driven directly.
    clearing : FaultClearing or None
        What each protective device does; None where the case has none.
    second_opinion : SecondOpinion or None
        Thin conductors in the same layers, without a mesh; None where it was not made.
    agreement : Agreement or None
        What it says of the resistances and worst voltages; None where it was not made, or
        bodies in the soil leave it nothing to say.
    sounding : Sounding or None
        The survey that the layers were fitted to; None where they were given.
    north : float or None
        Direction of true north, clockwise from +y; None where nobody said. [rad]
    job : tuple of (str, str)
        What the work is filed under.
    contact_resistance : tuple of float, length g or 0
        In series between the metal of each group and the soil. [Ω]
    system : System or None
        What the case states of the system whose fault drives it.
    strips : tuple of (str, float, float)
        Name, width and thickness of each part that is a strip. [m]
    drawn : tuple of (str, str)
        What became of the drawing that the metal came from, a row each; empty without one.
    placed : PlanPlace or None
        How the plan lies in that drawing.
    underlay : ndarray of float, shape (n, 2, 2), or None
        Straight pieces of that drawing to be drawn under maps. [m]
    ground_picture : GroundPicture or None
        Picture of the ground to be drawn under maps.
    site : SitePlace or None
        Where on the earth it lies; None where nobody said.
    distances : Distances or None
        How far voltages reach; None where nobody asked.
    soil_shares : SoilShares or None
        Which layers the resistances come from; None where nobody asked.
    option : PricedOption or None
        What is built, in which condition, and its bill; None without prices.
    one_potential : OnePotential or None
        How far the metal is from one potential; None in results of earlier releases.
    without_bodies : Agreement or None
        What the second opinion finds in the layers without the bodies in them; None where
        there are none or it was not made.
    along, along_coarse : AlongMetal or None
        Unit solutions of the ports of metal with voltages along it, on both meshes; None where
        the metal of each electrode is at one potential.
    along_second : WiredOpinion or None
        The same by thin conductors.
    along_drive : ndarray of float or complex, shape (p,), or None
        Current into each of these ports. [A]
    places : tuple of Port
        Places on that metal, and ends of leads, by name.
    raised : ndarray of float, shape (n, 2, 2), or None
        What joins metal of parts above ground, such as rails of fences, in plan. [m]
    """

    title: str
    variant: str
    units: Literal["SI", "US"]
    case_file: str
    case_text: str
    case_hash: str
    solution: Solution
    coarse: Solution
    drives: tuple[Drive, ...]
    bonds: tuple[tuple[int, int], ...]
    operating: OperatingPoint
    area: Area
    surface: SurfaceMap
    metals: tuple[TouchableMetal, ...]
    worst: tuple[WorstVoltage, ...]
    profiles: tuple[Profile, ...]
    order_checks: tuple[OrderCheck, ...]
    accuracy: Accuracy
    seconds: dict[str, float]
    peak_memory: float
    versions: dict[str, str]
    verdict: Verdict | None = None
    operation: Operation | None = None
    clearing: FaultClearing | None = None
    second_opinion: SecondOpinion | None = None
    agreement: Agreement | None = None
    sounding: Sounding | None = None
    north: float | None = None
    job: tuple[tuple[str, str], ...] = ()
    contact_resistance: tuple[float, ...] = ()
    system: System | None = None
    strips: tuple[tuple[str, float, float], ...] = ()
    drawn: tuple[tuple[str, str], ...] = ()
    placed: PlanPlace | None = None
    underlay: Floats | None = None
    site: SitePlace | None = None
    distances: Distances | None = None
    soil_shares: SoilShares | None = None
    option: PricedOption | None = None
    one_potential: OnePotential | None = None
    without_bodies: Agreement | None = None
    along: AlongMetal | None = None
    along_coarse: AlongMetal | None = None
    along_second: WiredOpinion | None = None
    along_drive: Phasors | None = None
    ground_picture: GroundPicture | None = None
    places: tuple[Port, ...] = ()
    raised: Floats | None = None

    @property
    def group_names(self) -> tuple[str, ...]:
        """The user's names of the electrode groups."""
        return self.solution.conductors.group_names

    @cached_property
    def field(self) -> Field:
        """The field at the operating point: potential anywhere in the soil."""
        if self._along is not None and self.along_drive is not None:
            return AlongField.driven(self._along, self.along_drive)
        solved = behind_contact(self.solution, self.contact_resistance)
        return Field(solved, self.operating.voltage)

    @cached_property
    def _along(self) -> AlongSoil | None:
        return None if self.along is None else AlongSoil(self.along)

    @property
    def elements(self) -> LineElements:
        """The line elements that currents of `field` belong to."""
        return self.solution.elements if self._along is None else self._along.elements

    @property
    def rise(self) -> float:
        """Largest potential of any group over remote earth, in size. [V]"""
        return float(np.abs(self.operating.voltage).max())

    def group(self, electrode: int | str) -> int:
        """Number of an electrode, given by its name or its number.

        Raises
        ------
        CaseError
            If there is no such electrode.
        """
        names = self.group_names
        if isinstance(electrode, str):
            if electrode in names:
                return names.index(electrode)
        elif 0 <= electrode < len(names):
            return int(electrode)
        msg = f"no electrode {electrode!r}; there are {', '.join(map(repr, names))}, "
        msg += f"or their numbers 0 to {len(names) - 1}"
        raise CaseError(msg)

    def resistance(self, electrode: int | str) -> float:
        """Resistance to remote earth of an electrode and all bonded to it. [Ω]

        The other electrodes carry no net current meanwhile.

        Parameters
        ----------
        electrode : int or str
            Its number or its name.

        Raises
        ------
        CaseError
            If there is no such electrode.
        """
        number = self.operating.bonded_set[self.group(electrode)]
        return float(self.operating.resistance[number, number])

    def voltage(self, electrode: int | str) -> complex:
        """Rise of an electrode over remote earth; complex where there is a phase. [V]"""
        return complex(self.operating.voltage[self.group(electrode)])

    def current(self, electrode: int | str) -> complex:
        """Current from an electrode into the soil; complex where there is a phase. [A]"""
        return complex(self.operating.current[self.group(electrode)])

    def _rows(self) -> list[Row]:
        """What it is about, in few words."""
        rows = [("variant", self.variant)] if self.variant else []
        for number, name in enumerate(self.group_names):
            what = [
                amount(self.resistance(number), "Ω"),
                f"rise {amount(abs(self.voltage(number)), 'V')}",
                f"{amount(abs(self.current(number)), 'A')} into the soil",
            ]
            rows.append((name, ", ".join(what)))
        for item in self.worst:
            name = f"worst {item.kind}" + (f" of {item.name}" if item.name else "")
            rows.append((name, f"{amount(item.voltage, 'V')} prospective"))
        if self.verdict is None or not self.verdict.judgements:
            rows.append(("verdict", "not judged: the case declares no limits"))
        else:
            rows += [
                ("verdict", f"{item.outcome}: {item.name}") for item in self.verdict.judgements
            ]
            rows += [("verdict", f"rule broken: {rule}") for rule in self.verdict.broken_rules]
        if self.verdict is not None and self.verdict.heating is not None:
            rows += [
                ("heat", f"{item.outcome}: {item.name}")
                for item in self.verdict.heating.conductors
            ]
        along = self.one_potential
        if along is not None and along.standing(along.largest) != "even":
            share = percent_text(along.largest.drop / along.rise, decimals=1)
            rows.append(("metal", f"up to {share} of the rise from one potential"))
        off = percent_text(self.accuracy.estimates[0], decimals=2)
        rows.append(("estimated error", f"resistance {off}; soil is usually far less certain"))
        return rows

    def __repr__(self) -> str:
        return as_text("Result", self.title, self._rows())

    def _repr_html_(self) -> str:
        return as_html("Result", self.title, self._rows())
