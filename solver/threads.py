"""Batches of array work on a few threads: numpy leaves the other cores free to run them."""

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from typing import TypeVar

from threadpoolctl import ThreadpoolController

_most = 4  # each holds a batch in memory


@dataclass
class _Share:
    """What part of the machine this process may take; all of it while nobody said less."""

    threads: int | None = None
    memory: float | None = None  # [byte]


_share = _Share()
Item = TypeVar("Item")
Answer = TypeVar("Answer")


def take_share(*, threads: int | None, memory: float | None) -> None:
    """Say that this process is one of several on its machine, and what part is its own.

    Parameters
    ----------
    threads : int or None
        Threads that it may keep busy; None for as many as the machine has cores.
    memory : float or None
        Memory that it may use; None for as much as the machine has. [byte]
    """
    _share.threads, _share.memory = threads, memory


def cores() -> int:
    """Cores that this process may keep busy."""
    return _share.threads or os.cpu_count() or 1


def own_memory() -> float | None:
    """Memory that is this process's own part; None where nobody said so. [byte]"""
    return _share.memory


def in_threads(work: Callable[[Item], Answer], items: Iterable[Item]) -> list[Answer]:
    """Answers of a function for each item in order, the same whatever the number of threads.

    `work` must not change what another call reads.
    """
    given = list(items)
    count = min(_most, cores(), len(given))
    if count < 2:
        return [work(item) for item in given]
    with ThreadPoolExecutor(count) as pool:
        return list(pool.map(work, given))


@contextmanager
def own_threads_only() -> Iterator[None]:
    """Keep the linear algebra library from threads of its own, which only get in ours' way."""
    with _libraries().limit(limits=1):
        yield


@contextmanager
def shared_by(processes: int) -> Iterator[None]:
    """Keep to one's part of the machine while as many processes work on it."""
    before = _share.threads
    _share.threads = max(1, cores() // processes)
    try:
        with own_threads_only():
            yield
    finally:
        _share.threads = before


@cache
def _libraries() -> ThreadpoolController:
    """The libraries that are loaded; to find them takes as long as a small solution."""
    return ThreadpoolController()
