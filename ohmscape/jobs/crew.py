"""Processes that share the work on designs: array work in Python keeps one core busy alone.

Which of them does what changes no answer, only when it comes.
"""

import os
import pickle
import subprocess
import sys
from collections.abc import Callable, Hashable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from threading import Lock, Thread
from types import TracebackType
from typing import Any, Self

from ..cases.case import Case
from ..meshes.watching import end_with
from ..solver.progress import Progress, parts, unwatched
from .design_work import DesignWork

# The same code as here, wherever Python would look for it.
_program = (
    "import pickle, sys; sys.path[:] = pickle.load(sys.stdin.buffer); "
    "from ohmscape.jobs.crew import serve; serve()"
)
_most_helpers = 3  # each holds a solution in memory


class Crew:
    """One process and, once there is much to do, helpers of it, one for each other core.

    Parameters
    ----------
    case : Case
        Whose designs they work on.
    accuracy : str or None
        Of the finite elements, in place of the case's own.
    """

    def __init__(self, case: Case, *, accuracy: str | None) -> None:
        self.work = DesignWork(case, accuracy)
        self._helpers: list[_Helper] = []
        self._owners: dict[Hashable, int] = {}
        self._over = False

    def __enter__(self) -> Self:
        """Begin alone."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End the helpers, whatever they do."""
        self._end()

    def _end(self) -> None:
        self._over = True
        for helper in self._helpers:
            helper.end()

    def call_helpers(self) -> None:
        """Start helpers, which take a second or two before they are of help."""
        if self._helpers or not sys.executable:
            return
        count = min(_cores() - 1, _most_helpers)
        self._helpers = [_Helper(self.work) for _ in range(count)]

    def answers(
        self,
        kind: str,
        jobs: Sequence[tuple[Any, ...]],
        *,
        of: Sequence[Hashable],
        at_once: int = 99,
        progress: Progress = unwatched,
        came: Callable[[int, Any], None] = lambda job, answer: None,
    ) -> list[Any]:
        """Answers of a method of `DesignWork` to each job, in their order.

        Parameters
        ----------
        kind : str
            Name of the method.
        jobs : sequence of tuple
            Arguments of each call.
        of : sequence
            What jobs of the same one share, so that one process should do them all.
        at_once : int
            Most processes to work at a time.
        progress : callable, optional
            Of all jobs together.
        came : callable, optional
            Given the number of each job and its answer as it comes, one at a time.
        """
        found: list[Any] = [None] * len(jobs)
        left, lock = list(range(len(jobs))), Lock()
        within = parts(progress, [1.0] * len(jobs))

        def work_on(place: int) -> None:
            while True:
                with lock:
                    job = self._next(place, left, of)
                if job is None:
                    return
                try:
                    found[job] = self._done(place, kind, jobs[job], within[job])
                except (EOFError, OSError):
                    if place == 0 or self._over:
                        raise
                    with lock:
                        left.append(job)  # the helper has been ended from outside
                    return
                with lock:
                    came(job, found[job])

        places = range(min(1 + len(self._helpers), max(at_once, 1), max(len(jobs), 1)))
        if len(places) == 1:
            work_on(0)
            return found
        with ThreadPoolExecutor(len(places) - 1) as pool:
            waiting = [pool.submit(work_on, place) for place in places[1:]]
            try:
                work_on(0)  # here, where an interrupt comes
                for each in waiting:
                    each.result()
                work_on(0)  # what helpers that are gone have left
            except BaseException:
                left.clear()
                self._end()
                raise
        return found

    def _next(self, place: int, left: list[int], of: Sequence[Hashable]) -> int | None:
        """Take the next job from what is left: one's own, else nobody's, else another's."""
        if not left:
            return None

        def rank(job: int) -> int:
            owner = self._owners.get(of[job])
            return 0 if owner == place else 1 if owner is None else 2

        job = min(left, key=rank)
        self._owners.setdefault(of[job], place)
        left.remove(job)
        return job

    def _done(self, place: int, kind: str, job: tuple[Any, ...], progress: Progress) -> Any:
        if place > 0:
            return self._helpers[place - 1].answer(kind, job)
        watched = {"progress": progress} if kind == "prove" else {}
        return getattr(self.work, kind)(*job, **watched)


class _Helper:
    """Another process that does the same work."""

    def __init__(self, work: DesignWork) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-c", _program],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            start_new_session=True,  # an interrupt is for the command, which ends this one
        )
        self._first: list[Any] = [sys.path, (work.case, work.accuracy, os.getpid())]

    def answer(self, kind: str, job: tuple[Any, ...]) -> Any:
        """Have a job done; `EOFError` or `OSError` if the process is gone."""
        # What it begins with fills the pipe until it has loaded, for which this one can wait.
        for what in (*self._first, (kind, job)):
            self._say(what)
        self._first = []
        assert self._process.stdout is not None
        try:
            found = pickle.load(self._process.stdout)
        except pickle.UnpicklingError as error:
            raise EOFError from error  # it was ended while it answered
        if isinstance(found, _Raised):
            raise found.error
        return found

    def end(self) -> None:
        """End the process, whatever it does."""
        self._process.kill()
        self._process.wait()
        for pipe in (self._process.stdout, self._process.stdin):
            assert pipe is not None
            with suppress(OSError):  # what was not sent yet
                pipe.close()

    def _say(self, what: Any) -> None:
        assert self._process.stdin is not None
        pickle.dump(what, self._process.stdin, protocol=pickle.HIGHEST_PROTOCOL)
        self._process.stdin.flush()


@dataclass(frozen=True)
class _Raised:
    """What a helper's work raised, to be raised here."""

    error: Exception


def serve() -> None:
    """Do what the standard input asks for, until it ends."""
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # so that nothing that a library prints gets between
    case, accuracy, parent = pickle.load(sys.stdin.buffer)
    Thread(target=end_with, args=(parent,), daemon=True).start()
    work = DesignWork(case, accuracy)
    with suppress(EOFError), out:
        while True:
            kind, job = pickle.load(sys.stdin.buffer)
            try:
                found = getattr(work, kind)(*job)
            except Exception as error:
                found = _Raised(error)
            pickle.dump(found, out, protocol=pickle.HIGHEST_PROTOCOL)
            out.flush()


def _cores() -> int:
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):  # not on every system
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
