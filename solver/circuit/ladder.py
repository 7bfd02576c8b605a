"""Ladder: a line of equal spans with a ground at each pole, seen from its ends.

A shield wire on tower footings, or a neutral on pole grounds. Voltages along it are sums of
λᵏ and λ⁻ᵏ, with λ + 1/λ = 2 + z/g for a span z and a ground g, which gives its admittances
in closed form.
"""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from ..errors import CaseError

Complexes = npt.NDArray[np.complex128]


@dataclass(frozen=True)
class Ladder:
    """Line of equal spans with a ground to remote earth at the end of each.

    Attributes
    ----------
    span : complex
        Impedance of one span, in series; not zero. [Ω]
    footing : float
        Resistance of the ground at each pole, > 0. [Ω]
    spans : int or None
        Number of spans, >= 1; None: endless.
    end : {"open", "closed"}
        Open: the last pole has its ground and nothing behind it, n spans have n grounds.
        Closed: the last span ends at the far node, n spans have n − 1 grounds.
    broken_after : int or None
        Whole spans between the near end and a break in the next one, >= 0 and below
        `spans`; None: unbroken.

    Raises
    ------
    CaseError
        If a value is out of its range.

    Notes
    -----
    Grounds are taken to stand apart from each other and from the electrodes of the case:
    their rises do not add. Nothing is induced in the line by currents beside it; where a
    shield wire runs along the faulted line, induction draws more current back through it,
    so leaving it out errs towards more current in the soil.
    """

    span: complex
    footing: float
    spans: int | None = None
    end: Literal["open", "closed"] = "open"
    broken_after: int | None = None

    def __post_init__(self) -> None:
        if not np.isfinite(self.span) or self.span == 0 or np.real(self.span) < 0:
            msg = f"span of {self.span:g} ohm: a span needs an impedance, its resistance >= 0"
            raise CaseError(msg)
        if not (math.isfinite(self.footing) and self.footing > 0):
            msg = f"ground of {self.footing:g} ohm at each pole; it must be above 0"
            raise CaseError(msg)
        if self.spans is not None and self.spans < 1:
            msg = f"{self.spans} spans; a ladder has one or more, or is endless"
            raise CaseError(msg)
        if self.spans is None and self.end == "closed":
            msg = "an endless ladder has no far end to be closed; give the number of spans"
            raise CaseError(msg)
        last = math.inf if self.spans is None else self.spans - 1
        if self.broken_after is not None and not 0 <= self.broken_after <= last:
            msg = f"broken after {self.broken_after} spans; allowed from 0 to {last:g}"
            raise CaseError(msg)

    @property
    def joins_its_ends(self) -> bool:
        """Whether metal leads unbroken from the near end to the far one."""
        return self.end == "closed" and self.broken_after is None

    @property
    def grounded(self) -> tuple[bool, bool]:
        """Whether a ground is left between the near end and a break, and beyond it."""
        if self.joins_its_ends:
            one = self.spans is not None and self.spans > 1
            return one, one
        return bool(self.admittance[0, 0]), bool(self.admittance[1, 1])

    @property
    def admittance(self) -> Complexes:
        """Currents into near and far end per voltage of each to remote earth, shape (2, 2). [S]

        Symmetric; the far end counts only where the ladder is closed.
        """
        found = np.zeros((2, 2), dtype=np.complex128)
        if self.broken_after is not None:
            found[0, 0] = self._open(self.broken_after)
            if self.end == "closed" and self.spans is not None:
                found[1, 1] = self._open(self.spans - self.broken_after - 1)
        elif self.spans is None:
            found[0, 0] = self._endless
        elif self.end == "open":
            found[0, 0] = self._open(self.spans)
        else:
            found[:] = self._closed(self.spans)
        return found

    @property
    def input_impedance(self) -> complex:
        """Impedance to remote earth at the near end, a closed far end held at 0 V. [Ω]

        Infinite where the line is broken before its first ground. Without an end it is
        z/2 + √(z²/4 + z g) (J. Endrenyi, IEEE Trans. Power App. Syst. 86, 1967, from memory).
        """
        near = complex(self.admittance[0, 0])
        return 1 / near if near else complex(math.inf)

    @property
    def _steps(self) -> complex:
        """Increase q of the voltage from pole to pole towards the near end: 1/λ = 1 + q."""
        ratio = self.span / self.footing
        return complex(ratio / 2 + np.sqrt(ratio + ratio**2 / 4))

    def _power(self, exponent: int) -> complex:
        """λ to some power, without overflow."""
        return complex(np.exp(-exponent * np.log1p(self._steps)))

    def _without(self, exponent: int) -> complex:
        """1 − λ to some power, without cancellation."""
        return complex(-np.expm1(-exponent * np.log1p(self._steps)))

    @property
    def _endless(self) -> complex:
        return self._without(1) / self.span

    def _open(self, spans: int) -> complex:
        odd = 1 + self._power(2 * spans + 1)
        return self._endless * self._without(2 * spans) / odd

    def _closed(self, spans: int) -> Complexes:
        own = self._endless * (1 + self._power(2 * spans - 1)) / self._without(2 * spans)
        mutual = -self._power(spans - 1) * self._without(2) / self._without(2 * spans)
        mutual /= self.span
        return np.array([[own, mutual], [mutual, own]])
