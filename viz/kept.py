"""What is found once of a result, for all that show it."""

import weakref
from collections.abc import Callable
from typing import TypeVar

from ..solver.results.result import Result

_Found = TypeVar("_Found")


def kept(find: Callable[[Result], _Found]) -> Callable[[Result], _Found]:
    """Have a function of a result called once; what it gives goes with the result."""
    found: dict[int, _Found] = {}  # by identity: results hold arrays, which have no hash

    def once(result: Result) -> _Found:
        if id(result) not in found:
            found[id(result)] = find(result)
            weakref.finalize(result, found.pop, id(result), None)
        return found[id(result)]

    once.__doc__ = find.__doc__
    return once
