"""A case being edited: its content and its text, with steps back and forth without end.

While something is dragged only the plain content changes; its text follows once that rests,
and all of the drag is one step. Nothing is ever changed in place: an edit that is refused is
an edited case that nobody keeps.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal, Self, get_args

from ..cases.reading.documents import Document, Step, plain_document
from ..cases.reading.raw_content import put
from ..cases.reading.yaml_edits import alike, edited
from ..cases.reading.yaml_reader import read_document
from ..solver.errors import CaseError, Problem

Path = tuple[Step, ...]
What = Literal["set", "add", "remove", "settle", "drop", "undo", "redo", "discard"]


@dataclass(frozen=True)
class Edit:
    """One edit, as the page sends it and the journal keeps it.

    Attributes
    ----------
    do : str
        ``set`` a value, ``add`` one to a list, ``remove`` one; ``settle`` ends a drag, ``drop``
        gives it up;
        ``undo`` and ``redo`` a step; ``discard`` undoes all of them.
    path : tuple of str or int
        Where: keys, and numbers of entries counted from 0.
    value
        Plain value, as a case file has it.
    moving : bool
        Whether more of the same drag follow.
    """

    do: What
    path: Path = ()
    value: Any = None
    moving: bool = False

    @classmethod
    def read(cls, given: Mapping[str, Any]) -> Self:
        """Edit of a message or a record; `CaseError` if it is none."""
        do: Any = given.get("do")
        path = given.get("path", [])
        moving = given.get("moving", False)
        if do not in get_args(What):
            msg = f"{str(do)[:40]!r} is no edit; there are {', '.join(get_args(What))}"
            raise CaseError(msg)
        if not (isinstance(path, list) and all(map(_is_step, path)) and len(path) <= 40):
            msg = "the path of an edit is a list of keys and of numbers from 0"
            raise CaseError(msg)
        if do in ("set", "add", "remove") and not path:
            msg = "an edit needs the path of what it changes"
            raise CaseError(msg)
        value = plain_document({"value": given.get("value")}).content["value"]
        return cls(do, tuple(path), value, moving is True and do == "set")

    def record(self) -> dict[str, Any]:
        """What `read` makes it of again."""
        found: dict[str, Any] = {"do": self.do}
        if self.path:
            found["path"] = list(self.path)
        if self.do in ("set", "add"):
            found["value"] = self.value
        if self.moving:
            found["moving"] = True
        return found


def _is_step(step: object) -> bool:
    return isinstance(step, str) or (
        isinstance(step, int) and not isinstance(step, bool) and step >= 0
    )


@dataclass(frozen=True)
class Splice:
    """A piece of a text and what took its place."""

    start: int
    old: str
    new: str

    @classmethod
    def between(cls, before: str, after: str) -> Self:
        """The shortest one that makes one text of another."""
        start = _shared(before, after)
        most = min(len(before), len(after)) - start
        end = _shared(before[::-1][:most], after[::-1][:most])
        return cls(start, before[start : len(before) - end], after[start : len(after) - end])

    def done(self, text: str) -> str:
        """The text with it."""
        return text[: self.start] + self.new + text[self.start + len(self.old) :]

    def undone(self, text: str) -> str:
        """The text without it."""
        return text[: self.start] + self.old + text[self.start + len(self.new) :]


def _shared(one: str, other: str) -> int:
    """Number of characters that two texts begin with alike."""
    pairs = enumerate(zip(one, other, strict=False))
    return next((k for k, (a, b) in pairs if a != b), min(len(one), len(other)))


@dataclass(frozen=True, eq=False)
class _Step:
    """One step that can be undone or redone, on top of the others."""

    splice: Splice
    before: Any  # content
    after: Any
    below: "_Step | None"
    number: int  # of steps, this one and those below


@dataclass(frozen=True, eq=False)
class EditedCase:
    """A case with its edits, valid or not.

    Attributes
    ----------
    text : str
        Text of the file as of the last whole step.
    rested : dict
        The content that the text says.
    content : dict
        The content now, which is ahead of the text during a drag.
    dragged : tuple or None
        Path of the value that is being dragged.
    """

    text: str
    rested: Any
    content: Any
    dragged: Path | None = None
    _past: _Step | None = None
    _future: _Step | None = None

    @classmethod
    def of(cls, text: str, *, file: str = "") -> Self:
        """Case of a text, not edited yet; `CaseError` if it is not that of a case file."""
        content = read_document(text, file=file).content
        return cls(text, content, content)

    @property
    def undoable(self) -> int:
        """Number of steps that can be undone."""
        return (0 if self._past is None else self._past.number) + (self.dragged is not None)

    @property
    def redoable(self) -> int:
        """Number of steps that can be done again."""
        return 0 if self._future is None else self._future.number

    def with_edit(self, edit: Edit, *, splice: Splice | None = None) -> "EditedCase":
        """The case with one more edit.

        Parameters
        ----------
        splice : Splice, optional
            What it does to the text, where that is known from before.

        Raises
        ------
        CaseError
            If there is nothing at its path, nothing to undo or redo, or the text cannot say it.
        """
        if edit.do == "drop":
            return replace(self, content=self.rested, dragged=None)
        goes_on = edit.do == "set" and edit.path == self.dragged
        if self.dragged is not None and not goes_on and edit.do != "settle":
            return self.with_edit(Edit("settle")).with_edit(edit, splice=splice)
        if edit.do in ("undo", "redo", "discard"):
            return self._back(edit.do)
        content = self.content if edit.do == "settle" else changed(self.content, edit)
        if edit.moving:
            return replace(self, content=content, dragged=edit.path)
        return self._step(content, splice)

    def _step(self, content: Any, splice: Splice | None) -> "EditedCase":
        if alike(content, self.rested):
            return replace(self, content=self.rested, dragged=None)
        if splice is None:
            text = edited(self.text, before=self.rested, after=content)
            splice = Splice.between(self.text, text)
        below = self._past
        number = 1 if below is None else below.number + 1
        past = _Step(splice, self.rested, content, below, number)
        return EditedCase(splice.done(self.text), content, content, _past=past)

    def _back(self, do: str) -> "EditedCase":
        step = self._future if do == "redo" else self._past
        if step is None:
            msg = f"there is nothing to {do}"
            raise CaseError(msg)
        if do == "discard":
            found = self
            while found._past is not None:
                found = found._back("undo")
            return found
        if do == "redo":
            content, text = step.after, step.splice.done(self.text)
            past = self._past
            moved = replace(step, below=past, number=1 if past is None else past.number + 1)
            return EditedCase(text, content, content, None, moved, step.below)
        content, text = step.before, step.splice.undone(self.text)
        future = self._future
        moved = replace(step, below=future, number=1 if future is None else future.number + 1)
        return EditedCase(text, content, content, None, step.below, moved)

    @property
    def last_splice(self) -> Splice | None:
        """What the last step did to the text."""
        return None if self._past is None else self._past.splice


def changed(content: Any, edit: Edit) -> Any:
    """The content with a value set, added or removed; `CaseError` if that has no place."""
    way, last = edit.path[:-1], edit.path[-1]
    here = _at(content, way)
    inside = isinstance(last, int) and isinstance(here, list) and last < len(here)
    if edit.do == "set" and (inside or (isinstance(here, dict) and isinstance(last, str))):
        return put(content, edit.path, edit.value)
    if edit.do == "remove" and (inside or (isinstance(here, dict) and last in here)):
        rest: Any = here.copy()
        del rest[last]
        return put(content, way, rest)
    if edit.do == "add" and (inside or (isinstance(here, dict) and isinstance(last, str))):
        # A list that the case does not have yet begins with what is added to it.
        there = _at(content, edit.path)
        if isinstance(there, list) or (isinstance(here, dict) and last not in here):
            return put(content, edit.path, [*(there or []), edit.value])
    raise _nothing_there(content, edit)


def _at(content: Any, path: Path) -> Any:
    """What stands at a path; None where nothing does."""
    here = content
    for step in path:
        try:
            here = None if isinstance(here, str) else here[step]
        except (KeyError, IndexError, TypeError):
            return None
    return here


def _nothing_there(content: Any, edit: Edit) -> CaseError:
    place = Document(content).place(edit.path)
    wants = {"set": "value", "add": "list", "remove": "value"}[edit.do]
    msg = f"the case has no {wants} there to {edit.do}; it may have been changed meanwhile"
    return CaseError([Problem(msg, path=place)])
