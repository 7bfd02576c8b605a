"""Tolerable voltages of IEEE Std 80: bodies of 50 and 70 kg, 0.03 to 3 s."""

import math
from dataclasses import dataclass
from typing import ClassVar

from ..errors import CaseError
from ..wording import plain
from .contract import (
    EVERY_EXPOSURE,
    LONG_DURATION_SETS,
    Effect,
    Exposure,
    Limit,
    Standing,
    duration_in_words,
    ohms_in_words,
    refuse_duration,
    refuse_exposure,
    refuse_unless_counted,
)
from .feet import FEET_PER_RESISTIVITY, surface_layer_factor
from .time_current import zone_or_none

BODY_RESISTANCE = 1000.0  # Ω, hand to feet, foot to foot and hand to hand alike (from memory)

# A·√s by body mass in kg: IEEE Std 80-2000 clause 6 (from memory).
BODY_CONSTANT = {50.0: 0.116, 70.0: 0.157}

NO_OTHER_BODY = (
    "IEEE 80 has bodies of 50 kg and 70 kg; where children may be, say so in the exposure, "
    "'people: [children]', and it is judged by IEC 60479-1"
)


@dataclass(frozen=True)
class Ieee80:
    """Touch, step and metal-to-metal voltage by IEEE Std 80.

    Attributes
    ----------
    name : str
        The user's own name of the limit.
    body_mass : float
        50 or 70. [kg]

    Raises
    ------
    CaseError
        If the body mass is neither.

    Notes
    -----
    I_B = k / √t, k = 0.116 (50 kg) or 0.157 (70 kg), Dalziel's constant energy; touch
    (1000 + 1.5 C_s ρ_s) I_B, step (1000 + 6 C_s ρ_s) I_B, metal to metal 1000 I_B. C_s is
    `surface_layer_factor`, 1 and ρ on bare soil. The 2013 edition keeps these formulas
    (from memory).

    Examples
    --------
    >>> bare = Standing(soil_resistivity=400.0)
    >>> print(f"{Ieee80('yard').permissible('touch', duration=0.5, standing=bare).voltage:.1f}")
    262.5
    """

    name: str
    body_mass: float = 50.0

    exposures: ClassVar[tuple[Exposure, ...]] = EVERY_EXPOSURE
    durations: ClassVar[tuple[float, float]] = (0.03, 3.0)
    pace: ClassVar[float | None] = None
    source: ClassVar[str] = (
        "IEEE Std 80-2000, clauses 6 to 8, formulas kept in 2013 (from memory)"
    )

    def __post_init__(self) -> None:
        if self.body_mass not in BODY_CONSTANT:
            msg = f"body of {self.body_mass:g} kg: {NO_OTHER_BODY}"
            raise CaseError(msg)

    @property
    def protects(self) -> str:
        """Whom it protects."""
        return f"adults of {self.body_mass:g} kg"

    @property
    def caution(self) -> str:
        """For whom it does not hold."""
        return (
            f"one shock to a healthy adult of {self.body_mass:g} kg or more; not for "
            "children, wet skin, immersion, implants or repeated shocks"
        )

    def body_current(self, duration: float) -> float:
        """Body current that is tolerable for a duration. [A]

        Parameters
        ----------
        duration : float
            Duration, from 0.03 to 3. [s]

        Raises
        ------
        CaseError
            If the duration is out of range: 1/√t means nothing where the fault stays.
        """
        refuse_duration(
            duration,
            allowed=self.durations,
            by="the 1/sqrt(t) body current of IEEE 80",
            too_long=f"for longer or continuous contact use {LONG_DURATION_SETS}",
        )
        return BODY_CONSTANT[self.body_mass] / math.sqrt(duration)

    def permissible(self, exposure: Exposure, *, duration: float, standing: Standing) -> Limit:
        """Prospective voltage that is tolerable; see `LimitSet.permissible`."""
        feet, factor = self._feet(exposure, standing)
        current = self.body_current(duration)
        layer = "" if factor is None else f", Cs {factor:.3f}"
        words = (
            f"{self.body_mass:g} kg body, {plain(1e3 * current)} mA for "
            f"{duration_in_words(duration)}, body {ohms_in_words(BODY_RESISTANCE)} + feet "
            f"{ohms_in_words(feet)}{layer}"
        )
        return Limit((BODY_RESISTANCE + feet) * current, words, self.source)

    def effect(
        self, exposure: Exposure, *, voltage: float, duration: float, standing: Standing
    ) -> Effect:
        """Body current and loaded voltage for any duration; see `LimitSet.effect`."""
        refuse_unless_counted(voltage, what="prospective voltage", unit="V")
        feet, _ = self._feet(exposure, standing)
        current = voltage / (BODY_RESISTANCE + feet)
        words = f"body {ohms_in_words(BODY_RESISTANCE)} + feet {ohms_in_words(feet)}"
        label = zone_or_none(current, duration=duration)
        return Effect(current, BODY_RESISTANCE * current, label, words)

    def _feet(self, exposure: Exposure, standing: Standing) -> tuple[float, float | None]:
        """Resistance of the feet [Ω] and the derating factor in it, where a layer has one."""
        refuse_exposure(exposure, allowed=self.exposures, by="IEEE 80")
        if exposure == "hands":
            return 0.0, None
        if standing.solved_feet is not None:
            return standing.solved_feet, None
        factor = surface_layer_factor(standing)
        feet = FEET_PER_RESISTIVITY[exposure] * factor * standing.top_resistivity
        return feet, None if standing.layer_resistivity is None else factor
