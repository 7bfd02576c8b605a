"""Who does the work on rows: this process in a plain loop, or workers of a Dask cluster.

Work is a function of one item that gives something small. Answers come in any order, each with
the number of its item. What goes wrong with one item, its worker's death included, is its
answer: `Lost`.
"""

import logging
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import CancelledError
from contextlib import ExitStack, suppress
from dataclasses import dataclass
from itertools import islice
from threading import Event, Thread
from time import monotonic
from types import TracebackType
from typing import Any, Protocol, Self

from .. import __version__
from ..solver.errors import ResultError
from ..solver.memory import usable_memory
from ..solver.threads import cores, take_share

RETRIES = 2
"""So often an item is tried again after the worker that had it died."""

# Of workers started here. Dask would have memory go back to the system at once, with every
# array fetched anew: rows took three times as long.
_surroundings = {
    "OMP_NUM_THREADS": 1,
    "OPENBLAS_NUM_THREADS": 1,
    "MKL_NUM_THREADS": 1,
    "MALLOC_TRIM_THRESHOLD_": 2**28,
    "MALLOC_MMAP_THRESHOLD_": 2**25,
}
_nowhere = "127.0.0.1:0"  # for pages about the cluster: any free port, of this machine alone
_per_worker, _least = 2, 4  # chunks given out ahead of time: for each worker, and at least
_chunk = 1.5  # work of one chunk [s]
_most_items = 200  # of one chunk
_shares = 2  # of what is left no worker is given more at once than its part of that
_learning = 0.3  # of what the last chunk took, in what the next is thought to take
# Dask would keep the last thousand messages to and from each worker, with all that is in them:
# 40 MB of the client, and more with each worker.
_messages_kept = 10
_least_memory = 1.5e9  # of a worker that meshes [byte]
_every = 5.0  # between two looks at how many workers there are [s]
_missed = 3  # looks in a row at which workers of ours are missing, before others are started
_patience = 30.0  # for a scheduler, and for its first worker [s]


@dataclass(frozen=True)
class Lost:
    """An item without an answer, and why."""

    why: str


class _Killed(Lost):
    """One whose worker died too often, or that came back from none."""


Work = Callable[[Any], Any]
Answers = Iterator[tuple[int, Any]]


class Engine(Protocol):
    """Whoever does the work."""

    workers: int  # that work at once

    def __enter__(self) -> Self:
        """Start or join whoever does the work."""
        ...

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End what was started."""
        ...

    def answers(self, work: Work, items: Sequence[Any]) -> Answers:
        """Number of each item and what the work gives for it, in any order."""
        ...

    def deaths(self) -> tuple[str, ...]:
        """Workers that died so far, by their addresses."""
        ...


class PlainLoop:
    """The process itself, one item after the other."""

    workers = 1

    def __enter__(self) -> Self:
        """Nothing to start."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Nothing to end."""

    def answers(self, work: Work, items: Sequence[Any]) -> Answers:
        """Number of each item and what the work gives for it, in their order."""
        for number, item in enumerate(items):
            yield number, guarded(work, item)

    def deaths(self) -> tuple[str, ...]:
        """None: who dies here takes the command with it."""
        return ()


