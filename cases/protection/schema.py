"""Protective devices and the current each one sees: the protection block."""

from abc import abstractmethod
from typing import Annotated, Literal, Self

from pydantic import Field, StringConstraints, model_validator

from ...solver.errors import CaseError
from ...solver.protection import (
    Characteristic,
    FixedTime,
    GroundFaultInterrupter,
    Iec60898Breaker,
    InverseTimeRelay,
    ResidualCurrentDevice,
    TimeCurrentPoints,
    Ul489Breaker,
)
from ..reading import fields as f
from ..reading.blocks import Block
from ..reading.naming import names_a
from ..reading.size_limits import MOST_DEVICES
from ..soil_survey.schema import Deviation

# Longer than a name: 'earth current of' stands before one.
Measured = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=100),
    f.one_line,
]
Points = Annotated[
    tuple[tuple[f.Current, f.Duration], ...], Field(min_length=2, max_length=100)
]


class Kind(Block):
    """A device that the solver's own checks must let pass."""

    @property
    @abstractmethod
    def characteristic(self) -> Characteristic:
        """The device as the solver takes it."""

    @model_validator(mode="after")
    def _exists(self) -> Self:
        _ = self.characteristic  # raises what is wrong with it
        return self


class Breaker(Kind):
    """Circuit breaker by the band of its standard."""

    standard: Literal["IEC 60898-1", "UL 489"]
    """IEC 60898-1 (B, C, D, up to 125 A) or UL 489."""
    rating: f.Current
    """Rated current."""
    curve: Literal["B", "C", "D"] | None = None
    """With IEC 60898-1: band of the instantaneous release."""

    @property
    def characteristic(self) -> Characteristic:
        """Breaker as the solver takes it."""
        if self.standard == "UL 489":
            if self.curve is not None:
                msg = "'curve' goes with IEC 60898-1; UL 489 has none, leave it out"
                raise CaseError(msg)
            return Ul489Breaker(self.rating)
        if self.curve is None:
            msg = "a breaker of IEC 60898-1 needs its 'curve': B, C or D"
            raise CaseError(msg)
        return Iec60898Breaker(self.rating, self.curve)


class Residual(Kind):
    """Residual-current device, or ground-fault circuit interrupter."""

    standard: Literal["UL 943", "IEC 61008-1"]
    """UL 943 class A (4 mA to 6 mA), or IEC 61008-1 with a rating; 61009-1 has its times."""
    rating: f.Current | None = None
    """With IEC 61008-1: rated residual current, 10, 30, 100, 300 or 500 mA."""
    delayed: bool = False
    """With IEC 61008-1: type S, selective."""

    @property
    def characteristic(self) -> Characteristic:
        """Residual-current device as the solver takes it."""
        if self.standard == "UL 943":
            if self.rating is not None or self.delayed:
                msg = (
                    "'rating' and 'delayed' go with IEC 61008-1; class A of UL 943 has one "
                    "level, leave them out"
                )
                raise CaseError(msg)
            return GroundFaultInterrupter()
        if self.rating is None:
            msg = "a device of IEC 61008-1 needs its 'rating', for example 30 mA"
            raise CaseError(msg)
        return ResidualCurrentDevice(self.rating, delayed=self.delayed)


class Fuse(Kind):
    """Fuse by points of its time-current curve."""

    exactly_one = (("points", "minimum_melting"),)

    points: Points | None = None
    """The only curve: [[30 A, 300 s], [100 A, 2 s]], currents rising."""
    minimum_melting: Points | None = None
    """Curve before which it does not melt; goes with total_clearing."""
    total_clearing: Points | None = None
    """Curve by which it has cleared; goes with minimum_melting."""

    @model_validator(mode="after")
    def _has_both(self) -> Self:
        if (self.minimum_melting is None) != (self.total_clearing is None):
            msg = (
                "'minimum_melting' and 'total_clearing' go together; with one curve alone "
                "write 'points'"
            )
            raise CaseError(msg)
        return self

    @property
    def characteristic(self) -> Characteristic:
        """Fuse as the solver takes it."""
        return TimeCurrentPoints(self.minimum_melting or self.points or (), self.total_clearing)


class Relay(Kind):
    """Relay and the breaker it opens, by formula or by points."""

    exactly_one = (("curve", "points"),)

    curve: Literal["standard inverse", "very inverse", "extremely inverse"] | None = None
    """Inverse-time curve of IEC 60255-151; goes with pickup and time_multiplier."""
    pickup: f.Current | None = None
    """With curve: setting, as current in the circuit."""
    time_multiplier: Annotated[float, f.ratio(least=0.001, most=1000.0)] | None = None
    """With curve: time multiplier setting."""
    tolerance: Deviation | None = None
    """With curve: error of the relay's time, in % of it; none when left out."""
    points: Points | None = None
    """Time-current curve: [[200 A, 3 s], [2 kA, 0.3 s]], currents rising."""
    opening_time: f.Duration | None = None
    """What the breaker takes after the relay; none when left out."""

    @property
    def characteristic(self) -> Characteristic:
        """Relay as the solver takes it."""
        opening_time = self.opening_time or 0.0
        if self.curve is None:
            if (self.pickup, self.time_multiplier, self.tolerance) != (None, None, None):
                msg = "'pickup', 'time_multiplier' and 'tolerance' go with 'curve', not points"
                raise CaseError(msg)
            return TimeCurrentPoints(self.points or (), opening_time=opening_time)
        if self.pickup is None or self.time_multiplier is None:
            msg = f"a {self.curve} relay needs its 'pickup' and its 'time_multiplier'"
            raise CaseError(msg)
        return InverseTimeRelay(
            self.curve,
            pickup=self.pickup,
            time_multiplier=self.time_multiplier,
            opening_time=opening_time,
            tolerance=self.tolerance or 0.0,
        )


class Fixed(Kind):
    """A clearing time taken as given."""

    clearing_time: f.Duration
    """From the start of the fault to its end."""
    pickup: f.Current | None = None
    """Current up to which it does not act; left out, it acts at any current."""

    @property
    def characteristic(self) -> Characteristic:
        """The time as the solver takes it."""
        return FixedTime(self.clearing_time, pickup=self.pickup)


class Device(Block):
    """A protective device and the current it sees."""

    exactly_one = (("breaker", "residual", "fuse", "relay", "fixed"),)

    name: Annotated[f.Name, names_a("device")]
    """Your own name."""
    measures: Measured
    """supply, the name of a path of the circuit, or earth current of an electrode."""
    breaker: Breaker | None = None
    """Circuit breaker."""
    residual: Residual | None = None
    """Residual-current device, ground-fault circuit interrupter."""
    fuse: Fuse | None = None
    """Fuse by points."""
    relay: Relay | None = None
    """Relay with its breaker."""
    fixed: Fixed | None = None
    """A given clearing time."""
    backup: bool = False
    """Whether it counts only where no other device is certain to open."""
    fitted: bool = True
    """Whether it is there; variants fit and remove it by its name."""

    @property
    def kind(self) -> Kind:
        """The one kind given."""
        kinds = (self.breaker, self.residual, self.fuse, self.relay, self.fixed)
        return next(kind for kind in kinds if kind is not None)


Devices = Annotated[tuple[Device, ...], Field(min_length=1, max_length=MOST_DEVICES)]
"""The protection block: a list of devices."""
