"""Progress of long work: the step that begins, and the share of all work done before it."""

from collections.abc import Callable, Sequence

Progress = Callable[[str, float], None]
"""Told the name of each step as it begins and the share of the work done by then, 0 to 1."""


def untold(step: str, share: float) -> None:
    """Progress that nobody watches."""


def parts(progress: Progress, costs: Sequence[float]) -> list[Progress]:
    """Progress of each part of some work, which tells it as if it were the whole.

    Parameters
    ----------
    progress : callable
        Of the whole.
    costs : sequence of float, not empty
        How long each part is expected to take; only their ratios matter.

    Returns
    -------
    parts : list of callable

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
