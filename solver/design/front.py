"""Designs side by side: which of them nothing cheaper matches."""

import itertools
from collections.abc import Iterable
from dataclasses import dataclass

from .evaluation import Evaluation
from .targets import Targets

Chosen = tuple[int, ...]
# A dearer design is on the front where it takes less of what is allowed by this share at least.
least_gain = 0.1
# So many are shown side by side in every condition; none of them is given up.
side_by_side = 20


@dataclass(frozen=True)
class Tried:
    """One design that was tried.

    Attributes
    ----------
    chosen : tuple of int
        Number of the option of each choice.
    cost : float
        Its price, or without prices the length of its metal. [m]
    thin : Evaluation or None
        By thin conductors; None where they cannot tell.
    proof : Evaluation or None
        By finite elements in all variants, where it was solved by them.
    fault : str
        Why it cannot be built or solved; empty where it can.
    """

    chosen: Chosen
    cost: float
    thin: Evaluation | None = None
    proof: Evaluation | None = None
    fault: str = ""

    @property
    def given_up(self) -> bool:
        """Whether it was not looked at in all conditions: it can be no better than others."""
        return self.best is not None and bool(self.best.left)

    @property
    def best(self) -> Evaluation | None:
        """What is known of it best."""
        return self.proof or self.thin

    def worst(self, targets: Targets) -> float:
        """The largest share of what is allowed, as far as known; infinite where it is not."""
        return float("inf") if self.best is None else self.best.worst(targets)

    def passes(self, targets: Targets) -> bool:
        """Whether finite elements have shown that it meets all in all variants."""
        return self.proof is not None and self.proof.meets(targets)

    def may_pass(self, targets: Targets) -> bool:
        """Whether it may yet be shown to pass, or has been."""
        if self.fault:
            return False
        if self.proof is not None:
            return self.proof.meets(targets)
        return self.thin is None or not self.thin.surely_misses(targets)


def undecided(tried: Iterable[Tried], *, targets: Targets) -> tuple[Tried, ...]:
    """Designs to be looked at in more conditions before front and cheapest are known.

    A design is at best what the conditions show it was looked at in. Where a cheaper one is so
    good that this keeps it off the front, and a cheaper one may pass or this misses, the others
    need not be asked. Where none is left, the front, the cheapest that may pass, and where
    there is none the nearest, are those of all designs looked at in all conditions.
    """
    able = [item for item in tried if not item.fault]
    may_pass = [item for item in able if item.may_pass(targets)]
    may_pass.sort(key=lambda one: (one.cost, one.chosen))
    found = list(itertools.takewhile(lambda item: item.given_up, may_pass))
    passing = len(found) < len(may_pass)
    least = float("inf")
    for item in sorted(able, key=lambda one: (one.cost, one.worst(targets), one.chosen)):
        takes = item.worst(targets)
        if takes < float("inf") and takes <= (1 - least_gain) * least:
            if item.given_up:
                found.append(item)
            else:
                least = takes
    if not found and not passing:
        nearest = min(able, key=lambda one: (one.worst(targets), one.chosen), default=None)
        found = [nearest] if nearest is not None and nearest.given_up else []
    return tuple(sorted(dict.fromkeys(found), key=lambda one: (one.cost, one.chosen)))


def front(tried: Iterable[Tried], *, targets: Targets) -> tuple[Tried, ...]:
    """Designs of rising cost, each better than all cheaper ones by `least_gain` at least.

    The cheapest one comes first, whatever it takes. Of designs of one cost and share, the one
    of the first options counts. None is taken that was given up.

    Examples
    --------
    >>> from ohmscape.solver.design.evaluation import Condition, Evaluation
    >>> def reaching(ohms, cost):
    ...     found = Condition("", ohms, 0.01, 100.0, 1.0, ())
    ...     return Tried((0,), cost, Evaluation("thin conductors", (found,)))
    >>> some = [reaching(9.0, 3.0), reaching(4.0, 2.0), reaching(6.0, 1.0), reaching(3.9, 5.0)]
    >>> [item.cost for item in front(some, targets=Targets(resistance=5.0))]
    [1.0, 2.0]
    """
    able = [
        item
        for item in tried
        if not (item.fault or item.given_up) and item.worst(targets) < float("inf")
    ]
    found: list[Tried] = []
    for item in sorted(able, key=lambda one: (one.cost, one.worst(targets), one.chosen)):
        if not found or item.worst(targets) <= (1 - least_gain) * found[-1].worst(targets):
            found.append(item)
    return tuple(found)
