"""One case, edited in all tabs at once: each edit is kept, checked, shown, drafted, confirmed.

Edits are taken one after the other. What a worker says is shown with the number of the edit it
is about, and a tab is sent the newest only.
"""

import asyncio
from collections import deque
from contextlib import aclosing
from dataclasses import dataclass, replace
from time import monotonic
from typing import Any

from ..cases.reading.yaml_edits import alike
from ..solver.errors import CaseError, OhmscapeError, Problem, ResultError
from .background import Confirmation, Finishing, plain
from .bench import Bench
from .changes import changes_between
from .document import Edit, EditedCase
from .journal import digest
from .opening import Opened
from .saving import save_copy, save_over
from .tabs import Tab, Tabs, message
from .workers import Worker, WorkerGoneError

_patience = 5.0  # s, for which edits wait for a draft
_burst = 0.25  # s, after a draft, in which edits that wait already go before the next
_most_waiting = 1000  # edits that are not taken yet
_edits = ("set", "add", "remove", "undo", "redo", "discard")
_commands = ("save", "save copy", "run", "export", "report")
_kinds = ("dxf", "geojson", "gpkg", "xlsx")


@dataclass(frozen=True)
class _Loaded:
    """What the loader made of the case: how to draw it, its variants, and the one shown."""

    payload: str
    variants: tuple[str, ...]
    variant: str


