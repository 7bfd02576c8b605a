"""Action levels for livestock: a small steady voltage, whatever the duration."""

import math
from dataclasses import dataclass
from typing import ClassVar

from ..errors import CaseError
from ..wording import AS_GIVEN, plain
from .contract import (
    Effect,
    Exposure,
    Limit,
    Standing,
    duration_in_words,
    ohms_in_words,
    refuse_duration,
    refuse_exposure,
    refuse_unless_counted,
    refuse_unless_positive,
)

ANIMAL_RESISTANCE = 500.0  # Ω, cow, muzzle to hooves or fore to hind hooves (trade figure)
LEAST_LEVEL, MOST_LEVEL = 0.5, 1.0  # V across the animal: 1 to 2 mA
STRIDE = 1.5  # m, fore to hind hooves of a cow (trade figure)


@dataclass(frozen=True)
class Livestock:
    """Voltage across 500 Ω at which something should be done about it.

    Attributes
    ----------
    name : str
        The user's own name of the limit.
    level : float
        Action level across the animal, from 0.5 to 1. [V]
    contact : float
        Resistance in series with the animal, hooves and ground, >= 0; 0 is a wet stall. [Ω]
    pace : float
        Distance between fore and hind hooves, > 0. [m]

    Raises
    ------
    CaseError
        If an attribute is out of range.

    Notes
    -----
    Level (500 Ω + contact) / 500 Ω, prospective. It does not depend on the duration: it is
    about a nuisance that stays, not about a fault that is cleared.
    """

    name: str
    level: float = LEAST_LEVEL
    contact: float = 0.0
    pace: float = STRIDE

    exposures: ClassVar[tuple[Exposure, ...]] = ("touch", "step")
    protects: ClassVar[str] = "livestock"
    durations: ClassVar[tuple[float, float]] = (0.0, math.inf)
    source: ClassVar[str] = (
        "action level of stray-voltage practice, 1 to 2 mA in 500 Ω (trade figure)"
    )
    caution: ClassVar[str] = (
        "a level to act on for cattle; no limit for people and none for injury"
    )

    def __post_init__(self) -> None:
        # Round-off of levels written in mV.
        if not LEAST_LEVEL - 1e-9 <= self.level <= MOST_LEVEL + 1e-9:
            msg = (
                f"livestock level {self.level:g} V: action levels are from {LEAST_LEVEL:g} to "
                f"{MOST_LEVEL:g} V; for another use a limit of your own"
            )
            raise CaseError(msg)
        refuse_unless_counted(self.contact, what="contact resistance", unit="ohm")
        refuse_unless_positive(self.pace, what="pace of an animal", unit="m")

    def permissible(self, exposure: Exposure, *, duration: float, standing: Standing) -> Limit:
        """Prospective voltage of the action level; see `LimitSet.permissible`."""
        self._check(exposure, duration)
        current = self.level / ANIMAL_RESISTANCE
        words = (
            f"{plain(1e3 * current)} mA through animal {ohms_in_words(ANIMAL_RESISTANCE)} + "
            f"contact {ohms_in_words(self.contact, figures=AS_GIVEN)}, "
            f"{duration_in_words(duration)}, any duration alike"
        )
        return Limit(current * (ANIMAL_RESISTANCE + self.contact), words, self.source)

    def effect(
        self, exposure: Exposure, *, voltage: float, duration: float, standing: Standing
    ) -> Effect:
        """Current through the animal; see `LimitSet.effect`."""
        self._check(exposure, duration)
        refuse_unless_counted(voltage, what="prospective voltage", unit="V")
        current = voltage / (ANIMAL_RESISTANCE + self.contact)
        contact = ohms_in_words(self.contact, figures=AS_GIVEN)
        words = f"animal {ohms_in_words(ANIMAL_RESISTANCE)} + contact {contact}"
        return Effect(current, ANIMAL_RESISTANCE * current, "", words)

    def _check(self, exposure: Exposure, duration: float) -> None:
        refuse_exposure(exposure, allowed=self.exposures, by="the livestock level")
        refuse_duration(duration, allowed=self.durations, by="the livestock level")
