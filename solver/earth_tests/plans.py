"""Earth tests to be predicted: where probes and clamps go."""

from dataclasses import dataclass

from .leads import Leads
from .probe import Pin


@dataclass(frozen=True)
class FallOfPotentialPlan:
    """A fall-of-potential test to be predicted.

    Attributes
    ----------
    name : str
        The user's name.
    electrode : str
        Group that is tested.
    leads : Leads
        Where the probes stand.
    depth, radius : float
        Of the current probe. [m]
    distances : tuple of float
        Places of the potential probe along its lead. [m]
    other_distances : tuple of float
        More distances of the current probe. [m]
    paths_connected : bool
        Whether the paths of the circuit stay connected.
    """

    name: str
    electrode: str
    leads: Leads
    depth: float
    radius: float
    distances: tuple[float, ...]
    other_distances: tuple[float, ...] = ()
    paths_connected: bool = False

    def pin(self, leads: Leads) -> Pin:
        """The current probe at the end of its lead."""
        return Pin(leads.current_place, self.depth, self.radius)


@dataclass(frozen=True)
class ClampPlan:
    """A two-clamp test to be predicted.

    Attributes
    ----------
    name : str
        The user's name.
    around : str
        Electrode or path.
    """

    name: str
    around: str


@dataclass(frozen=True)
class DrivenRodPlan:
    """A driven-rod test to be predicted.

    Attributes
    ----------
    name : str
        The user's name.
    lengths : tuple of float
        Driven lengths. [m]
    radius : float
        Of the rod. [m]
    leads : Leads
        From the rod to the current probe.
    probe : Pin
        The current probe.
    potential_distance : float or None
        Place of the potential probe; None: 61.8 % of the distance of the current probe. [m]
    """

    name: str
    lengths: tuple[float, ...]
    radius: float
    leads: Leads
    probe: Pin
    potential_distance: float | None


EarthTestPlan = FallOfPotentialPlan | ClampPlan | DrivenRodPlan