class Workers:
    """Processes of a Dask cluster; one of its own on this machine, or any by its address.

    Parameters
    ----------
    scheduler : str or None
        Address of a scheduler whose workers have the same version of this program; None starts
        workers here, one thread each, and ends them.
    count : int or None
        How many to start here; None is one for each core, while memory lasts.

    Raises
    ------
    ResultError
        If there is no such scheduler, it has no workers, or they have another version.
    """

    def __init__(self, *, scheduler: str | None = None, count: int | None = None) -> None:
        self._scheduler, self._count = scheduler, count
        self._stack = ExitStack()
        self._client: Any = None
        self._deaths: dict[str, None] = {}
        self._asked = -_every
        self.workers = 0

    def __enter__(self) -> Self:
        """Start or join the cluster."""
        import dask.config
        import distributed  # noqa: F401  # its own defaults first: what is set here is taken back

        options = {
            # A worker that may have no children could not mesh in a process of its own.
            "distributed.worker.daemon": False,
            "distributed.admin.low-level-log-length": _messages_kept,
            "distributed.scheduler.allowed-failures": RETRIES,
            **{f"distributed.nanny.pre-spawn-environ.{k}": v for k, v in _surroundings.items()},
        }
        self._stack.enter_context(dask.config.set(options))
        try:
            self._client = self._joined() if self._scheduler else self._started()
            self._check_versions()
            self._client.subscribe_topic("all", self._told)
            self._stack.callback(self._client.unsubscribe_topic, "all")
        except BaseException:
            self._stack.close()
            raise
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End what was started; a cluster of others goes on."""
        self._stack.close()

    def _started(self) -> Any:
        from distributed import Client, LocalCluster

        memory = usable_memory()
        fits = max(1, int(min(memory / _least_memory, 1e6)))
        count = self._count or min(_allowed_cores(), fits)
        limit = None if memory == float("inf") else int(memory / count)
        cluster = LocalCluster(
            n_workers=count,
            threads_per_worker=1,
            processes=True,
            memory_limit=limit,
            dashboard_address=_nowhere,
            worker_dashboard_address=_nowhere,
            scheduler_kwargs={"dashboard": False},
            silence_logs=logging.CRITICAL,
        )
        client = self._stack.enter_context(Client(self._stack.enter_context(cluster)))
        over = Event()
        self._stack.callback(over.set)
        Thread(target=_replace_missing, args=(cluster, count, over), daemon=True).start()
        return client

    def _joined(self) -> Any:
        from distributed import Client

        try:
            client = self._stack.enter_context(Client(self._scheduler, timeout=_patience))
            client.wait_for_workers(1, timeout=_patience)
        except (OSError, TimeoutError, ValueError) as error:
            why = str(error) or "no answer"
            msg = f"no scheduler with workers at {self._scheduler}: {why}; start both first"
            raise ResultError(msg) from error
        return client

    def _check_versions(self) -> None:
        """Raise unless all workers have this version: others would give other numbers."""
        try:
            found = self._client.run(_version)
        except Exception as error:  # whatever they lack
            msg = f"workers at {self._scheduler} cannot load ohmscape: {error}"
            raise ResultError(msg) from error
        others = {where: version for where, version in found.items() if version != __version__}
        if others:
            where, version = next(iter(others.items()))
            msg = (
                f"worker {where} has ohmscape {version}, here is {__version__}; use one version"
            )
            raise ResultError(msg)
        self._threads()

    def _threads(self) -> int:
        """Threads of all workers, of which some may have come or gone; asked now and then."""
        if monotonic() - self._asked > _every:
            self.workers = max(1, sum(self._client.nthreads().values()))
            self._asked = monotonic()
        return self.workers

    def answers(self, work: Work, items: Sequence[Any]) -> Answers:
        """Number of each item and what the work gives for it, as they come.

        Items are given out in chunks of a second or two of work, a few ahead of the workers:
        how many there are takes no memory of client or scheduler.
        """
        left = list(enumerate(items))
        # Of a chunk whose workers died nobody knows which item it was, and one alone may only
        # have waited at a worker that another item killed.
        for most, ahead in ((_most_items, True), (1, True), (1, False)):
            blamed = []
            for number, found in self._shared(work, left, most=most, ahead=ahead):
                if isinstance(found, _Killed):
                    blamed.append((number, found.why))
                else:
                    yield number, found
            left = [(number, items[number]) for number, _ in blamed]
        for number, why in blamed:
            yield number, Lost(why)

    def _shared(
        self, work: Work, items: Sequence[tuple[int, Any]], *, most: int, ahead: bool
    ) -> Answers:
        """The same of numbered items, `_Killed` for those whose workers died too often."""
        waiting = iter(items)
        given: dict[Any, list[int]] = {}
        chunks = _Chunks(len(items), most)

        def give() -> None:
            # The first ones tell how long one takes; none waits behind another of them.
            each = _per_worker if chunks.known else 1
            room = max(_least, each * self._threads()) if ahead else 1
            while len(given) < room:
                some = list(islice(waiting, chunks.size(self.workers)))
                if not some:
                    return
                wanted = [item for _, item in some]
                future = self._client.submit(shared, work, wanted, pure=False)
                given[future] = [number for number, _ in some]

        give()
        while given:
            for future in self._ended(list(given)):
                numbers = given.pop(future)
                if future.status == "finished":
                    seconds, answers = future.result()
                    chunks.took(seconds, len(numbers))
                else:
                    answers = [_failure(future)] * len(numbers)
                future.release()
                give()
                yield from zip(numbers, answers, strict=True)

    def _ended(self, futures: Sequence[Any]) -> list[Any]:
        """Those that came to an end, one at least, also where nobody told this process so.

        Where workers die one after the other it happens that the scheduler gives a chunk up
        and the word of it is lost: whoever only waited for that would wait for ever.
        """
        from distributed import wait

        keys = [future.key for future in futures]

        def gone(dask_scheduler: Any) -> list[str]:
            """Those that the scheduler does not know any more, or holds for failed."""
            tasks = dask_scheduler.tasks
            return [key for key in keys if key not in tasks or tasks[key].state == "erred"]

        before: set[str] = set()
        while True:
            with suppress(TimeoutError, CancelledError):
                wait(futures, timeout=_every, return_when="FIRST_COMPLETED")
            ended = [future for future in futures if future.done()]
            if ended:
                return ended
            found = set(self._client.run_on_scheduler(gone))
            # Twice in a row: a word may be on its way.
            if lost := found & before:
                return [future for future in futures if future.key in lost]
            before = found

    def _told(self, event: tuple[float, Any]) -> None:
        """Take note of a worker that died, as the scheduler tells."""
        what = event[1]
        if isinstance(what, dict) and what.get("action") == "remove-worker":
            self._deaths[str(what["worker"])] = None

    def deaths(self) -> tuple[str, ...]:
        """Workers that died so far, by their addresses, as far as the scheduler tells."""
        return tuple(self._deaths)


def _replace_missing(cluster: Any, count: int, over: Event) -> None:
    """Start others for workers that did not come back.

    Dask starts a worker that died again, but once only where it dies while it starts: without
    this, rows would wait for ever for the last one.
    """
    missed = 0
    while not over.wait(_every):
        missing = count - len(cluster.scheduler.workers)
        missed = missed + 1 if missing > 0 else 0
        if missed >= _missed:
            cluster.scale(len(cluster.plan) + missing)
            missed = 0


class _Chunks:
    """How many items to give out at once, by how long those before took.

    Parameters
    ----------
    left : int
        Items to be given out.
    most : int
        Of one chunk.
    """

    def __init__(self, left: int, most: int) -> None:
        self._left, self._most = left, most
        self._each: float | None = None  # time of one item, not known yet [s]

    @property
    def known(self) -> bool:
        """Whether it is known how long an item takes."""
        return self._each is not None

    def size(self, workers: int) -> int:
        """Items of the next chunk: of about a second and a half, and a fair share at most."""
        size = 1
        if self._each is not None:
            fair = self._left // (_shares * workers)
            size = max(1, min(int(_chunk / max(self._each, 1e-6)), fair, self._most))
        self._left -= size
        return size

    def took(self, seconds: float, count: int) -> None:
        """Learn what some items took."""
        each = seconds / count
        before = each if self._each is None else self._each
        self._each = before + _learning * (each - before)


def _allowed_cores() -> int:
    """Cores that the system lets this process have."""
    if hasattr(os, "sched_getaffinity"):  # not on every system
        return len(os.sched_getaffinity(0))
    return cores()


def guarded(work: Work, item: Any) -> Any:
    """What the work gives for an item, or what it broke down with."""
    try:
        return work(item)
    except MemoryError:
        return Lost("out of memory; ask for a coarser mesh (numerics.accuracy: coarse)")
    except Exception as error:  # a fault of ours must not cost the other rows
        return Lost(f"{type(error).__name__}: {' '.join(str(error).split())}")


def shared(work: Work, items: Sequence[Any]) -> tuple[float, list[Any]]:
    """Seconds for some items, and the same of each, on a worker that knows what is its own."""
    from distributed import get_worker

    worker = get_worker()
    limit = worker.memory_manager.memory_limit
    take_share(threads=1, memory=float(limit) if limit else None)
    began = monotonic()
    found = [guarded(work, item) for item in items]
    return monotonic() - began, found


def _version() -> str:
    return __version__


def _failure(future: Any) -> _Killed:
    """Why items came back without an answer."""
    from distributed import KilledWorker

    if future.status != "error":
        return _Killed("the worker that had it died, and nobody said why")
    error = future.exception()
    if isinstance(error, KilledWorker):
        return _Killed(
            f"the worker that had it alone died {RETRIES + 1} times, the last one "
            f"{error.last_worker.address}; it may need more memory than one has"
        )
    return _Killed(f"{type(error).__name__}: {' '.join(str(error).split())}")
