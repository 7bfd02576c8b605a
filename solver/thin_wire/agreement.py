"""A result beside its second opinion."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..contact import behind_contact
from ..drives import OperatingPoint
from ..exposure.worst import WorstVoltage, voltages_again
from ..model import Floats, Phasors
from ..solved_soil import Field, SolvedSoil
from .opinion import SecondOpinion
from .wired import WiredOpinion

Standing = Literal["agree", "outside", "differ"]


@dataclass(frozen=True)
class ThirdOpinion:
    """One rod by the axisymmetric method, which has the true face of the metal in its mesh.

    Attributes
    ----------
    resistance : float
        To remote earth. [Ω]
    worst : tuple of float
        Touch and step voltages at the worst places of the result, in their order. [V]
    resistance_difference, voltage_difference : float
        Of the result from it: relative, and in terms of the rise.
    resistance_error : float
        Estimated error of its own, relative.
    """

    resistance: float
    worst: tuple[float, ...]
    resistance_difference: float
    voltage_difference: float
    resistance_error: float

    def confirms(self, *, resistance_error: float, voltage_error: float) -> bool:
        """Whether the result is within what it states of this, and of the error of this."""
        return (
            self.resistance_difference <= resistance_error + self.resistance_error
            and self.voltage_difference <= voltage_error + self.resistance_error
        )


@dataclass(frozen=True)
class Agreement:
    """What the second opinion says of the same operating point and the same places.

    Attributes
    ----------
    resistance : ndarray of float, shape (s,)
        To remote earth, of each bonded set. [Ω]
    rise : float
        Largest potential of any group over remote earth, in size. [V]
    worst : tuple of float
        Touch and step voltages at the worst places of the result, in their order. [V]
    resistance_difference : float
        Largest difference of a resistance, of the result from the second opinion, relative.
    voltage_difference : float
        Largest difference of the rise or of a touch or step voltage, in terms of the rise.
    resistance_error : float
        Estimated error of the second opinion itself, relative.
    wires : int
        Wires it took.
    seconds : float
        Time it took. [s]
    third : ThirdOpinion or None
        By a third method, where the second lies outside what the result states and the third
        applies.
    """

    resistance: Floats
    rise: float
    worst: tuple[float, ...]
    resistance_difference: float
    voltage_difference: float
    resistance_error: float
    wires: int
    seconds: float
    third: ThirdOpinion | None = None

    def standing(self, *, resistance_error: float, voltage_error: float) -> Standing:
        """Where the second opinion lies: within what the result states, outside, or apart.

        Outside is said however unsure the opinion itself is: a wide error of its own must
        not hide a narrow one of the result that is wrong. Apart is beyond both, added.

        Of the result, resistances have a relative error, voltages one in terms of the rise.
        """
        resistance, voltage = self.resistance_difference, self.voltage_difference
        if resistance <= resistance_error and voltage <= voltage_error:
            return "agree"
        # A voltage is off by no more than the rise, which goes with the resistance.
        own = self.resistance_error
        if resistance <= own + resistance_error and voltage <= own + voltage_error:
            return "outside"
        return "differ"

    def doubt(self, *, resistance_error: float, voltage_error: float) -> float:
        """What other methods show beyond what the result states, in terms of the rise.

        Nought where they lie within it, or where the third method confirms the result.
        Voltages held against limits must keep this distance from them.
        """
        stated = {"resistance_error": resistance_error, "voltage_error": voltage_error}
        if self.third is not None:
            return 0.0 if self.third.confirms(**stated) else self.third.voltage_difference
        return 0.0 if self.standing(**stated) == "agree" else self.voltage_difference

    def agrees(self, *, resistance_error: float, voltage_error: float) -> bool:
        """Whether the differences are within the errors of both, added."""
        errors = {"resistance_error": resistance_error, "voltage_error": voltage_error}
        return self.standing(**errors) != "differ"


def agreement(
    operating: OperatingPoint,
    *,
    worst: Sequence[WorstVoltage],
    metal_groups: dict[str, int],
    opinion: SecondOpinion,
    other: OperatingPoint,
    contact_resistance: Sequence[float] = (),
) -> Agreement:
    """A result's resistances and worst voltages by the second opinion.

    Parameters
    ----------
    worst : sequence of WorstVoltage
        Its worst touch and step voltages; they are taken at the same places again.
    metal_groups : dict of str to int
        Group of each touchable metal.
    opinion : SecondOpinion
        Of the same metal in the same soil.
    other : OperatingPoint
        Voltages and currents by its current matrix, under the same drives or circuit.
    contact_resistance : sequence of float, length g or 0
        In series with each group, in both. [Ω]
    """
    field = Field(behind_contact(opinion, contact_resistance), other.voltage)
    again = voltages_again(worst, field=field, metal_groups=metal_groups)
    resistance = other.resistance.diagonal().copy()
    apart = np.abs(operating.resistance.diagonal() / resistance - 1.0)
    return Agreement(
        resistance=resistance,
        rise=float(np.abs(other.voltage).max()),
        worst=again,
        resistance_difference=float(apart.max()),
        voltage_difference=_apart(operating, worst=worst, other=other, again=again),
        resistance_error=opinion.resistance_error,
        wires=len(opinion.wires),
        seconds=opinion.seconds,
    )


def agreement_along(
    operating: OperatingPoint,
    *,
    worst: Sequence[WorstVoltage],
    metal_groups: dict[str, int],
    ports: Phasors,
    opinion: WiredOpinion,
    other: OperatingPoint,
    field: Field,
) -> Agreement:
    """A result with voltages along its metal by the second opinion.

    Parameters
    ----------
    worst, metal_groups
        As for `agreement`.
    ports : ndarray of complex, shape (p,)
        Impedance of each port in the result, which counts as a resistance. [Ω]
    opinion : WiredOpinion
        Of the same metal, wired alike, in the same soil.
    other : OperatingPoint
        Voltages and currents by its port matrix, under the same drives or circuit.
    field : Field
        The field there.
    """
    again = voltages_again(worst, field=field, metal_groups=metal_groups)
    own = opinion.port_matrix.diagonal()
    return Agreement(
        resistance=other.resistance.diagonal().copy(),
        rise=float(np.abs(other.voltage).max()),
        worst=again,
        resistance_difference=float(np.abs(ports / own - 1.0).max()),
        voltage_difference=_apart(operating, worst=worst, other=other, again=again),
        resistance_error=opinion.resistance_error,
        wires=len(opinion.wires),
        seconds=opinion.seconds,
    )


def third_opinion(
    operating: OperatingPoint,
    *,
    worst: Sequence[WorstVoltage],
    metal_groups: dict[str, int],
    third: SolvedSoil,
    other: OperatingPoint,
) -> ThirdOpinion:
    """A result's resistance and worst voltages by a third method.

    Parameters
    ----------
    worst : sequence of WorstVoltage
        Its worst touch and step voltages; they are taken at the same places again.
    metal_groups : dict of str to int
        Group of each touchable metal.
    third : SolvedSoil
        One electrode in the same soil.
    other : OperatingPoint
        Its voltage and current, under the same drives or circuit.
    """
    field = Field(third, other.voltage)
    again = voltages_again(worst, field=field, metal_groups=metal_groups)
    resistance = float(other.resistance[0, 0])
    return ThirdOpinion(
        resistance=resistance,
        worst=again,
        resistance_difference=abs(float(operating.resistance[0, 0]) / resistance - 1.0),
        voltage_difference=_apart(operating, worst=worst, other=other, again=again),
        resistance_error=third.resistance_error,
    )


def _apart(
    operating: OperatingPoint,
    *,
    worst: Sequence[WorstVoltage],
    other: OperatingPoint,
    again: Sequence[float],
) -> float:
    """Largest difference of the rise or of a voltage at its places, in terms of the rise."""
    own, others = (np.abs(point.voltage).max() for point in (operating, other))
    differences = [abs(others - own)]
    differences += [abs(v - item.voltage) for v, item in zip(again, worst, strict=True)]
    return float(max(differences) / own)
