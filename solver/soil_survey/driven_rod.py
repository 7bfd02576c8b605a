"""Readings of one rod driven deeper and deeper."""

from dataclasses import dataclass
from typing import Self

import numpy as np
import numpy.typing as npt

from ..errors import CaseError
from ..model import Floats, Integers
from .checking import (
    Readings,
    common_problems,
    problem,
    require_shapes,
    spread,
    spread_index,
)
from .rod_model import uniform_rod_factor


@dataclass(frozen=True)
class DrivenRodReadings(Readings):
    """Resistance to remote earth of one rod as it goes deeper, one row a reading.

    Attributes
    ----------
    driven_length : ndarray of float, shape (n,)
        Length of rod in the soil, at least 10 radii. [m]
    radius : ndarray of float, shape (n,)
        Radius of the rod. [m]
    resistance : ndarray of float, shape (n,)
        Resistance to remote earth, > 0. [Ω]
    deviation : ndarray of float, shape (n,)
        Relative standard deviation of the reading, > 0; nan where it is not known.
    traverse : ndarray of int, shape (n,)
        Index of the traverse, here the place where the rod was driven.

    Raises
    ------
    CaseError
        If shapes differ or a value is out of its bounds. All problems are listed.
    """

    driven_length: Floats
    radius: Floats
    resistance: Floats
    deviation: Floats
    traverse: Integers

    def __post_init__(self) -> None:
        n = len(self.resistance)
        require_shapes(
            driven_length=(self.driven_length, (n,)),
            radius=(self.radius, (n,)),
            resistance=(self.resistance, (n,)),
            deviation=(self.deviation, (n,)),
            traverse=(self.traverse, (n,)),
        )
        found = common_problems(self.resistance, self.deviation, self.traverse)
        for k, (length, radius) in enumerate(zip(self.driven_length, self.radius, strict=True)):
            if not (np.isfinite(radius) and radius > 0):
                found.append(problem(k, f"rod radius {radius:g} m must be positive"))
            elif not (np.isfinite(length) and length >= 10 * radius):
                msg = (
                    f"driven length {length:g} m must be at least 10 radii, {10 * radius:g} m; "
                    "leave out readings of a rod that has hardly entered"
                )
                found.append(problem(k, msg))
            if self.resistance[k] < 0:
                msg = f"resistance {self.resistance[k]:g} Ω of a rod must be positive"
                found.append(problem(k, msg))
        if found:
            raise CaseError(found)

    @classmethod
    def single(
        cls,
        driven_length: npt.ArrayLike,
        *,
        radius: npt.ArrayLike,
        resistance: npt.ArrayLike,
        deviation: npt.ArrayLike = np.nan,
        traverse: npt.ArrayLike = 0,
    ) -> Self:
        """Readings of one rod; single values hold for all of them.

        Parameters
        ----------
        driven_length : array_like of float, shape (n,)
            Length in the soil. [m]
        radius, resistance, deviation, traverse : array_like, shape () or (n,)
            As the attributes. [m], [Ω]
        """
        lengths = np.atleast_1d(np.asarray(driven_length, dtype=float))
        n = len(lengths)
        return cls(
            driven_length=lengths,
            radius=spread(radius, n),
            resistance=spread(resistance, n),
            deviation=spread(deviation, n),
            traverse=spread_index(traverse, n),
        )

    @property
    def apparent_resistivity(self) -> Floats:
        """Resistivity of the uniform soil that gives the reading, shape (n,). [Ω·m]"""
        return self.resistance / uniform_rod_factor(self.driven_length, radius=self.radius)

    @property
    def spacing(self) -> Floats:
        """Driven length, on the scale of `FourPinReadings.spacing`, shape (n,). [m]"""
        return self.driven_length
