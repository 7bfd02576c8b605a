"""What is found once of a result, for all that show it."""

import weakref
from collections.abc import Callable
from typing import Generic, TypeVar

from ..solver.results.result import Result

_Found = TypeVar("_Found")


class kept(Generic[_Found]):  # noqa: N801  # used as a decorator
    """Have a function of a result called once; what it gives goes with the result."""

    def __init__(self, find: Callable[[Result], _Found]) -> None:
        self._find = find
        # By identity: results hold arrays, which have no hash.
        self._found: dict[int, _Found] = {}
        self._same: dict[int, Result] = {}
        self.__doc__ = find.__doc__

    def __call__(self, result: Result) -> _Found:
        """What is found of a result."""
        result = self._same.get(id(result), result)
        if id(result) not in self._found:
            self._found[id(result)] = self._find(result)
            weakref.finalize(result, self._found.pop, id(result), None)
        return self._found[id(result)]

    def share(self, result: Result, other: Result) -> None:
        """Have what is found of another result hold for one too."""
        self._same[id(result)] = other
        weakref.finalize(result, self._same.pop, id(result), None)
