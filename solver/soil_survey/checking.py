"""What all kinds of readings share."""

from dataclasses import dataclass, replace
from typing import Self

import numpy as np
import numpy.typing as npt

from ..errors import CaseError, Problem
from ..model import Floats, Integers

_most_deviation = 1.0


@dataclass(frozen=True)
class Readings:
    """Readings whose fields are arrays, one row a reading."""

    def __len__(self) -> int:
        return len(vars(self)["resistance"])

    def subset(self, keep: npt.ArrayLike) -> Self:
        """The readings picked by flags, shape (n,), or indices."""
        chosen = np.asarray(keep)
        return replace(self, **{name: column[chosen] for name, column in vars(self).items()})


def spread(values: npt.ArrayLike, n: int) -> Floats:
    """One value for all of n readings, or n values."""
    array = np.asarray(values, dtype=float)
    if array.ndim > 1 or array.size not in (1, n):
        msg = f"{array.size} values for {n} readings; give one for each, or one for all"
        raise CaseError(msg)
    return np.broadcast_to(array, (n,)).copy()


def spread_index(values: npt.ArrayLike, n: int) -> Integers:
    """One index for all of n readings, or n of them."""
    return np.broadcast_to(np.asarray(values, dtype=np.int64), (n,)).copy()


def problem(k: int, message: str) -> Problem:
    """Problem of the reading with index k."""
    return Problem(message, path=f"readings[{k}]")


def require_positive(name: str, values: Floats) -> None:
    """Refuse lengths that are not positive and finite."""
    wrong = [
        problem(k, f"{name} {value:g} m must be positive and finite")
        for k, value in enumerate(values)
        if not (np.isfinite(value) and value > 0)
    ]
    if wrong:
        raise CaseError(wrong)


def require_shapes(**given: tuple[npt.NDArray[np.generic], tuple[int, ...]]) -> None:
    """Refuse arrays that do not have the shape given beside them."""
    wrong = [
        f"{name} has shape {array.shape}, not {shape}"
        for name, (array, shape) in given.items()
        if array.shape != shape
    ]
    if wrong:
        msg = f"the arrays of the readings do not fit: {'; '.join(wrong)}"
        raise CaseError(msg)


def common_problems(resistance: Floats, deviation: Floats, traverse: Integers) -> list[Problem]:
    """What is wrong with the numbers that every reading has."""
    found = [] if len(resistance) else [Problem("there are no readings; give at least one")]
    for k, (value, share, line) in enumerate(zip(resistance, deviation, traverse, strict=True)):
        if not np.isfinite(value) or value == 0:
            found.append(problem(k, f"resistance {value:g} Ω must be finite and not zero"))
        if not np.isnan(share) and not 0 < share < _most_deviation:
            msg = (
                f"standard deviation {share:g} is relative to the reading: it must lie "
                "between 0 and 1, for example 0.05 for 5 %"
            )
            found.append(problem(k, msg))
        if line < 0:
            found.append(problem(k, f"traverse index {line} must be 0 or more"))
    return found
