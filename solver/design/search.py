"""Search of more designs than can be tried: differential evolution, then single steps."""

from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import Any

import numpy as np

from ..model import Floats

Chosen = tuple[int, ...]
_population, _least_population = 40, 5
_impossible, _untried = 1e9, 1e8
_idle = 10  # generations without a new design, after which no more will come


class _Over(Exception):  # noqa: N818 - nothing went wrong
    """As many designs as allowed have been tried."""


def searched(
    designs: Sequence[Chosen],
    *,
    counts: Sequence[int],
    merit: Callable[[list[Chosen]], list[float]],
    most: int,
) -> list[Chosen]:
    """Designs tried on the way to the one of least merit, in the order in which they were.

    The same ones each time: the seed is fixed, and designs come in batches whose order does
    not hang on how long each takes.

    Parameters
    ----------
    designs : sequence of tuple of int
        All that are possible.
    counts : sequence of int
        Number of options of each choice.
    merit : callable
        Gives a number for each of some designs that were not asked for before; less is better.
    most : int
        Designs asked for at most.

    Notes
    -----
    Differential evolution with whole numbers (R. Storn and K. Price, 1997) as scipy has it,
    begun from designs all over the list, then from the best one to the best of those that
    have an option more or less, or one more for one less, until none is better; again from
    others that were not tried, with the next seed, until as many as allowed have been.
    """
    known: dict[Chosen, float] = {}
    possible = set(designs)

    def ask(batch: list[Chosen]) -> None:
        fresh = [one for one in dict.fromkeys(batch) if one in possible and one not in known]
        fresh = fresh[: most - len(known)]
        known.update(zip(fresh, merit(fresh), strict=True))

    seed = 0
    while len(known) < min(most, len(designs)):
        seed += 1
        _evolved(designs, counts=counts, ask=ask, known=known, most=most, seed=seed)
        _descended(counts=counts, ask=ask, known=known, most=most)
    return list(known)


def _descended(
    *,
    counts: Sequence[int],
    ask: Callable[[list[Chosen]], None],
    known: dict[Chosen, float],
    most: int,
) -> None:
    """From the best design to the best of its neighbours and trades, until none is better."""
    while len(known) < most:
        best = min(known, key=lambda one: (known[one], one))
        ask(neighbours(best, counts=counts) + trades(best, counts=counts))
        if min(known, key=lambda one: (known[one], one)) == best:
            return


def neighbours(chosen: Chosen, *, counts: Sequence[int]) -> list[Chosen]:
    """Designs that differ in one choice, by one option up or down, possible or not.

    Examples
    --------
    >>> neighbours((0, 1), counts=(3, 2))
    [(1, 1), (0, 0)]
    """
    found = []
    for number, count in enumerate(counts):
        for option in (chosen[number] - 1, chosen[number] + 1):
            if 0 <= option < count:
                found.append((*chosen[:number], option, *chosen[number + 1 :]))
    return found


def trades(chosen: Chosen, *, counts: Sequence[int]) -> list[Chosen]:
    """Designs with one option up in one choice and one down in another, possible or not.

    Examples
    --------
    >>> trades((0, 1), counts=(3, 2))
    [(1, 0)]
    """
    found = []
    for up, count in enumerate(counts):
        for down in range(len(counts)):
            if up != down and chosen[up] + 1 < count and chosen[down] > 0:
                moved = list(chosen)
                moved[up] += 1
                moved[down] -= 1
                found.append(tuple(moved))
    return found


def _evolved(
    designs: Sequence[Chosen],
    *,
    counts: Sequence[int],
    ask: Callable[[list[Chosen]], None],
    known: dict[Chosen, float],
    most: int,
    seed: int,
) -> None:
    """One run of differential evolution, until it asks for nothing new."""
    from scipy.optimize import differential_evolution  # takes time to load

    varied = [k for k, count in enumerate(counts) if count > 1]
    idle, possible = 0, set(designs)

    def whole(columns: Floats) -> list[Chosen]:
        found = np.zeros((columns.shape[1], len(counts)), dtype=int)
        found[:, varied] = np.round(columns.T).astype(int)
        return [tuple(row) for row in found.tolist()]

    def merits(columns: Floats) -> Floats:
        nonlocal idle
        columns = np.atleast_2d(columns.T).T
        batch, before = whole(columns), len(known)
        ask(batch)
        idle = 0 if len(known) > before else idle + 1
        if len(known) >= most or idle > _idle:
            raise _Over
        return np.array(
            [known.get(one, _untried) if one in possible else _impossible for one in batch]
        )

    fresh = [one for one in designs if one not in known]
    spread = np.linspace(0, len(fresh) - 1, min(_population, len(fresh)))
    some = [fresh[int(row)] for row in spread]
    some += sorted(known, key=lambda one: (known[one], one))[:_least_population]
    if len(some) < _least_population:
        ask(some)
        return
    start = np.array(some, dtype=float)[:, varied]
    limits: Any = [(0, counts[k] - 1) for k in varied]
    whole_designs: Any = merits  # the stubs know of one design at a time
    with suppress(_Over):
        differential_evolution(
            whole_designs,
            limits,
            integrality=[True] * len(varied),
            init=start,
            seed=seed,
            maxiter=10_000,
            tol=0.0,
            polish=False,
            vectorized=True,
            updating="deferred",
        )
