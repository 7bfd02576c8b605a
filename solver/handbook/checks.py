"""Refusals of the handbook formulas: where, what was given, what is allowed."""

from math import inf, isfinite, pi, sqrt

from ..errors import CaseError, Problem

# A straight cylinder of length L and radius a, fed evenly, has ln(4L/a) - 1 + a/2L + ...
# in its bracket. The handbooks stop before a/2L, which is 1.9 % of the bracket at L = 10 a.
SLENDER = 10.0
SLENDER_REASON = "the formula is for slender conductors and drops terms above 2 % there"


def require_positive(where: str, **values: float) -> None:
    """Raise `CaseError` with every value that is not positive and finite, by its name."""
    problems = [
        Problem(f"got {value:g}; must be positive and finite", path=f"{where}: {name}")
        for name, value in values.items()
        if not (isfinite(value) and value > 0)
    ]
    if problems:
        raise CaseError(problems)


def require_range(
    where: str, value: float, *, name: str, low: float = -inf, high: float = inf, why: str
) -> None:
    """Raise `CaseError` unless a value is in the range, bounds included, of a formula.

    `value` may be a ratio of two arguments; `why` says what goes wrong outside, or what to
    do.
    """
    if not low <= value <= high:
        bounds = (
            f"at most {high:g}"
            if low == -inf
            else f"at least {low:g}"
            if high == inf
            else f"from {low:g} to {high:g}"
        )
        raise CaseError(
            [Problem(f"got {value:.6g}; must be {bounds}: {why}", path=f"{where}: {name}")]
        )


def require_enclosing(where: str, *, area: float, conductor_length: float) -> None:
    """Raise `CaseError` if conductor is too short to run round an area even as a circle."""
    require_range(
        where,
        conductor_length / (2 * sqrt(pi * area)),
        name="conductor_length / circumference of a circle of area",
        low=1.0,
        why="the conductor must at least run round the area",
    )
