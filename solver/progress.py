"""Progress of long work: the step that begins, and the share of all work done before it."""

from collections.abc import Callable, Mapping, Sequence
from time import perf_counter

Progress = Callable[[str, float], None]
"""Told the name of each step as it begins and the share of the work done by then, 0 to 1."""


def unwatched(step: str, share: float) -> None:
    """Progress that nobody watches."""


def parts(progress: Progress, costs: Sequence[float]) -> list[Progress]:
    """Progress of each part of some work, which tells it as if it were the whole.

    Of the costs, how long each part is expected to take, only ratios matter.

    Examples
    --------
    >>> mesh, solution = parts(lambda step, share: print(f"{share:.0%} {step}"), [1, 3])
    >>> mesh("points", 0.0)
    0% points
    >>> mesh("tetrahedra", 0.5)
    12% tetrahedra
    >>> solution("matrix", 0.0)
    25% matrix
    """
    total = sum(costs) or 1.0
    found, done = [], 0.0
    for cost in costs:
        found.append(_within(progress, start=done / total, size=cost / total))
        done += cost
    return found


def _within(progress: Progress, *, start: float, size: float) -> Progress:
    return lambda step, share: progress(step, start + size * share)


def headed(progress: Progress, heading: str) -> Progress:
    """Progress whose steps have a heading before their names; an empty one is left out."""
    if not heading:
        return progress
    return lambda step, share: progress(f"{heading}: {step}", share)


def rising(progress: Progress) -> Progress:
    """Progress that never goes back, whatever it is told.

    Examples
    --------
    >>> told = rising(lambda step, share: print(f"{share:.0%} {step}"))
    >>> told("front", 0.5)
    50% front
    >>> told("steps", 0.2)
    50% steps
    """
    most = 0.0

    def told(step: str, share: float) -> None:
        nonlocal most
        most = max(most, share)
        progress(step, most)

    return told


class Laps:
    """Time of each step; tells progress where the run is.

    Parameters
    ----------
    progress : callable
        Told the name of each step as it begins, and the share of the work done by then.
    costs : mapping of str to float
        Steps in their order, and how long each is expected to take.
    """

    def __init__(self, progress: Progress, costs: Mapping[str, float]) -> None:
        self._progresses = dict(zip(costs, parts(progress, list(costs.values())), strict=True))
        self._name = ""
        self._clock = perf_counter()
        self.seconds: dict[str, float] = {}

    def begin(self, name: str) -> None:
        """End the step before and begin another."""
        self.end()
        self._progresses[name](name, 0.0)
        self._name = name

    def end(self) -> None:
        """End the step that runs."""
        now = perf_counter()
        if self._name:
            self.seconds[self._name] = now - self._clock
        self._clock = now
        self._name = ""
