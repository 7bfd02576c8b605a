"""Driven-rod test: three-pin readings of one rod as it goes deeper."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..model import Conductors, Floats, Soil
from ..soil_survey.rod_model import uniform_rod_factor
from ..thin_wire import second_opinion
from .fall_of_potential import fall_of_potential, golden
from .leads import Leads
from .probe import Pin, with_pin

_rod, _probe = "driven rod", "current probe"


@dataclass(frozen=True)
class DrivenRodTest:
    """Readings of a rod at each driven length.

    Attributes
    ----------
    driven_length, reading, true_resistance : ndarray of float, shape (n,)
        Length in the soil; what the tester reads; to remote earth. [m], [Ω], [Ω]
    apparent_resistivity : ndarray of float, shape (n,)
        Resistivity of the uniform soil in which the reading would be the resistance. [Ω·m]
    leads : Leads
        Where the probes stand.
    potential_distance : float
        Place of the potential probe along its lead. [m]
    resistance_error : float
        Estimated error of the field, relative.
    """

    driven_length: Floats
    reading: Floats
    true_resistance: Floats
    apparent_resistivity: Floats
    leads: Leads
    potential_distance: float
    resistance_error: float

    @property
    def error(self) -> Floats:
        """Reading over true resistance less one, shape (n,)."""
        return self.reading / self.true_resistance - 1.0

    @property
    def rows(self) -> list[list[float]]:
        """Driven length, reading, true resistance, error, apparent resistivity of each."""
        columns = (self.driven_length, self.reading, self.true_resistance, self.error)
        return np.column_stack([*columns, self.apparent_resistivity]).tolist()


def driven_rod_test(
    soil: Soil,
    *,
    driven_length: Sequence[float],
    radius: float,
    leads: Leads,
    probe: Pin,
    potential_distance: float | None = None,
) -> DrivenRodTest:
    """Readings of a rod driven deeper and deeper, alone in layered soil.

    Parameters
    ----------
    driven_length : sequence of float, length n
        Lengths in the soil, at least 10 radii. [m]
    radius : float
        Of the rod. [m]
    probe : Pin
        The current probe, at the end of its lead.
    potential_distance : float, optional
        Place of the potential probe; 61.8 % of the distance of the current probe if left out.

    Raises
    ------
    CaseError
        If the rod is no slender rod, or the probe stands nearer than it is deep.
    """
    place = golden * leads.distance if potential_distance is None else potential_distance
    readings, errors = [], []
    for length in driven_length:
        rod = Pin(leads.start, length, radius)
        top, tip = rod.ends
        metal = Conductors.bare(top, end=tip, radius=radius)
        named = Conductors(**{**vars(metal), "group_names": (_rod,), "part_names": (_rod,)})
        solved = second_opinion(with_pin(named, probe, name=_probe), soil=soil)
        test = fall_of_potential(
            solved, electrode=_rod, probe=_probe, leads=leads, distance=[place]
        )
        readings.append((float(test.reading[0]), test.true_resistance))
        errors.append(solved.resistance_error)
    reading, true = np.array(readings).T
    lengths = np.array(driven_length, dtype=float)
    factor = uniform_rod_factor(lengths, radius=np.full(len(lengths), radius))
    return DrivenRodTest(
        driven_length=lengths,
        reading=reading,
        true_resistance=true,
        apparent_resistivity=reading / factor,
        leads=leads,
        potential_distance=place,
        resistance_error=float(max(errors)),
    )
