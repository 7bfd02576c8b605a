"""Readings with four pins in a line."""

from dataclasses import dataclass
from typing import Self, TypedDict, Unpack

import numpy as np
import numpy.typing as npt

from ..errors import CaseError, Problem
from ..model import Flags, Floats, Integers
from ..wording import listed
from .checking import (
    Readings,
    common_problems,
    problem,
    require_shapes,
    spread,
    spread_index,
)
from .pin_geometry import (
    half_space_coefficients,
    pair_distances,
    schlumberger_pins,
    wenner_pins,
)

# Where potentials nearly cancel, a millimetre in a pin's place changes all.
_least_signal = 1e-4
# Pins paced out at equal distances are equal to rounding.
_same_shape = 1e-6


class _Rest(TypedDict, total=False):
    """What `FourPinReadings.collinear` takes beside the places of the pins."""

    resistance: npt.ArrayLike | None
    apparent_resistivity: npt.ArrayLike | None
    depth_corrected: bool | None
    deviation: npt.ArrayLike
    pin_depth: npt.ArrayLike
    traverse: npt.ArrayLike


@dataclass(frozen=True)
class FourPinReadings(Readings):
    """Readings with four pins in a straight line, one row each.

    Attributes
    ----------
    pins : ndarray of float, shape (n, 4)
        Positions along the traverse of current pin, potential pin, potential pin and
        current pin, all different. [m]
    resistance : ndarray of float, shape (n,)
        Voltage between the potential pins over the current; negative only where uniform
        soil gives a negative one too. [Ω]
    deviation : ndarray of float, shape (n,)
        Relative standard deviation of the reading, > 0; nan where it is not known.
    pin_depth : ndarray of float, shape (n,)
        Depth at which the pins act as points, >= 0; 0 for pins that barely enter. [m]
    traverse : ndarray of int, shape (n,)
        Index of the traverse.

    Raises
    ------
    CaseError
        If shapes differ, a value is out of its bounds, two pins coincide, or the pins lie so
        that uniform soil gives next to no voltage. All problems are listed.
    """

    pins: Floats
    resistance: Floats
    deviation: Floats
    pin_depth: Floats
    traverse: Integers

    def __post_init__(self) -> None:
        n = len(self.resistance)
        require_shapes(
            pins=(self.pins, (n, 4)),
            resistance=(self.resistance, (n,)),
            deviation=(self.deviation, (n,)),
            pin_depth=(self.pin_depth, (n,)),
            traverse=(self.traverse, (n,)),
        )
        found = common_problems(self.resistance, self.deviation, self.traverse)
        for k, (pins, depth) in enumerate(zip(self.pins, self.pin_depth, strict=True)):
            if not (np.isfinite(depth) and depth >= 0):
                found.append(problem(k, f"pin depth {depth:g} m must be 0 or more"))
            elif not np.isfinite(pins).all() or len(set(pins.tolist())) < 4:
                msg = f"pins at {listed(pins)} m must be four different places"
                found.append(problem(k, msg))
            else:
                found += self._signal_problems(k)
        if found:
            raise CaseError(found)

    def _signal_problems(self, k: int) -> list[Problem]:
        """What is wrong between the places of the pins and the sign of the reading."""
        pins, depth = self.pins[k : k + 1], self.pin_depth[k : k + 1]
        coefficient = half_space_coefficients(pins, pin_depth=depth)[0]
        distance = pair_distances(pins).min()
        if abs(coefficient) * 2 * np.pi * distance < _least_signal:
            msg = (
                f"pins at {listed(pins[0])} m see next to no voltage in uniform soil; "
                "check the order: current, potential, potential, current"
            )
            return [problem(k, msg)]
        if self.resistance[k] * coefficient < 0:
            msg = (
                f"resistance {self.resistance[k]:g} Ω must be "
                f"{'positive' if coefficient > 0 else 'negative'} for pins at "
                f"{listed(pins[0])} m; check the order of the pins and the sign"
            )
            return [problem(k, msg)]
        return []

    @classmethod
    def collinear(
        cls,
        pins: npt.ArrayLike,
        *,
        resistance: npt.ArrayLike | None = None,
        apparent_resistivity: npt.ArrayLike | None = None,
        depth_corrected: bool | None = None,
        deviation: npt.ArrayLike = np.nan,
        pin_depth: npt.ArrayLike = 0.0,
        traverse: npt.ArrayLike = 0,
    ) -> Self:
        """Readings at any four places in a line.

        Parameters
        ----------
        pins : array_like of float, shape (n, 4)
            Positions of current pin, potential pin, potential pin, current pin. [m]
        resistance : array_like of float, shape (n,), optional
            Voltage over current; give this or `apparent_resistivity`. [Ω]
        apparent_resistivity : array_like of float, shape (n,), optional
            Apparent resistivity as somebody has worked it out. [Ω·m]
        depth_corrected : bool, optional
            Whether `apparent_resistivity` was worked out with the depth of the pins (True) or
            for pins at the surface, as 2 π a R is (False). Must be said for buried pins.
        deviation : array_like of float, shape () or (n,)
            Relative standard deviation; nan where not known.
        pin_depth : array_like of float, shape () or (n,)
            Depth at which the pins act as points. [m]
        traverse : array_like of int, shape () or (n,)
            Index of the traverse.

        Raises
        ------
        CaseError
            As the class; and if not exactly one of resistance and apparent resistivity is
            given, or it is not said which apparent resistivity buried pins have.
        """
        places = np.atleast_2d(np.asarray(pins, dtype=float))
        n = len(places)
        require_shapes(pins=(places, (n, 4)))
        depth = spread(pin_depth, n)
        given = resistance if apparent_resistivity is None else apparent_resistivity
        if given is None or (resistance is not None and apparent_resistivity is not None):
            msg = "give either the resistance or the apparent resistivity of the readings"
            raise CaseError(msg)
        values = spread(given, n)
        if apparent_resistivity is not None:
            if depth_corrected is None and (depth > 0).any():
                msg = (
                    "apparent resistivity with buried pins: say whether the depth of the pins "
                    "is in it (depth_corrected), or give the resistance"
                )
                raise CaseError(msg)
            assumed = depth if depth_corrected else np.zeros(n)
            # Pins in one place are refused below, with all other problems.
            with np.errstate(divide="ignore", invalid="ignore"):
                values = values * half_space_coefficients(places, pin_depth=assumed)
        return cls(
            pins=places,
            resistance=values,
            deviation=spread(deviation, n),
            pin_depth=depth,
            traverse=spread_index(traverse, n),
        )

    @classmethod
    def wenner(cls, spacing: npt.ArrayLike, **rest: Unpack[_Rest]) -> Self:
        """Readings with four pins at equal distances, about a common centre.

        Parameters
        ----------
        spacing : array_like of float, shape (n,)
            Distance a between neighbouring pins, > 0. [m]

        Raises
        ------
        CaseError
            If a spacing is not positive; else as `collinear`.
        """
        return cls.collinear(wenner_pins(spacing), **rest)

    @classmethod
    def schlumberger(
        cls,
        half_current_spacing: npt.ArrayLike,
        *,
        half_potential_spacing: npt.ArrayLike,
        **rest: Unpack[_Rest],
    ) -> Self:
        """Readings with the potential pins inside, all about a common centre.

        Parameters
        ----------
        half_current_spacing : array_like of float, shape (n,)
            Half the distance between the current pins. [m]
        half_potential_spacing : array_like of float, shape () or (n,)
            Half the distance between the potential pins, > 0 and less than the above. [m]

        Raises
        ------
        CaseError
            If the potential pins are not between the current pins; else as `collinear`.
        """
        pins = schlumberger_pins(
            half_current_spacing, half_potential_spacing=half_potential_spacing
        )
        return cls.collinear(pins, **rest)

    @property
    def is_wenner(self) -> Flags:
        """Whether the pins of each reading stand at equal distances in order, shape (n,)."""
        first = self.pins[:, :1]
        shape = (self.pins - first) / (self.pins[:, 3:] - first)
        return np.asarray(np.abs(shape - np.arange(4) / 3).max(axis=1) < _same_shape)

    @property
    def geometric_factor(self) -> Floats:
        """Apparent resistivity over resistance, pins at their depth, shape (n,). [m]"""
        return 1.0 / half_space_coefficients(self.pins, pin_depth=self.pin_depth)

    @property
    def surface_geometric_factor(self) -> Floats:
        """Apparent resistivity over resistance for pins at the surface, shape (n,). [m]

        2 π a for four pins at equal distances.
        """
        return 1.0 / half_space_coefficients(self.pins, pin_depth=np.zeros_like(self.pin_depth))

    @property
    def apparent_resistivity(self) -> Floats:
        """Resistivity of the uniform soil that gives the reading, shape (n,). [Ω·m]"""
        return self.resistance * self.geometric_factor

    @property
    def spacing(self) -> Floats:
        """A third of the distance between the outermost pins, shape (n,). [m]

        The distance a where all are equal; so also a common scale for other layouts.
        """
        return np.ptp(self.pins, axis=1) / 3.0
