"""What every limit set is asked and what it answers; where the person stands."""

import math
from dataclasses import dataclass
from typing import Literal, Protocol

from ..errors import CaseError
from ..wording import AS_GIVEN, plain

Exposure = Literal["touch", "step", "hands"]
EVERY_EXPOSURE: tuple[Exposure, ...] = ("touch", "step", "hands")

LONG_DURATION_SETS = (
    "IEC 60479-1 (curve b, let-go, or c1), EN 50522 (its value beyond 10 s) or a limit of "
    "your own in volts or milliamperes"
)


@dataclass(frozen=True)
class Standing:
    """What is under the feet.

    Attributes
    ----------
    soil_resistivity : float
        Resistivity of the native top soil, > 0. [Ω·m]
    layer_resistivity : float or None
        Resistivity of a thin surface layer when wet, > 0; None on bare soil. [Ω·m]
    layer_thickness : float or None
        Its thickness, > 0; None on bare soil. [m]
    solved_feet : float or None
        Resistance of the feet in series with the body, where it was solved for what is asked:
        it counts in place of a formula, in every limit set that has a body. [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, or the layer is half described.
    """

    soil_resistivity: float
    layer_resistivity: float | None = None
    layer_thickness: float | None = None
    solved_feet: float | None = None

    @property
    def top_resistivity(self) -> float:
        """Resistivity the feet stand on: the layer's, else the soil's. [Ω·m]"""
        return self.layer_resistivity or self.soil_resistivity

    def __post_init__(self) -> None:
        if (self.layer_resistivity is None) != (self.layer_thickness is None):
            msg = "a surface layer needs its resistivity and its thickness; got one of them"
            raise CaseError(msg)
        refuse_unless_positive(self.soil_resistivity, what="soil resistivity", unit="ohm*m")
        if self.layer_resistivity is not None and self.layer_thickness is not None:
            refuse_unless_positive(
                self.layer_resistivity, what="surface layer resistivity", unit="ohm*m"
            )
            refuse_unless_positive(
                self.layer_thickness, what="surface layer thickness", unit="m"
            )
        if self.solved_feet is not None:
            refuse_unless_positive(self.solved_feet, what="resistance of feet", unit="ohm")


@dataclass(frozen=True)
class Limit:
    """A permissible voltage and how it came about.

    Attributes
    ----------
    voltage : float
        Prospective (open-circuit) voltage a person may meet, effective value. [V]
    words : str
        One line: body, factors, remarks.
    source : str
        Standard, edition and clause; says "from memory" where it was not opened.
    """

    voltage: float
    words: str
    source: str


@dataclass(frozen=True)
class Effect:
    """What a prospective voltage does once somebody bridges it.

    Attributes
    ----------
    body_current : float
        Current through the body, effective value. [A]
    loaded_voltage : float
        Voltage left across the body while it carries that current. [V]
    zone : str
        Time-current zone of IEC 60479-1, such as ``AC-3``; empty where the limit set has none.
    words : str
        One line: the body and the resistances in series with it.
    """

    body_current: float
    loaded_voltage: float
    zone: str
    words: str


