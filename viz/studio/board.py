"""Parts that are still to be drawn, shared between this process and another."""

import signal
import threading
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from subprocess import Popen
from typing import Any

from ...solver.progress import Progress, unwatched
from ...solver.results.result import Result
from ...solver.threads import shared_by
from ..drawing import look_alike
from ..report import page_name, paper_name
from ..report.drawn import on_page
from .parts import Files, Part, Studio, costs
from .process import Helper

Task = tuple[str, tuple[Any, ...]]
"""Method of a `Studio` and its arguments."""
# What the other process does by itself, and what stands on the bar meanwhile.
_apart = ("add", "maps_on_paper", "live")
_words = {
    "maps_on_paper": "maps on paper", "live": "live maps", "paper": paper_name,
    "still": "pictures of the report",
}  # fmt: skip
# Parts that need the graphics library and contours, which the other process has.
_costly = ("maps", "margins", "scene")
_few = 3  # of them are left to the other process: loading all that takes as long


class Board:
    """Draws all pictures and the report, in this process and, where there is one, another.

    Parameters
    ----------
    studio : Studio
        Draws in this process.
    helper : Helper or None
        Draws in another; it begins as soon as there is a result.
    """

    def __init__(self, studio: Studio, helper: Helper | None) -> None:
        self._studio, self._helper = studio, helper
        self._waiting: list[Task] = []
        self._changed = threading.Condition()
        self._busy = self._closed = False
        self._error: Exception | None = None
        self._parts: dict[Part, Files] = {}
        self._stills: dict[int, dict[str, bytes]] = {}
        self._found: dict[str, Any] = {}
        self._progress: Progress = unwatched
        self._share = 0.0
        self._done, self._total = 0.0, 1.0
        if helper is not None:
            threading.Thread(target=self._lead, daemon=True).start()

    def add(self, result: Result, *, path: Path, place: str) -> None:
        """Take a result, kept at a path, whose files go to a place in the folder."""
        earlier = enumerate(self._studio.results)
        alike = next((k for k, one in earlier if look_alike(one, result)), None)
        number = len(self._studio.results)
        self._studio.add(result, place=place, alike=alike)
        adding: list[Task] = [("add", (str(path), place, alike))] if self._helper else []
        if number == 0:
            adding.append(("maps_on_paper", ()))  # paper waits for them
        self._put([*adding, *(("draw", (part,)) for part in self._studio.parts_of(number))])

    def finish(self, *, progress: Progress) -> dict[str, bytes]:
        """All files, by their path from the folder of the result.

        Raises
        ------
        DrawingError
            If the other process fails.
        """
        studio = self._studio
        several: list[Task] = [("draw", (("comparison", 0),))]
        stills: list[Task] = [("still", (k,)) for k in range(len(studio.stills))]
        self._put([*(several if len(studio.results) > 1 else []), ("live", ()), *stills])
        with self._changed:
            left = sum(_cost(task) for task in self._waiting)
            self._total = left + costs["paper"] + costs["page"]
            self._progress, self._done = progress, 0.0
        with shared_by(1 if self._helper is None else 2):
            return self._finished(stills)

    def _finished(self, stills: Sequence[Task]) -> dict[str, bytes]:
        """All files, once everything is drawn."""
        studio = self._studio
        self._work(until=lambda: "maps_on_paper" in self._found and self._drawn(stills))
        drawn = [self._stills[k] for k in range(len(stills))]
        self._tell(("paper", ()))
        pictures = [item["paper"] for item in drawn]
        paper = studio.paper(pictures, live=self._found["maps_on_paper"])
        self._done += costs["paper"]
        self._work()
        self._close()
        return {**studio.files(self._parts), page_name: self._page(drawn), paper_name: paper}

    def _drawn(self, stills: Sequence[Task]) -> bool:
        return len(self._stills) == len(stills)

    def _page(self, drawn: Sequence[dict[str, bytes]]) -> bytes:
        from ..report.page import page_text  # takes time to load

        self._within(("page", ()))(page_name, 0.0)
        studio = self._studio
        chapters = on_page(studio.chapters, drawn=drawn)
        text = page_text(
            studio.results[0], chapters, made=studio.made, live=self._found["live"]
        )
        return text.encode()

    def _put(self, tasks: Sequence[Task]) -> None:
        with self._changed:
            self._waiting += tasks
            self._changed.notify_all()

    def _close(self) -> None:
        with self._changed:
            self._closed = True
            self._changed.notify_all()

    def _work(self, until: Callable[[], bool] = lambda: False) -> None:
        """Draw here what the other process leaves, until something is so, or all is drawn."""
        while True:
            with self._changed:
                if self._error is not None:
                    raise self._error
                if until():
                    return
                task = self._mine()
                if task is None:
                    if not self._waiting and not self._busy:
                        return
                    self._changed.wait()
                    continue
                self._waiting.remove(task)
            name, arguments = task
            self._tell(task)
            more = {"progress": self._within(task)} if name == "draw" else {}
            self._keep(task, getattr(self._studio, name)(*arguments, **more))

    def _mine(self) -> Task | None:
        """What to draw here next."""
        if self._helper is None:
            return next(iter(self._waiting), None)
        light = [task for task in self._waiting if not _is_heavy(task)]
        costly = [task for task in self._waiting if task[0] == "draw" and _is_heavy(task)]
        return next(reversed(light or costly[_few:]), None)

    def _lead(self) -> None:
        """Have the other process draw what it can do best, until there is no more."""
        assert self._helper is not None
        # The mesh generator has a closed pipe kill the process, whichever thread writes to it.
        if hasattr(signal, "pthread_sigmask"):
            signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGPIPE})
        while True:
            with self._changed:
                self._changed.wait_for(lambda: self._waiting or self._closed)
                if self._closed:
                    return
                heavy = (task for task in self._waiting if _is_heavy(task))
                task = next(heavy, self._waiting[0])
                self._waiting.remove(task)
                self._busy = True
            self._tell(task)
            try:
                found = self._helper.ask(task[0], *task[1])
            except Exception as error:  # whoever waits here must hear of it
                with self._changed:
                    self._error = error
                    self._changed.notify_all()
                return
            self._keep(task, found, was_busy=True)

    def _keep(self, task: Task, found: Any, *, was_busy: bool = False) -> None:
        name, arguments = task
        with self._changed:
            if name == "draw":
                self._parts[arguments[0]] = found
            elif name == "still":
                self._stills[arguments[0]] = found
            else:
                self._found[name] = found
            self._done += _cost(task)
            self._busy = self._busy and not was_busy
            self._changed.notify_all()

    def _tell(self, task: Task) -> None:
        name, arguments = task
        if name == "draw":
            kind, number = arguments[0]
            variant = self._studio.results[number].variant
            step = kind if kind == "comparison" or not variant else f"{variant}: {kind}"
        else:
            step = _words.get(name, "")
        if step:
            self._within(task)(step, 0.0)

    def _within(self, task: Task) -> Progress:
        """Progress of one of several tasks at once, which never goes back."""
        begun, size = self._done, _cost(task)

        def tell(step: str, share: float) -> None:
            with self._changed:
                self._share = max(self._share, (begun + size * share) / self._total)
                self._progress(step, min(self._share, 1.0))

        return tell


def board_for(process: "Popen[bytes] | None") -> Board:
    """A board that has a second process draw, where there is one."""
    made = datetime.now()
    return Board(Studio(made), None if process is None else Helper(process, made=made))


def _is_heavy(task: Task) -> bool:
    """Whether a task is better done where contours are kept and the graphics library is."""
    name, arguments = task
    return arguments[0][0] in _costly if name == "draw" else name in _apart


def _cost(task: Task) -> float:
    name, arguments = task
    return costs.get(arguments[0][0] if name == "draw" else name, 0.0)
