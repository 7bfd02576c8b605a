"""One choice alone: resistance, share of the limits and cost against it, and where it pays."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from .evaluation import Evaluation
from .targets import Targets

# More stops paying where a tenth more of cost lowers a value by less than this much of a tenth.
_least_return = 0.1


@dataclass(frozen=True)
class CurvePoint:
    """A case with one option of a choice.

    Attributes
    ----------
    option : str
        The user's name.
    cost : float
        Its price, or without prices the length of its metal; infinite where it cannot be
        built. [m]
    found : Evaluation or None
        By thin conductors; None where they cannot tell.
    fault : str
        Why not.
    """

    option: str
    cost: float
    found: Evaluation | None
    fault: str = ""


@dataclass(frozen=True)
class Curve:
    """A case against one of its choices.

    Attributes
    ----------
    title, units : str
        Of the case.
    choice, others : str
        Name of the choice, and in words what else was chosen.
    currency : str or None
        Of the prices; None where cost is the length of the metal.
    targets : Targets
        What is to be reached.
    points : tuple of CurvePoint
        One for each option, in their order.
    """

    title: str
    units: str
    choice: str
    others: str
    currency: str | None
    targets: Targets
    points: tuple[CurvePoint, ...]

    @property
    def ohms(self) -> tuple[float, ...]:
        """Largest resistance of each point, not a number where it is not known. [Ω]"""
        return tuple(
            math.nan if point.found is None else point.found.resistance for point in self.points
        )

    @property
    def shares(self) -> tuple[float, ...]:
        """Largest share of what is allowed of each point, not a number where there is none."""
        found = (
            math.nan if point.found is None else point.found.worst(self.targets)
            for point in self.points
        )
        return tuple(value if math.isfinite(value) else math.nan for value in found)

    @property
    def costs(self) -> tuple[float, ...]:
        """Cost of each point."""
        return tuple(point.cost for point in self.points)


def pays_until(costs: Sequence[float], values: Sequence[float]) -> int | None:
    """Row of the last option whose cost still buys a lower value; None where none is dearer.

    Beyond it, a tenth more of cost lowers the value by less than a hundredth, step by step.

    Parameters
    ----------
    costs, values : sequence of float
        Of each option, from the least metal on; values are to be low.

    Examples
    --------
    >>> pays_until([1000.0, 1200.0, 1400.0, 1600.0], [9.0, 5.0, 4.2, 4.19])
    2
    >>> pays_until([1000.0, 1200.0], [4.0, 4.0])
    0
    """
    known = [
        k
        for k, (cost, value) in enumerate(zip(costs, values, strict=True))
        if math.isfinite(cost) and value > 0
    ]
    last, dearer = (known[0] if known else None), False
    for before, after in pairwise(known):
        if costs[after] <= costs[before]:
            continue
        dearer = True
        more = math.log(costs[after] / costs[before])
        if math.log(values[before] / values[after]) >= _least_return * more:
            last = after
    return last if dearer else None
