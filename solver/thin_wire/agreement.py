"""A result beside its second opinion."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..drives import OperatingPoint
from ..exposure.worst import WorstVoltage, voltages_again
from ..model import Floats
from ..solved_soil import Field
from .opinion import SecondOpinion


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
    """

    resistance: Floats
    rise: float
    worst: tuple[float, ...]
    resistance_difference: float
    voltage_difference: float
    resistance_error: float
    wires: int
    seconds: float

    def agrees(self, *, resistance_error: float, voltage_error: float) -> bool:
        """Whether the differences are within the errors of both, added.

        Parameters
        ----------
        resistance_error : float
            Estimated error of the result's resistances, relative.
        voltage_error : float
            Estimated error of its voltages, in terms of the rise.
        """
        # A voltage is off by no more than the rise, which goes with the resistance.
        return (
            self.resistance_difference <= self.resistance_error + resistance_error
            and self.voltage_difference <= self.resistance_error + voltage_error
        )


def agreement(
    operating: OperatingPoint,
    *,
    worst: Sequence[WorstVoltage],
    metal_groups: dict[str, int],
    opinion: SecondOpinion,
    other: OperatingPoint,
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
    """
    own, others = (np.abs(point.voltage).max() for point in (operating, other))
    again = voltages_again(
        worst, field=Field(opinion, other.voltage), metal_groups=metal_groups
    )
    differences = [abs(others - own)]
    differences += [abs(v - item.voltage) for v, item in zip(again, worst, strict=True)]
    resistance = other.resistance.diagonal().copy()
    apart = np.abs(operating.resistance.diagonal() / resistance - 1.0)
    return Agreement(
        resistance=resistance,
        rise=float(others),
        worst=again,
        resistance_difference=float(apart.max()),
        voltage_difference=float(max(differences) / own),
        resistance_error=opinion.resistance_error,
        wires=len(opinion.wires),
        seconds=opinion.seconds,
    )
