"""Refusals that only these formulas need."""

from collections.abc import Collection

import numpy as np

from ohmscape.solver.errors import CaseError, Problem
from ohmscape.solver.handbook.checks import require_positive
from ohmscape.solver.model import Floats


def require_all_positive(where: str, **arrays: Floats) -> None:
    """Refuse arrays that hold a value which is not positive and finite.

    Parameters
    ----------
    where : str
        Name of the formula, for the message.
    **arrays : ndarray of float
        Arguments of the formula by name.

    Raises
    ------
    CaseError
        If a value is zero, negative, infinite or not a number.
    """
    for name, array in arrays.items():
        bad = array[~(np.isfinite(array) & (array > 0))]
        if bad.size:
            require_positive(where, **{name: float(bad.flat[0])})


def require_one_of(where: str, value: int, *, name: str, allowed: Collection[int]) -> None:
    """Refuse a count for which the handbook gives no number.

    Parameters
    ----------
    where : str
        Name of the formula, for the message.
    value : int
        The count.
    name : str
        Argument that holds it.
    allowed : collection of int
        The counts that have an entry.

    Raises
    ------
    CaseError
        If `value` is not in `allowed`.
    """
    if value not in allowed:
        listed = ", ".join(str(item) for item in sorted(allowed))
        raise CaseError(
            [Problem(f"got {value}; must be one of {listed}", path=f"{where}: {name}")]
        )
