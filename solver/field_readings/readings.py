"""Readings of a voltmeter: what it was across, what current flowed, what it showed."""

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from ..errors import CaseError
from ..model import Floats

Place = tuple[float, float, float]


@dataclass(frozen=True)
class End:
    """One end of a meter lead, or where the current goes back: metal, soil, or far away.

    Attributes
    ----------
    group : int or None
        Group of metal; None for a pin in the soil or remote earth.
    place : tuple of float, length 3, or None
        Place of a pin, z <= 0; None for metal and for remote earth. [m]
    reference : bool
        Whether it is the reference that readings share, given by its place or taken to be
        remote.

    Raises
    ------
    CaseError
        If it is metal and pin at once, or the place is above the surface.
    """

    group: int | None = None
    place: Place | None = None
    reference: bool = False

    def __post_init__(self) -> None:
        if self.group is not None and self.place is not None:
            msg = "a meter lead ends on metal or on a pin in the soil, not on both"
            raise CaseError(msg)
        if self.place is not None and not (
            all(map(math.isfinite, self.place)) and self.place[2] <= 0
        ):
            msg = f"place {self.place} must be finite and have z <= 0 (the surface is z = 0)"
            raise CaseError(msg)

    @property
    def is_pin(self) -> bool:
        """Whether it is a pin in the soil."""
        return self.place is not None


remote = End()


@dataclass(frozen=True, kw_only=True)
class Reading:
    """What a meter showed, per ampere or as a share of the source voltage.

    Attributes
    ----------
    plus, minus : End
        Where its leads were; the reading is the voltage of `plus` over `minus`.
    current_from : int
        Group from which the current enters the soil.
    current_to : End
        Where it leaves the soil: another group, a pin, or far away.
    per : {"ampere", "source"}
        What the voltage was divided by.
    value : float
        [Ω] per ampere, [1] per source voltage.
    deviation : float
        Standard deviation of `value`, > 0, in its unit.
    return_resistance : float
        Of everything else between the poles of the source, for readings per source. [Ω]
    meter_resistance : float
        Input resistance of the meter; infinite for an ideal one. [Ω]
    pin_resistance : float
        Contact resistance of each pin the meter is on. [Ω]
    series : int
        Index of the series it belongs to.
    loop : bool
        Whether it is source voltage over current: everything between the poles.

    Raises
    ------
    CaseError
        If a number is out of its range.
    """

    plus: End
    minus: End
    current_from: int
    current_to: End = remote
    per: Literal["ampere", "source"] = "ampere"
    value: float
    deviation: float
    return_resistance: float = 0.0
    meter_resistance: float = math.inf
    pin_resistance: float = 0.0
    series: int = 0
    loop: bool = False

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            msg = f"a reading must be a finite number, not {self.value}"
            raise CaseError(msg)
        if not (math.isfinite(self.deviation) and self.deviation > 0):
            msg = f"the deviation of a reading must be above 0, not {self.deviation}"
            raise CaseError(msg)
        if not (self.return_resistance >= 0 and self.pin_resistance >= 0):
            msg = "return and pin resistance must be 0 or more"
            raise CaseError(msg)
        if not self.meter_resistance > 0:
            msg = (
                f"the input resistance of a meter must be above 0, not {self.meter_resistance}"
            )
            raise CaseError(msg)
        if self.current_to.is_pin and (self.per == "source" or self.loop):
            msg = (
                "the current returns to a pin whose own resistance is not in the model, so "
                "the source voltage says nothing; give the current, or make the pin an "
                "electrode of the case"
            )
            raise CaseError(msg)
        if self.current_to.group == self.current_from:
            msg = "the current returns to the electrode it comes from; name another one"
            raise CaseError(msg)

    @property
    def ends(self) -> tuple[End, End]:
        """Both ends of the meter."""
        return (self.plus, self.minus)

    @property
    def pins(self) -> int:
        """How many of its leads end on a pin."""
        return sum(end.is_pin for end in self.ends)


@dataclass(frozen=True)
class Readings:
    """All readings of a site.

    Attributes
    ----------
    items : tuple of Reading
        One or more.

    Raises
    ------
    CaseError
        If there are none, or a current pin and potential pins below the surface go together.
    """

    items: tuple[Reading, ...]

    def __post_init__(self) -> None:
        if not self.items:
            msg = "no readings; give one or more"
            raise CaseError(msg)
        for number, item in enumerate(self.items, start=1):
            places = [end.place for end in (*item.ends, item.current_to) if end.place]
            if item.current_to.is_pin and any(place[2] < 0 for place in places):
                msg = (
                    f"reading {number}: where the current returns to a pin, all pins are on "
                    "the surface; make the current pin an electrode of the case"
                )
                raise CaseError(msg)

    def __len__(self) -> int:
        return len(self.items)

    @cached_property
    def value(self) -> Floats:
        """What was read, shape (n,). [Ω] or [1]"""
        return np.array([item.value for item in self.items])

    @cached_property
    def deviation(self) -> Floats:
        """Standard deviation of each, shape (n,), in the unit of the reading."""
        return np.array([item.deviation for item in self.items])

    @cached_property
    def places(self) -> tuple[Place, ...]:
        """Places of all pins, each once."""
        every = [
            end.place
            for item in self.items
            for end in (*item.ends, item.current_to)
            if end.place is not None
        ]
        return tuple(dict.fromkeys(every))

    @property
    def points(self) -> Floats:
        """Places of all pins, shape (p, 3). [m]"""
        return np.array(self.places, dtype=float).reshape(-1, 3)