class LimitSet(Protocol):
    """A named rule that says which voltage is permissible.

    Attributes
    ----------
    name : str
        The user's own name.
    source : str
        Standard, edition and clause; says "from memory" where it was not opened.
    protects : str
        Whom it protects, in few words that fit after "for".
    caution : str
        For whom and for what it does not hold, one line.
    exposures : tuple of str
        What it limits; anything else is refused.
    durations : tuple of float
        Shortest and longest duration it holds for; the longest may be `math.inf`. [s]
    pace : float or None
        Step length of its own; None where the study's counts. [m]
    """

    @property
    def name(self) -> str: ...  # noqa: D102
    @property
    def source(self) -> str: ...  # noqa: D102
    @property
    def caution(self) -> str: ...  # noqa: D102
    @property
    def protects(self) -> str: ...  # noqa: D102
    @property
    def exposures(self) -> tuple[Exposure, ...]: ...  # noqa: D102
    @property
    def durations(self) -> tuple[float, float]: ...  # noqa: D102
    @property
    def pace(self) -> float | None: ...  # noqa: D102

    def permissible(self, exposure: Exposure, *, duration: float, standing: Standing) -> Limit:
        """Prospective voltage that is permissible.

        Parameters
        ----------
        exposure : {"touch", "step", "hands"}
            Hand to feet, foot to foot, or hand to hand between two metals.
        duration : float
            How long the voltage lasts; `math.inf` when nothing clears the fault. [s]

        Raises
        ------
        CaseError
            If the set has no limit for this exposure or duration.
        """
        ...

    def effect(
        self, exposure: Exposure, *, voltage: float, duration: float, standing: Standing
    ) -> Effect:
        """What a prospective voltage does to somebody.

        Parameters
        ----------
        exposure, duration, standing
            As for `permissible`.
        voltage : float
            Prospective voltage, effective value, >= 0. [V]

        Raises
        ------
        CaseError
            If the set knows no body for this exposure or no zone for this duration.
        """
        ...


def refuse_unless_positive(value: float, *, what: str, unit: str) -> None:
    """Raise `CaseError` unless a value is positive and finite."""
    if not (math.isfinite(value) and value > 0):
        given = f"{value:g} {unit}".rstrip()  # a pure number has no unit
        msg = f"{what} {given}: must be positive and finite"
        raise CaseError(msg)


def refuse_unless_counted(value: float, *, what: str, unit: str) -> None:
    """Raise `CaseError` unless a value is finite and not negative."""
    if not (math.isfinite(value) and value >= 0):
        msg = f"{what} {value:g} {unit}: must be finite and 0 or more"
        raise CaseError(msg)


def refuse_exposure(
    exposure: str, *, allowed: tuple[Exposure, ...], by: str, hint: str = ""
) -> None:
    """Raise `CaseError` unless a limit set, called `by` in the message, covers an exposure."""
    if exposure not in allowed:
        tail = f"; {hint}" if hint else ""
        msg = f"{by} gives no limit for {exposure!r}, only for {', '.join(allowed)}{tail}"
        raise CaseError(msg)


def duration_in_words(duration: float, *limits: float, figures: int = 3) -> str:
    """Duration as it is printed.

    Parameters
    ----------
    duration : float
        Duration, > 0 or infinite. [s]
    *limits : float
        What it was held against, see `figures_apart`. [s]
    figures : int
        Significant figures; `AS_GIVEN` for what was not worked out.

    Examples
    --------
    >>> duration_in_words(0.5), duration_in_words(math.inf)
    ('0.5 s', 'continuous')
    """
    return (
        "continuous"
        if duration == math.inf
        else f"{plain(duration, *limits, figures=figures)} s"
    )


def ohms_in_words(resistance: float, *, figures: int = 3) -> str:
    """Resistance of a body, of feet or shoes as it is printed.

    Examples
    --------
    >>> ohms_in_words(12971.3)
    '13,000 Ω'
    """
    return f"{plain(resistance, figures=figures)} Ω"


def in_shoes(resistance: float, which: str = "each") -> str:
    """That shoes of some resistance are worn, to be added to whom a limit protects."""
    return f" in shoes of {ohms_in_words(resistance)} {which}" if resistance else ""


def refuse_duration(
    duration: float, *, allowed: tuple[float, float], by: str, too_long: str = ""
) -> None:
    """Raise `CaseError` unless a duration is from the shortest to the longest of a rule.

    `too_long` says what to use for longer durations.
    """
    low, high = allowed
    if low <= duration <= high:
        return
    upto = "without end" if high == math.inf else f"to {high:g} s"
    said = duration_in_words(duration, figures=AS_GIVEN)
    msg = f"{by} holds from {low:g} s {upto}, not for {said}"
    if duration > high and too_long:
        msg += f"; {too_long}"
    elif duration < low:
        msg += (
            f"; limits do not rise with duration, so the limit at {low:g} s is on the safe "
            "side: give that duration if it suits"
        )
    raise CaseError(msg)
