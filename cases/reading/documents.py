"""Content of a case as plain values that remember their lines."""

import re
from dataclasses import dataclass, field
from typing import Any

from ...solver.errors import BudgetError, CaseError, Problem
from .size_limits import DEEPEST_NESTING, MOST_VALUES

Step = str | int
_packed = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")  # workbooks, new and old
_utf_16 = (b"\xff\xfe", b"\xfe\xff")
_half = re.compile("[\ud800-\udfff]")
_longest_number = 10**30  # far beyond what any key takes


@dataclass(frozen=True)
class Document:
    """Content of a case and where each piece of it stands."""

    content: Any  # mappings, lists, text, numbers, truth values
    # Line, counted from 1, of each key and list item by its path
    lines: dict[tuple[Step, ...], int] = field(default_factory=dict)
    file: str = ""  # name of the file; empty when there is none

    def problem(self, message: str, *, path: tuple[Step, ...] = ()) -> Problem:
        """Problem at a path, with the line of the nearest thing that stands in the file."""
        nearest = path
        while nearest and nearest not in self.lines:
            nearest = nearest[:-1]
        line = self.lines.get(nearest)
        return Problem(message, path=self.place(path), file=self.file, line=line)

    def place(self, path: tuple[Step, ...]) -> str:
        """Path as the user reads it: lists counted from 1, with the names given there.

        Examples
        --------
        >>> content = {"electrodes": [{"name": "fence"}]}
        >>> Document(content).place(("electrodes", 0, "drive"))
        "electrodes[1] 'fence'.drive"
        """
        words = ""
        here = self.content
        for step in path:
            if isinstance(step, int):
                here = here[step] if isinstance(here, list) and step < len(here) else None
                name = here.get("name") if isinstance(here, dict) else None
                name = _legible(name) if isinstance(name, str) else ""
                words += f"[{step + 1}]" + (f" '{name}'" if name else "")
            else:
                here = here.get(step) if isinstance(here, dict) else None
                words += ("." if words else "") + _legible(step)
        return words


def decoded(content: bytes, *, file: str) -> str:
    """Text of a file, without the mark that some programs put before UTF-8.

    `CaseError` if it is not UTF-8, with the line where that shows.
    """
    if content.startswith(_packed):
        msg = "is a workbook, or another packed file, and no text; save the sheet as CSV"
        raise CaseError([Problem(msg, file=file)])
    # Half of the bytes of most text in UTF-16 are nought, of text in UTF-8 none.
    if content.startswith(_utf_16) or content[:200].count(0) > len(content[:200]) // 4:
        msg = "is UTF-16 text; save it as UTF-8"
        raise CaseError([Problem(msg, file=file)])
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        msg = "is not UTF-8 text; save it as UTF-8"
        raise CaseError([Problem(msg, file=file, line=line)]) from error


def has_half_character(text: str) -> bool:
    """Whether text holds a surrogate, which no file can hold."""
    return not text.isascii() and _half.search(text) is not None


def _legible(name: str) -> str:
    """Name or key of the user's as it can stand in a message: short, without controls."""
    return "".join(c if c.isprintable() else "�" for c in name.strip()[:80])


def _plain(value: object) -> Any:
    """Text, a number or a truth value as it is; `CaseError` if it is none that a file holds."""
    if isinstance(value, str) and has_half_character(value):
        msg = "text in a case holds half of a character, a surrogate; give whole ones"
        raise CaseError(msg)
    if isinstance(value, int) and abs(value) >= _longest_number:
        msg = "a whole number in a case has more than 30 digits"
        raise CaseError(msg)
    if value is None or isinstance(value, str | int | float):
        return value
    msg = f"{type(value).__name__} in a case; give text, numbers, lists and mappings"
    raise CaseError(msg)


def plain_document(content: object) -> Document:
    """Document from values built in Python.

    `CaseError` if the content is deeper or fuller than a file may be, or not plain mappings,
    lists, tuples, text, numbers, truth values.
    """
    count = 0

    def copy(value: object, depth: int) -> Any:
        nonlocal count
        count += 1
        if depth > DEEPEST_NESTING or count > MOST_VALUES:
            msg = (
                f"more than {DEEPEST_NESTING} levels or {MOST_VALUES:,} values; "
                "put long lists into a table (CSV)"
            )
            raise BudgetError(msg)
        if isinstance(value, dict):
            return {_plain(str(key)): copy(item, depth + 1) for key, item in value.items()}
        if isinstance(value, list | tuple):
            return [copy(item, depth + 1) for item in value]
        return _plain(value)

    if not isinstance(content, dict):
        msg = "a case is a dict of the keys of a case file"
        raise CaseError(msg)
    return Document(copy(content, 0))