class Session:
    """A case that was opened, see `opening`, for as long as its page is served."""

    def __init__(self, opened: Opened) -> None:
        self._opened = opened
        self._case = opened.case
        self._disk, self._saved = opened.disk, opened.saved
        self._loaded = _Loaded("null", (), "")
        self._taken_up = opened.taken_up
        self._number = 1
        self._to_draft, self._burst_ends = True, 0.0
        self._waiting: deque[tuple[dict[str, Any], Tab | None]] = deque()
        self._woken = asyncio.Event()
        loads = ("ohmscape.jobs.drafting", "ohmscape.viz.live.payload")
        self._worker = Worker(Bench(opened.file, loads))
        self.tabs = Tabs()
        self._confirmation = Confirmation(opened.file, self.tabs)
        self._finishing = Finishing(opened.file, self.tabs)

    async def begin(self) -> None:
        """Load the case; `CaseError` with all that is wrong with it."""
        problems = await self._load(self._case, "")
        if problems and self._taken_up:
            # The process died before its last edit was found wanting.
            problems = await self._undone(problems)
        if problems:
            raise CaseError(problems)
        self._show()
        self._confirm()

    async def _undone(self, problems: list[Problem]) -> list[Problem]:
        undo = Edit("undo")
        before = self._case.with_edit(undo)
        if await self._load(before, ""):
            return problems
        self._opened.journal.edit(undo)
        self._case = before
        self.tabs.show("refused", message("refused", problems=plain(problems), do=None))
        return []

    def take(self, given: dict[str, Any], tab: Tab | None) -> None:
        """Have a message of a tab done in its turn; `CaseError` where too many wait."""
        if given.get("do") == "stop":
            self._waiting.append((given, tab))
        elif len(self._waiting) >= _most_waiting:
            msg = "more edits are waiting than can be taken"
            raise CaseError(msg)
        elif self._waiting and _goes_on(self._waiting[-1][0], given):
            self._waiting[-1] = (given, tab)  # of a drag the newest place will do
        else:
            self._waiting.append((given, tab))
        self._woken.set()

    async def work(self) -> None:
        """Take messages, one after the other, and draft what comes of them."""
        while True:
            if self._waiting:
                await self._do(*self._waiting.popleft())
            if self._to_draft and not (self._waiting and monotonic() < self._burst_ends):
                await self._draft()
                self._burst_ends = monotonic() + _burst
            if not self._waiting:
                self._woken.clear()
                await self._woken.wait()

    async def say_goodbye(self) -> None:
        """End all processes, and tell all tabs that the page is gone."""
        await self._stop()
        self.tabs.tell(message("gone"))
        await self.tabs.told(within=0.5)

    async def end(self) -> int:
        """End all processes, and let go of the case; the number of changes not saved."""
        await self._stop()
        unsaved = 0 if self._is_saved else max(len(self._changes), 1)
        self._opened.journal.close(remove=unsaved == 0)
        return unsaved

    async def _stop(self) -> None:
        for end in (self._worker.end, self._confirmation.end, self._finishing.end):
            await end()

    @property
    def _is_saved(self) -> bool:
        return alike(self._case.content, self._saved) and self._case.text == self._disk.text

    @property
    def _changes(self) -> list[Any]:
        return changes_between(self._saved, self._case.content)

    async def _do(self, given: dict[str, Any], tab: Tab | None) -> None:
        """Do what a message asks for; whoever sent it is told what is wrong with it."""
        do = given.get("do")
        try:
            if do in _edits:
                await self._take_edit(Edit.read(given))
            elif do == "variant":
                await self._show_variant(given.get("name"))
            elif do == "stop":
                await self._finishing.end()
            elif do in _commands:
                await self._finish(str(do), given)
            else:
                msg = f"{str(do)[:40]!r} is nothing that a page can ask for"
                raise CaseError(msg)
        except CaseError as error:
            self._refuse(list(error.problems), given, tab)
        except (OhmscapeError, OSError) as error:
            self._refuse([Problem(str(error))], given, tab)

    def _refuse(self, problems: list[Problem], given: dict[str, Any], tab: Tab | None) -> None:
        what = given.get("do")
        if what in _commands:
            text = message("failed", what=what, problems=plain(problems))
        else:
            text = message("refused", problems=plain(problems), do=given)
        if tab is not None:
            tab.tell(text)

    async def _take_edit(self, edit: Edit) -> None:
        """Take an edit, a drag of something else having ended before it."""
        if self._case.dragged is not None and (
            edit.do != "set" or edit.path != self._case.dragged
        ):
            await self._settle()
        try:
            await self._apply(edit)
        except CaseError:
            if self._case.dragged is not None and not edit.moving:
                await self._settle()  # where it was good last
            raise

    async def _settle(self) -> None:
        """End a drag where it is; give it up if its text cannot say that."""
        if self._case.dragged is None:
            return
        try:
            await self._apply(Edit("settle"))
        except CaseError:
            await self._apply(Edit("drop"))
            raise

    async def _apply(self, edit: Edit) -> None:
        """Keep an edit, have it checked, and show it; `CaseError` if it is not taken."""
        journal = self._opened.journal
        case = await asyncio.to_thread(self._case.with_edit, edit)
        await asyncio.to_thread(journal.edit, edit)
        problems = await self._load(case, self._loaded.variant)
        if problems:
            await asyncio.to_thread(journal.refused)
            raise CaseError(problems)
        splice = case.last_splice
        if (
            case.text != self._case.text
            and splice
            and edit.do not in ("undo", "redo", "discard")
        ):
            await asyncio.to_thread(journal.done, splice)
        before, self._case = self._case, case
        if not alike(before.content, case.content):
            self._changed()
        self._show()
        if before.content is not case.content or before.dragged != case.dragged:
            self._confirm()

    def _changed(self) -> None:
        self._number += 1
        self.tabs.forget("draft", "confirmed", "refused")

    async def _show_variant(self, name: object) -> None:
        name = name if isinstance(name, str) else ""
        if name and name not in self._loaded.variants:
            there = ", ".join(self._loaded.variants) or "none"
            msg = f"the case has no variant {name[:80]!r}; there are: {there}"
            raise CaseError(msg)
        await self._settle()
        if problems := await self._load(self._case, name):
            raise CaseError(problems)
        self._changed()
        self._show()
        self._confirm()

    async def _finish(self, do: str, given: dict[str, Any]) -> None:
        await self._settle()
        text = self._case.text
        if do == "save":
            await self._save()
        elif do == "save copy":
            path = save_copy(
                self._opened.file.parent, str(given.get("name", "")), self._disk.content(text)
            )
            self.tabs.tell(message("done", what=do, files=[path.name]))
        elif do == "export":
            if given.get("as") not in _kinds:
                msg = f"a result can be exported as {', '.join(_kinds)}"
                raise ResultError(msg)
            self._finishing.begin("export", text=text, kind=str(given["as"]))
        else:
            self._finishing.begin(do, text=text)

    async def _save(self) -> None:
        file, text = self._opened.file, self._case.text
        content = self._disk.content(text)
        await asyncio.to_thread(self._opened.journal.saving, digest(content))
        await asyncio.to_thread(save_over, file, content, known=self._disk.file)
        self._disk = replace(self._disk, text=text, file=digest(content))
        self._saved, self._taken_up = self._case.content, 0
        self._show()
        self.tabs.tell(message("done", what="save", files=[file.name]))

    async def _load(self, case: EditedCase, variant: str) -> list[Problem]:
        """Have the loader look at a case; what is wrong with it, or nothing and it is known."""
        content = None if case.dragged is None else case.content
        problems: list[Problem] = []
        answers = self._worker.answers("load", text=case.text, content=content, variant=variant)
        try:
            async with aclosing(answers):
                async for kind, *rest in answers:
                    if kind == "loaded":
                        self._loaded = _Loaded(rest[0], tuple(rest[1]), rest[2])
                    else:
                        problems = rest[0]
        except WorkerGoneError as error:
            problems = [Problem(str(error))]
        return problems

    def _show(self) -> None:
        """Show the case as it is in all tabs, to be drafted."""
        self._to_draft = True
        loaded, case = self._loaded, self._case
        text = message(
            "case",
            parts={"case": loaded.payload},
            number=self._number,
            file=self._opened.file.name,
            changes=[change.plain() for change in self._changes],
            undo=case.undoable,
            redo=case.redoable,
            variants=loaded.variants,
            variant=loaded.variant or None,
            saved=self._is_saved,
            settled=case.dragged is None,
            taken_up=self._taken_up,
        )
        self.tabs.show("case", text)

    async def _draft(self) -> None:
        """Draft what is shown; where that takes long, edits that wait go first."""
        self._to_draft = False
        drafting = asyncio.create_task(self._say_draft(self._number))
        await asyncio.wait({drafting}, timeout=_patience)
        while not drafting.done() and not self._waiting:
            await asyncio.wait({drafting}, timeout=0.1)
        if drafting.done():
            drafting.result()
        else:
            drafting.cancel()
            await asyncio.wait({drafting})

    async def _say_draft(self, number: int) -> None:
        answers = self._worker.answers("draft", moving=self._case.dragged is not None)
        problems: list[Problem] = []
        try:
            async with aclosing(answers):
                async for kind, *rest in answers:
                    if kind == "draft":
                        header, arrays = rest
                        text = message("draft", more=header, number=number)
                        self.tabs.show("draft", text, arrays or None)
                    else:
                        problems = rest[0]
        except WorkerGoneError as error:
            problems = [Problem(str(error))]
        if problems:
            text = message("no draft", number=number, problems=plain(problems))
            self.tabs.show("draft", text)

    def _confirm(self) -> None:
        """Have finite elements confirm what is shown, once it rests."""
        text = self._case.text if self._case.dragged is None else None
        self._confirmation.again(self._number, text=text, variant=self._loaded.variant)


def _goes_on(before: dict[str, Any], given: dict[str, Any]) -> bool:
    """Whether a message takes the place of the one before it: the next place of one drag."""
    return (
        before.get("do") == given.get("do") == "set"
        and before.get("moving") is True
        and before.get("path") == given.get("path")
    )
