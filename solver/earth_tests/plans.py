"""Earth tests to be predicted: where probes and clamps go."""

from dataclasses import dataclass

from .leads import Leads
from .probe import Pin


@dataclass(frozen=True)
class FallOfPotentialPlan:
    """A fall-of-potential test to be predicted."""

    name: str
    electrode: str  # group that is tested
    leads: Leads  # where the probes stand
    depth: float  # of the current probe [m]
    radius: float
    distances: tuple[float, ...]  # places of the potential probe along its lead [m]
    other_distances: tuple[float, ...] = ()  # more distances of the current probe [m]
    paths_connected: bool = False  # whether the paths of the circuit stay connected

    def pin(self, leads: Leads) -> Pin:
        """The current probe at the end of its lead."""
        return Pin(leads.current_place, self.depth, self.radius)


@dataclass(frozen=True)
class ClampPlan:
    """A two-clamp test to be predicted."""

    name: str
    around: str  # electrode or path


@dataclass(frozen=True)
class DrivenRodPlan:
    """A driven-rod test to be predicted."""

    name: str
    lengths: tuple[float, ...]  # driven lengths [m]
    radius: float  # of the rod [m]
    leads: Leads  # from the rod to the current probe
    probe: Pin  # the current probe
    # Place of the potential probe; None: 61.8 % of the distance of the current probe. [m]
    potential_distance: float | None


EarthTestPlan = FallOfPotentialPlan | ClampPlan | DrivenRodPlan
