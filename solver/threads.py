"""Batches of array work on a few threads: numpy leaves the other cores free to run them."""

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from functools import cache
from typing import TypeVar

from threadpoolctl import ThreadpoolController

_most = 4  # each holds a batch in memory

Item = TypeVar("Item")
Answer = TypeVar("Answer")


def in_threads(work: Callable[[Item], Answer], items: Iterable[Item]) -> list[Answer]:
    """Answers of a function for each item in order, the same whatever the number of threads.

    `work` must not change what another call reads.
    """
    given = list(items)
    count = min(_most, os.cpu_count() or 1, len(given))
    if count < 2:
        return [work(item) for item in given]
    with ThreadPoolExecutor(count) as pool:
        return list(pool.map(work, given))


@contextmanager
def own_threads_only() -> Iterator[None]:
    """Keep the linear algebra library from threads of its own, which only get in ours' way."""
    with _libraries().limit(limits=1):
        yield


@cache
def _libraries() -> ThreadpoolController:
    """The libraries that are loaded; to find them takes as long as a small solution."""
    return ThreadpoolController()
