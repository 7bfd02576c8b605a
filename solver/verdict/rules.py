"""Which limit set decides on an exposure, and what it permits on each ground."""

from dataclasses import dataclass

import numpy as np

from ..errors import CaseError
from ..exposure.worst import Yardstick
from ..limits import Effect, LimitSet, Standing, duration_in_words, fitted
from ..model import Soil
from ..wording import AS_GIVEN
from .exposures import Exposure, Safety, Timing
from .findings import GroundLimit, JudgedPlace, deciding, permissible
from .ground import Ground

# Soil at remote earth is nobody's model: feet there add nothing that could be counted on.
_unknown_ground = Ground(Soil((1.0,)))


@dataclass(frozen=True)
class Rule:
    """The limit set that decides on one exposure, and what it permits on each ground."""

    exposure: Exposure  # what somebody can meet
    limit_set: LimitSet  # what decides
    # Why that is another one, or for another duration, than asked for; empty where not.
    instead: str
    duration: float  # the duration that decides [s]
    standings: tuple[Standing, ...]  # the grounds as limits take them
    grounds: tuple[GroundLimit, ...]  # what is permissible on each

    def yardstick(self) -> Yardstick:
        """The rule as what ranks places."""
        return Yardstick(
            lambda places: permissible(self.grounds, places=places), self.exposure.outline
        )

    def judged(
        self,
        voltage: float,
        *,
        foot: tuple[float, float] | None = None,
        other_foot: tuple[float, float] | None = None,
        signed: float | None = None,
    ) -> JudgedPlace:
        """A voltage held against the lowest limit under its feet."""
        feet = np.array([place for place in (foot, other_foot) if place is not None])
        under = deciding(self.grounds, places=feet.reshape(-1, 2))
        # Without a foot in the yard: bare hands, or soil somewhere else.
        row = min(
            (int(k) for k in under), key=lambda k: self.grounds[k].limit.voltage, default=0
        )
        return JudgedPlace(
            metals=self.exposure.metals,
            foot=foot,
            other_foot=other_foot,
            ground="" if foot is None else self.grounds[row].name,
            voltage=voltage,
            limit=self.grounds[row].limit,
            effect=self.effect(voltage, standing=self.standings[row]),
            signed=signed,
        )

    def effect(self, voltage: float, *, standing: Standing) -> Effect | None:
        """What a voltage does to somebody, or None where the limit set cannot say."""
        try:
            return self.limit_set.effect(
                self.exposure.limit_exposure,
                voltage=voltage,
                duration=self.duration,
                standing=standing,
            )
        except CaseError:  # the set has no body or no zone for this
            return None


def rule_for(exposure: Exposure, *, safety: Safety, timing: Timing, ground: Ground) -> Rule:
    """The limit set that decides on an exposure, and what it permits on each ground.

    Raises
    ------
    CaseError
        If a limit set has no limit for the exposure, its ground or its duration.

    Notes
    -----
    The longest duration decides, for the limit and for the decrement, as the trade has it;
    limits of IEEE 80 fall faster with it than the decrement does. (Curve c1 of IEC 60479-1
    does not below 0.1 s: up to 8 % at X/R 20; a fixed voltage never does.) A limit set that
    does not hold for so long gives way to the safety's long-duration limit; one that does not
    hold for so short is asked for its shortest, on the safe side. Both are told.
    Where a voltage is carried to remote earth, soil and layers of the site are not: the ground
    there counts as 1 Ω·m.
    """
    limit_set, duration, instead = exposure.limit, timing.longest, ""
    shortest, longest = limit_set.durations
    if duration > longest:
        other = safety.long_duration_limit
        instead = (
            f"'{limit_set.name}' holds to {duration_in_words(longest, figures=AS_GIVEN)} and "
            f"the fault is {duration_in_words(duration, longest)}: judged by '{other.name}'"
        )
        limit_set = other
        shortest = limit_set.durations[0]
    found = fitted(limit_set, exposure.people)
    if found != limit_set:
        those = found.protects
        instead += (
            f"{'; ' if instead else ''}'{limit_set.name}' protects {limit_set.protects}: "
        )
        instead += f"judged by '{found.name}' for {those}"
        limit_set = found
        shortest = found.durations[0]
    if duration < shortest:
        instead += "; " if instead else ""
        instead += (
            f"'{limit_set.name}' holds from "
            f"{duration_in_words(shortest, figures=AS_GIVEN)} up and the fault lasts "
            f"{duration_in_words(duration, shortest)}: judged as if it lasted that long"
        )
        duration = shortest
    if exposure.kind == "transferred" and exposure.places is None:
        ground = _unknown_ground
    grounds = ground.limits(limit_set, exposure=exposure.limit_exposure, duration=duration)
    return Rule(exposure, limit_set, instead, duration, ground.standings, grounds)
