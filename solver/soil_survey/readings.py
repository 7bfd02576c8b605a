"""A soil survey: all readings of all traverses, in one fixed order.

Readings are kept as resistance V/I, the one thing that was measured; apparent resistivity
follows from the places of the pins.
"""

from dataclasses import dataclass, replace
from typing import Self

import numpy as np
import numpy.typing as npt

from ..errors import CaseError
from ..model import Flags, Floats, Integers
from .driven_rod import DrivenRodReadings
from .four_pin import FourPinReadings

__all__ = ["DrivenRodReadings", "FourPinReadings", "Survey", "Traverse"]


@dataclass(frozen=True)
class Traverse:
    """One line of pins on the ground, or one place where a rod was driven.

    Attributes
    ----------
    name : str
        The user's name for it.
    direction, date, note : str
        In the user's own words; empty where not given.
    """

    name: str
    direction: str = ""
    date: str = ""
    note: str = ""


@dataclass(frozen=True)
class Survey:
    """All readings of a site: first those with four pins, then those of driven rods.

    Every array over all readings, here and in the results, has this order.

    Attributes
    ----------
    traverses : tuple of Traverse
        What the traverse index of a reading points to.
    four_pin : FourPinReadings or None
        Readings with four pins.
    driven_rod : DrivenRodReadings or None
        Readings of driven rods.

    Raises
    ------
    CaseError
        If there are no readings, two traverses share a name, or a reading points to a
        traverse that is not there.
    """

    traverses: tuple[Traverse, ...]
    four_pin: FourPinReadings | None = None
    driven_rod: DrivenRodReadings | None = None

    def __post_init__(self) -> None:
        if not self.parts:
            msg = "the survey has no readings; give at least one"
            raise CaseError(msg)
        names = self.names
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            msg = f"traverse names must differ, got more than once: {', '.join(twice)}"
            raise CaseError(msg)
        highest = int(self.traverse.max())
        if highest >= len(names):
            msg = (
                f"a reading belongs to traverse index {highest}, but the survey has "
                f"{len(names)} traverses: {', '.join(names) or 'none'}"
            )
            raise CaseError(msg)

    @classmethod
    def of(cls, readings: FourPinReadings | DrivenRodReadings, *, name: str = "all") -> Self:
        """A survey of one kind of reading, all with traverse index 0, on one traverse."""
        if isinstance(readings, FourPinReadings):
            return cls(traverses=(Traverse(name),), four_pin=readings)
        return cls(traverses=(Traverse(name),), driven_rod=readings)

    def __len__(self) -> int:
        return sum(len(part) for part in self.parts)

    @property
    def parts(self) -> tuple[FourPinReadings | DrivenRodReadings, ...]:
        """The kinds of readings there are, in order."""
        return tuple(part for part in (self.four_pin, self.driven_rod) if part is not None)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the traverses."""
        return tuple(traverse.name for traverse in self.traverses)

    @property
    def resistance(self) -> Floats:
        """Resistance of each reading, shape (n,). [Ω]"""
        return np.concatenate([part.resistance for part in self.parts])

    @property
    def apparent_resistivity(self) -> Floats:
        """Resistivity of the uniform soil that gives each reading, shape (n,). [Ω·m]"""
        return np.concatenate([part.apparent_resistivity for part in self.parts])

    @property
    def deviation(self) -> Floats:
        """Relative standard deviation of each reading, nan where not known, shape (n,)."""
        return np.concatenate([part.deviation for part in self.parts])

    @property
    def spacing(self) -> Floats:
        """A third of the pins' span, or the driven length, of each reading, shape (n,). [m]"""
        return np.concatenate([part.spacing for part in self.parts])

    @property
    def traverse(self) -> Integers:
        """Index of the traverse of each reading, shape (n,)."""
        return np.concatenate([part.traverse for part in self.parts])

    @property
    def layouts(self) -> Floats:
        """What was measured, one row a reading: equal rows measure the same, shape (n, 6)."""
        rows = []
        if self.four_pin is not None:
            pins = self.four_pin.pins
            places = pins - pins.min(axis=1, keepdims=True)
            depth = self.four_pin.pin_depth[:, None]
            rows.append(np.hstack([np.zeros_like(depth), places, depth]))
        if self.driven_rod is not None:
            rod = np.column_stack([self.driven_rod.driven_length, self.driven_rod.radius])
            rows.append(np.hstack([np.ones((len(rod), 1)), rod, np.zeros((len(rod), 3))]))
        return np.vstack(rows)

    @property
    def is_driven_rod(self) -> Flags:
        """Whether each reading is one of a driven rod, shape (n,)."""
        four = 0 if self.four_pin is None else len(self.four_pin)
        return np.arange(len(self)) >= four

    @property
    def array(self) -> Integers:
        """Sort of layout: 0 pins at equal distances, 1 other pins, 2 driven rod, shape (n,)."""
        found = np.full(len(self), 2)
        if self.four_pin is not None:
            found[: len(self.four_pin)] = np.where(self.four_pin.is_wenner, 0, 1)
        return found

    def subset(self, keep: npt.ArrayLike) -> Self:
        """The survey with some of its readings, at least one; all traverses stay."""
        flags = np.asarray(keep, dtype=bool)
        rods = self.is_driven_rod
        four, rod = flags[~rods], flags[rods]
        return replace(
            self,
            four_pin=self.four_pin.subset(four) if self.four_pin and four.any() else None,
            driven_rod=self.driven_rod.subset(rod) if self.driven_rod and rod.any() else None,
        )
