r"""What a meter would show: the field, the contact term, the divider, the reference.

With one ampere into electrode a and out of b, and volts per ampere T,

.. math:: V(x) = T_{xa} - T_{xb}, \qquad T_{aa} = R_a + R_{contact}

A contact resistance is in series with an electrode, so it is in the voltage of the metal
only: differences of potential in the soil per ampere do not know of it, unless electrodes that
are bonded share the ampere by their contacts.
"""

import numpy as np

from ..anisotropy import isotropic
from ..model import Floats, Soil, require_layers_alone
from ..soil_survey.hankel import SINGLE, lattice_for
from ..soil_survey.layers import SoilBatch, point_kernel
from .readings import End, Place, Reading, Readings
from .state import State
from .transfer import FieldModel, Transfer

_nearest_pin = 0.01  # a pin is no point closer than that [m]


def predicted(readings: Readings, *, model: FieldModel, state: State) -> Floats:
    """Readings that a meter would show.

    Parameters
    ----------
    readings : Readings
        What the meter was across, and how.
    model : FieldModel
        Field of the metal, with potentials at all places of `readings`.

    Returns
    -------
    value : ndarray of float, shape (n,)
        In the units of the readings. [Ω] or [1]
    """
    bench = _Bench(
        model, transfer=model.transfer(state.soil, contact=state.contact), state=state
    )
    return np.array([bench.shown(item) for item in readings.items])


class _Bench:
    """Volts per ampere of any pair of ends in one state."""

    def __init__(self, model: FieldModel, *, transfer: Transfer, state: State) -> None:
        self._set = model.set_of_group
        self._column = {place: k for k, place in enumerate(model.places)}
        self._transfer = transfer
        self._state = state

    def shown(self, item: Reading) -> float:
        """What the meter shows, per ampere noted or per source voltage."""
        plus, minus = (self._potential(end, item) for end in item.ends)
        volts = plus - minus
        if item.per == "source":
            volts /= self._loop(item)
        elif item.loop:
            volts = self._state.current * self._loop(item)
        else:
            volts *= self._state.current
        lost = item.pin_resistance / item.meter_resistance + self._state.divider
        return volts / (1 + item.pins * lost)

    def _loop(self, item: Reading) -> float:
        """Resistance of everything between the poles of the source. [Ω]"""
        there = self._potential(End(item.current_from), item)
        back = self._potential(item.current_to, item)
        return there - back + item.return_resistance

    def _potential(self, end: End, item: Reading) -> float:
        """Potential of an end, per ampere through the soil. [Ω]"""
        value = self._per_ampere(end, End(item.current_from))
        value -= self._per_ampere(end, item.current_to)
        return value + (self._state.reference if end.reference else 0.0)

    def _per_ampere(self, end: End, source: End) -> float:
        """Potential of one end per ampere out of another, back to remote earth. [Ω]"""
        found = self._transfer
        if source.group is None and source.place is None:
            return 0.0
        if end.group is None and end.place is None:
            return 0.0
        if source.group is not None:
            a = int(self._set[source.group])
            if end.place is not None:
                return float(found.potential[a, self._column[end.place]])
            b = int(self._set[end.group or 0])
            return float(found.resistance[b, a])
        assert source.place is not None
        if end.group is not None:
            # By reciprocity: what an ampere from the metal does at the pin.
            return float(found.potential[int(self._set[end.group]), self._column[source.place]])
        assert end.place is not None
        return point_to_point(end.place, source.place, soil=self._state.soil)


def point_to_point(one: Place, other: Place, *, soil: Soil) -> float:
    """Potential at one place of the surface per ampere into another, to remote earth. [Ω]

    Parameters
    ----------
    one, other : tuple of float, length 3
        Places on the surface; nearer than 10 mm they are taken to be 10 mm apart. [m]

    Notes
    -----
    Metal elsewhere is not there: it bends the field of a pin that is near it.
    """
    require_layers_alone(soil, method="potentials between pins")
    soil = isotropic(soil)  # all that the surface sees
    distance = max(float(np.hypot(one[0] - other[0], one[1] - other[1])), _nearest_pin)
    uniform = soil.resistivity[0] / (2 * np.pi * distance)
    if len(soil.resistivity) == 1:
        return uniform
    lattice = lattice_for(np.array([distance]), design=SINGLE)
    kernel = point_kernel(SoilBatch.of(soil), depth=0.0, wavenumber=lattice.wavenumber)
    return uniform + float((kernel @ lattice.weight.T)[0, 0]) / (4 * np.pi)
