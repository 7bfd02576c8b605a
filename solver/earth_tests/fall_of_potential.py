r"""Fall of potential: what a tester reads between an electrode and a probe that is moved.

The tester drives a current I from the electrode into a current probe in the same soil and
divides by it the voltage between electrode and potential probe,

.. math:: R(P) = R - R_{EC} - \varphi_E(P) / I + \varphi_C(P) / I .

R is the true resistance; :math:`R_{EC}` is what the current probe takes off the rise of the
electrode, :math:`\varphi_E` what the electrode puts on the soil at P, :math:`\varphi_C` what
the probe takes off it. All come from one field with both in it, so that a large electrode also
flattens the field of the probe.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq

from ..circuit.model import Path
from ..model import Floats
from ..solved_soil import SolvedSoil
from .leads import Leads
from .network import Network
from .slope import (
    Slope,
    highest_coefficient,
    lowest_coefficient,
    places,
    slope_coefficient,
    slope_place,
)

golden = (np.sqrt(5.0) - 1.0) / 2.0  # 0.618: two small hemispheres in uniform soil
_curve_points = 241
_nearly, _beyond = 0.985, 1.5  # where the curve ends, in line with the current probe and not
_move = 0.1  # of the distance of the current probe: how far testers move P to check


@dataclass(frozen=True)
class FallOfPotential:
    """Readings of one fall-of-potential test and what they would have to be.

    Attributes
    ----------
    leads : Leads
        Where the probes stand.
    true_resistance : float
        To remote earth, of the electrode with all that stays connected. [Ω]
    distance, reading : ndarray of float, shape (n,)
        Place of the potential probe along its lead; what the tester reads. [m], [Ω]
    curve_distance, curve : ndarray of float, shape (m,)
        The same for places close together. [m], [Ω]
    taken_off : float
        What the current probe takes off the rise of the electrode, per current. [Ω]
    raised, lowered : ndarray of float, shape (m,)
        What electrode and current probe put on, and take off, the soil at the places of the
        curve, per current. [Ω]
    usual_reading : float
        Reading with the potential probe at 61.8 % of the distance of the current probe. [Ω]
    best : tuple of float
        Places of the potential probe at which the reading is true, along its lead; none where
        there is no such place. [m]
    change : float
        Readings a tenth of the distance of the current probe farther out less nearer in, over
        the usual reading: nought on a plateau.
    slope : Slope or None
        Slope method; None unless both leads lie in one line.
    """

    leads: Leads
    true_resistance: float
    distance: Floats
    reading: Floats
    curve_distance: Floats
    curve: Floats
    taken_off: float
    raised: Floats
    lowered: Floats
    usual_reading: float
    best: tuple[float, ...]
    change: float
    slope: Slope | None

    @property
    def error(self) -> Floats:
        """Reading over true resistance less one, shape (n,)."""
        return self.reading / self.true_resistance - 1.0

    @property
    def rows(self) -> list[list[float]]:
        """Place of the potential probe, share of the lead, reading and error of each."""
        share = self.distance / self.leads.distance
        return np.column_stack([self.distance, share, self.reading, self.error]).tolist()

    @property
    def usual_error(self) -> float:
        """Error of the usual reading, relative."""
        return self.usual_reading / self.true_resistance - 1.0

    @property
    def slope_error(self) -> float | None:
        """Error of the slope method, relative; None where it gives nothing."""
        if self.slope is None or self.slope.resistance is None:
            return None
        return self.slope.resistance / self.true_resistance - 1.0


def fall_of_potential(
    soil: SolvedSoil,
    *,
    electrode: str,
    probe: str,
    leads: Leads,
    distance: npt.ArrayLike,
    bonds: Sequence[tuple[str, str]] = (),
    paths: Sequence[Path] = (),
) -> FallOfPotential:
    """Readings of a fall-of-potential test.

    Parameters
    ----------
    soil : SolvedSoil
        Solved field of all metal, the current probe among it.
    electrode, probe : str
        Names of the groups that are tested, and of the current probe.
    distance : array_like of float, shape (n,)
        Places of the potential probe along its lead. [m]
    bonds : sequence of (str, str)
        Electrodes that stay bonded; others float.
    paths : sequence of Path
        Paths beside the soil that stay connected.

    Notes
    -----
    The potential probe draws no current and is a point on the surface. With paths that have
    reactance the tester is taken to read the size of the impedance at their frequency.
    """
    network = Network.of(
        soil.current_matrix, groups=soil.conductors.group_names, bonds=bonds, paths=paths
    )
    number = soil.conductors.group_names.index(electrode)
    from_electrode = network.voltages({electrode: 1.0})
    from_probe = network.voltages({probe: 1.0})
    both = from_electrode - from_probe

    def read(at: Floats) -> Floats:
        ground = soil.potential(leads.potential_points(at), voltage=both)
        return np.asarray(np.abs(both[number] - ground))

    true = float(abs(from_electrode[number]))

    def excess(at: float) -> float:
        return float(read(np.array([at]))[0]) - true

    places_asked = np.atleast_1d(np.asarray(distance, dtype=float))
    end = _nearly if leads.in_line else _beyond
    curve_distance = leads.distance * np.linspace(0.0, end, _curve_points)
    points = leads.potential_points(curve_distance)
    curve = read(curve_distance)
    usual, near, far = read(leads.distance * np.array([golden, golden - _move, golden + _move]))
    return FallOfPotential(
        leads=leads,
        true_resistance=true,
        distance=places_asked,
        reading=read(places_asked),
        curve_distance=curve_distance,
        curve=curve,
        taken_off=float(abs(from_probe[number])),
        raised=np.abs(soil.potential(points, voltage=from_electrode)),
        lowered=np.abs(soil.potential(points, voltage=from_probe)),
        usual_reading=float(usual),
        best=_crossings(curve_distance, curve - true, excess),
        change=float((far - near) / usual),
        slope=_slope(read, leads) if leads.in_line else None,
    )


def _crossings(
    distance: Floats, sampled: Floats, excess: Callable[[float], float]
) -> tuple[float, ...]:
    """Places at which the excess of a reading over the truth changes its sign."""
    change = np.flatnonzero(np.diff(np.sign(sampled)) != 0)
    return tuple(float(brentq(excess, distance[k], distance[k + 1])) for k in change)


def _slope(read: Callable[[Floats], Floats], leads: Leads) -> Slope:
    first, second, third = (float(v) for v in read(leads.distance * np.array(places)))
    readings = (first, second, third)
    coefficient = slope_coefficient(readings)
    if not lowest_coefficient <= coefficient <= highest_coefficient:
        return Slope(readings, coefficient, None, None)
    place = slope_place(coefficient)
    (resistance,) = read(np.array([place * leads.distance]))
    return Slope(readings, coefficient, place, float(resistance))
