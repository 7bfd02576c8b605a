"""What somebody can meet, and which limit it is held against."""

import math
from dataclasses import dataclass
from typing import Literal

from ..limits import Exposure as LimitExposure
from ..limits import Iec60479, LimitSet
from ..model import Floats
from .ground import SurfaceLayer

LET_GO = Iec60479("let-go for as long as it lasts", curve="b")


@dataclass(frozen=True)
class Exposure:
    """Voltage that somebody can meet.

    Attributes
    ----------
    name : str
        The user's own name.
    kind : {"touch", "step", "hands", "transferred"}
        Metal to feet; foot to foot; metal to metal; metal to the soil where it is carried.
    limit : LimitSet
        What it is held against.
    metals : tuple of str
        Names of what is touched: one for touch and transferred, two for hands.
    groups : tuple of int
        Groups whose potential they have.
    outline : ndarray of float, shape (n, 2), or None
        Where people stand, for touch and step; None anywhere in the mapped area. [m]
    places : ndarray of float, shape (n, 2), or None
        Where a carried voltage is met; None where the soil is at zero. [m]
    """

    name: str
    kind: Literal["touch", "step", "hands", "transferred"]
    limit: LimitSet
    metals: tuple[str, ...] = ()
    groups: tuple[int, ...] = ()
    outline: Floats | None = None
    places: Floats | None = None

    @property
    def limit_exposure(self) -> LimitExposure:
        """The same as limit sets name it."""
        return "touch" if self.kind == "transferred" else self.kind


@dataclass(frozen=True)
class Safety:
    """What is to be judged.

    Attributes
    ----------
    exposures : tuple of Exposure
        What somebody can meet.
    layers : tuple of SurfaceLayer
        Thin layers on the ground.
    duration : float or None
        How long the fault lasts, `math.inf` where nothing clears it; None where the
        protection says. [s]
    long_duration_limit : LimitSet
        Used where a limit does not hold for so long a fault.
    step_outline : float or None
        Step voltage whose outline is wanted. [V]
    """

    exposures: tuple[Exposure, ...]
    layers: tuple[SurfaceLayer, ...] = ()
    duration: float | None = None
    long_duration_limit: LimitSet = LET_GO
    step_outline: float | None = None


@dataclass(frozen=True)
class Timing:
    """How long the fault lasts.

    Attributes
    ----------
    shortest, longest : float
        `math.inf` where nothing is certain to clear it. [s]
    words : str
        Where that comes from.
    """

    shortest: float
    longest: float
    words: str

    @property
    def continuous(self) -> bool:
        """Whether the fault may stay for ever."""
        return self.longest == math.inf
