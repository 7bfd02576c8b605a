"""What somebody can meet, and which limit it is held against."""

import math
from dataclasses import dataclass
from typing import Literal

from ..limits import Exposure as LimitExposure
from ..limits import Iec60479, LimitSet, Person
from ..model import Floats
from .ground import SurfaceLayer, UnderFeet

LET_GO = Iec60479("let-go for as long as it lasts", curve="b")


@dataclass(frozen=True)
class Exposure:
    """Voltage that somebody can meet."""

    name: str  # the user's own name
    # Metal to feet; foot to foot; metal to metal; metal to the soil where it is carried.
    kind: Literal["touch", "step", "hands", "transferred"]
    limit: LimitSet  # what it is held against
    # Names of what is touched: one for touch and transferred, two for hands
    metals: tuple[str, ...] = ()
    groups: tuple[int, ...] = ()  # groups whose potential they have
    # (n, 2): where people stand, for touch and step; None anywhere in the mapped area. [m]
    outline: Floats | None = None
    # (n, 2): where a carried voltage is met; None where the soil is at zero. [m]
    places: Floats | None = None
    people: tuple[Person, ...] = ()  # who is there beside healthy, dry, shod adults

    @property
    def limit_exposure(self) -> LimitExposure:
        """The same as limit sets name it."""
        return "touch" if self.kind == "transferred" else self.kind


@dataclass(frozen=True)
class FeetAsked:
    """At which places feet are to be solved."""

    places: int = 1  # of the worst ones of each exposure, at most
    apart: float = 0.3  # between the feet of somebody who touches metal [m]


@dataclass(frozen=True)
class Safety:
    """What is to be judged."""

    exposures: tuple[Exposure, ...]  # what somebody can meet
    layers: tuple[SurfaceLayer, ...] = ()  # thin layers on the ground
    # How long the fault lasts, `math.inf` where nothing clears it; None where the protection
    # says. [s]
    duration: float | None = None
    # Used where a limit does not hold for so long a fault
    long_duration_limit: LimitSet = LET_GO
    # What feet stand on beside surface layers; None the top of the soil that is solved
    under_feet: UnderFeet | None = None
    step_outline: float | None = None  # step voltage whose outline is wanted [V]
    solved_feet: FeetAsked | None = None  # None where nobody asks


@dataclass(frozen=True)
class Timing:
    """How long the fault lasts."""

    shortest: float  # `math.inf` where nothing is certain to clear it [s]
    longest: float
    words: str  # where that comes from

    @property
    def continuous(self) -> bool:
        """Whether the fault may stay for ever."""
        return self.longest == math.inf
