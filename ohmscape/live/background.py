"""Work that goes on while the page is used: the confirmation, and what is written to files."""

import asyncio
from contextlib import aclosing
from pathlib import Path
from typing import Any

from ..solver.errors import Problem, ResultError
from .bench import Bench
from .tabs import Tabs, message
from .workers import Worker, WorkerGoneError

_rests = 0.4  # s, for which nothing must be edited before finite elements begin


def plain(problems: list[Problem]) -> list[dict[str, Any]]:
    """Problems as JSON has them."""
    return [
        {"place": problem.path, "line": problem.line, "message": problem.message}
        for problem in problems
    ]


class Confirmation:
    """Finite elements for what is shown, ended by the next edit.

    Parameters
    ----------
    file : Path
        The case file.
    """

    def __init__(self, file: Path, tabs: Tabs) -> None:
        loads = ("ohmscape.jobs.run", "ohmscape.viz.live.payload")
        self._worker = Worker(Bench(file, loads), gentle=True)
        self._tabs = tabs
        self._task: asyncio.Task[None] | None = None

    def again(self, number: int, *, text: str | None, variant: str) -> None:
        """Begin with another edit, once nothing has been edited for a while.

        Parameters
        ----------
        text : str or None
            Of the case; None where it is still being dragged, and only the last is given up.
        """
        before = self._task
        if before is not None:
            before.cancel()
        self._task = asyncio.create_task(self._work(before, number, text, variant))

    async def end(self) -> None:
        """Give it up, and end its process."""
        if self._task is not None:
            self._task.cancel()
            await asyncio.wait({self._task})
        await self._worker.end()

    async def _work(
        self, before: asyncio.Task[None] | None, number: int, text: str | None, variant: str
    ) -> None:
        if before is not None:
            await asyncio.wait({before})  # its process has ended
        await self._worker.start()
        if text is None:
            return
        await asyncio.sleep(_rests)
        self._say("confirming", number, step="", share=0.0)
        try:
            answers = self._worker.answers("confirm", text=text, variant=variant)
            async with aclosing(answers):
                async for kind, *rest in answers:
                    self._tell(number, kind, rest)
        except WorkerGoneError as error:
            self._say("not confirmed", number, problems=plain([Problem(str(error))]))

    def _tell(self, number: int, kind: str, rest: list[Any]) -> None:
        if kind == "step":
            self._say("confirming", number, step=rest[0], share=rest[1])
        elif kind == "confirmed":
            header, arrays = rest
            self._tabs.show(
                "confirmed", message("confirmed", more=header, number=number), arrays or None
            )
        else:
            self._say("not confirmed", number, problems=plain(rest[0]))

    def _say(self, say: str, number: int, **values: Any) -> None:
        self._tabs.show("confirmed", message(say, number=number, **values))


class Finishing:
    """A full run, an export or a report, one at a time, whatever is edited meanwhile."""

    def __init__(self, file: Path, tabs: Tabs) -> None:
        self._worker = Worker(Bench(file), gentle=True)
        self._tabs = tabs
        self._task: asyncio.Task[None] | None = None

    def begin(self, what: str, **given: Any) -> None:
        """Begin; `ResultError` if something else is not finished."""
        if self._task is not None and not self._task.done():
            msg = (
                f"something is being written already; wait for it, or stop it, before '{what}'"
            )
            raise ResultError(msg)
        self._task = asyncio.create_task(self._work(what, given))

    async def end(self) -> None:
        """Stop what is not finished; nothing half-written is left."""
        if (task := self._task) is not None:
            task.cancel()
            await asyncio.wait({task})
        await self._worker.end()

    async def _work(self, what: str, given: dict[str, Any]) -> None:
        outcome: tuple[str, list[Any]] = (
            "failed",
            [Problem("stopped; nothing half-written is left")],
        )
        try:
            answers = self._worker.answers(what, **given)
            async with aclosing(answers):
                async for kind, *rest in answers:
                    if kind == "step":
                        self._step(what, *rest)
                    else:
                        outcome = (kind, rest[0])
        except WorkerGoneError as error:
            outcome = ("failed", [Problem(str(error))])
        finally:
            await self._worker.end()  # with the memory that it took
            self._task = None
            self._tell(what, *outcome)

    def _step(self, what: str, step: str, share: float) -> None:
        self._tabs.show("working", message("working", what=what, step=step, share=share))

    def _tell(self, what: str, kind: str, said: list[Any]) -> None:
        self._tabs.forget("working")
        if kind == "files":
            self._tabs.tell(message("done", what=what, files=said))
        else:
            self._tabs.tell(message("failed", what=what, problems=plain(said)))
