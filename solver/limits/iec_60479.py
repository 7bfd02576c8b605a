"""Permissible voltage by IEC 60479-1: a chosen curve, a body, a path; any duration."""

import math
from dataclasses import dataclass
from typing import ClassVar, get_args

from ..errors import CaseError
from ..wording import plain
from .body import Body
from .body_table import HEART_CURRENT_FACTOR, Skin
from .contract import (
    EVERY_EXPOSURE,
    Effect,
    Exposure,
    Limit,
    Standing,
    duration_in_words,
    in_shoes,
    ohms_in_words,
    refuse_exposure,
    refuse_unless_counted,
)
from .feet import feet_resistance
from .time_current import CURVE_MEANING, SHORTEST, LimitCurve, curve_current, zone

# Not c3: half of the people would be in fibrillation.
LIMIT_CURVES: tuple[str, ...] = get_args(LimitCurve)

TOUCH_PATHS = ("left hand to both feet", "right hand to both feet", "both hands to both feet")


@dataclass(frozen=True)
class Iec60479:
    """Voltage at which the body current reaches a time-current curve.

    Attributes
    ----------
    name : str
        The user's own name of the limit.
    curve : {"a", "b", "c1", "c2"}
        Curve that must not be passed; b (let-go) or c1 for continuous contact.
    percentile : int
        5, 50 or 95: whose body impedance; 5 is the lowest.
    path : str
        Way of the current for touch, one of `TOUCH_PATHS`.
    path_credit : bool
        Whether paths that load the heart less than left hand to feet (factor below 1) may
        carry more current on the c curves. Off unless asked for: somebody who falls at a
        step is on another path.
    footwear : float
        Resistance of one shoe, >= 0. [Ω]
    skin : {"dry", "water-wet", "saltwater-wet"}
        What the contacts are like.

    Raises
    ------
    CaseError
        If an attribute is not one of those listed.

    Notes
    -----
    U_p = I (Z(U) + R), U = I Z(U): I is the curve's current over the heart-current factor
    (c curves only), Z the body's impedance at the voltage across it, R feet and shoes.
    Hands meet metal bare, without shoes and soil.
    """

    name: str
    curve: LimitCurve = "c1"
    percentile: int = 5
    path: str = "left hand to both feet"
    path_credit: bool = False
    footwear: float = 0.0
    skin: Skin = "dry"

    exposures: ClassVar[tuple[Exposure, ...]] = EVERY_EXPOSURE
    durations: ClassVar[tuple[float, float]] = (SHORTEST, math.inf)
    pace: ClassVar[float | None] = None

    def __post_init__(self) -> None:
        if self.path not in TOUCH_PATHS:
            msg = f"path {self.path!r} is not one of {', '.join(TOUCH_PATHS)}"
            raise CaseError(msg)
        if self.curve not in LIMIT_CURVES:
            there = ", ".join(LIMIT_CURVES)
            msg = f"curve {self.curve!r} is no limit; there are {there}"
            raise CaseError(msg)
        Body(self.path, self.percentile, self.skin)  # refuses what is not held
        refuse_unless_counted(self.footwear, what="resistance of one shoe", unit="ohm")

    @property
    def source(self) -> str:
        """Standard, edition and clause."""
        return (
            f"IEC TS 60479-1:2005, curve {self.curve} and body impedance, {self.skin}, large "
            "contact (from memory)"
        )

    @property
    def protects(self) -> str:
        """Whom it protects."""
        return f"adults with {self.skin} skin{in_shoes(self.footwear)}"

    @property
    def caution(self) -> str:
        """For whom it does not hold."""
        held = ""
        if self.curve.startswith("c"):
            held = "against ventricular fibrillation only: nobody can let go of such currents; "
        return held + (
            f"{self.skin} skin, large contact, {self.percentile} % body, alternating current "
            "of 15 to 100 Hz; wetter skin and immersion let more current pass; children are "
            "in its scope, though the bodies measured were adults'"
        )

    def permissible(self, exposure: Exposure, *, duration: float, standing: Standing) -> Limit:
        """Prospective voltage that keeps below the curve; see `LimitSet.permissible`."""
        body, series = self._body_and_series(exposure, standing)
        factor = self._heart_factor(body.path) if self.curve.startswith("c") else 1.0
        current = curve_current(self.curve, duration=duration) / factor
        across = body.voltage(current)
        words = (
            f"curve {self.curve} ({CURVE_MEANING[self.curve]}), {plain(1e3 * current)} mA "
            f"{body.path}, {duration_in_words(duration)}, {self.percentile} % {self.skin} "
            f"body {ohms_in_words(body.impedance(across))} + feet and shoes "
            f"{ohms_in_words(series)}, heart-current factor {factor:g}"
        )
        return Limit(across + series * current, words, self.source)

    def effect(
        self, exposure: Exposure, *, voltage: float, duration: float, standing: Standing
    ) -> Effect:
        """Body current, loaded voltage and zone; see `LimitSet.effect`."""
        body, series = self._body_and_series(exposure, standing)
        across, current = body.loaded(voltage, series=series)
        label = zone(current, duration=duration, heart_factor=self._heart_factor(body.path))
        words = (
            f"{body.path}, {self.percentile} % {self.skin} body "
            f"{ohms_in_words(body.impedance(across))} + feet and shoes {ohms_in_words(series)}"
        )
        return Effect(current, across, label, words)

    def _heart_factor(self, path: str) -> float:
        factor = HEART_CURRENT_FACTOR[path]
        return factor if self.path_credit else max(factor, 1.0)

    def _body_and_series(self, exposure: Exposure, standing: Standing) -> tuple[Body, float]:
        """Body on its path and the resistance in series with it. [Ω]"""
        refuse_exposure(exposure, allowed=self.exposures, by="IEC 60479-1")
        path = {"touch": self.path, "step": "foot to foot", "hands": "hand to hand"}[exposure]
        shoes = {"touch": self.footwear / 2, "step": 2 * self.footwear, "hands": 0.0}[exposure]
        feet = feet_resistance(exposure, standing=standing)
        return Body(path, self.percentile, self.skin), feet + shoes
