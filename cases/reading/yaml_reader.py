"""The text of a case file as plain values that remember their lines.

The parser's events are read one by one, so that hostile text (aliases that multiply,
tags that ask for code, nesting without end) is refused where it starts and nothing of
it is ever built.
"""

import re
from dataclasses import dataclass, field
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from ...solver.errors import BudgetError, CaseError, Problem
from .documents import Document, Step, has_half_character
from .size_limits import DEEPEST_NESTING, LARGEST_FILE, MOST_VALUES

_integer = re.compile(r"[+-]?[0-9]{1,18}")
_decimal = re.compile(
    r"[+-]?(?:[0-9]+\.[0-9]*|\.[0-9]+|[0-9]+(?=[eE]))(?:[eE][+-]?[0-9]{1,3})?"
)
# What to do about a fault, by what the parser says of it.
_remedies = {
    "mapping values": "put text that holds a colon and a blank in quotes, or look at the "
    "indentation",
    "found character '\\t'": "write blanks for the tab; put text that holds one in quotes",
}
_beyond = re.compile(r"\\U(?!000|0010)[0-9A-Fa-f]{8}")
_words: dict[str, bool | None] = {
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
    **dict.fromkeys(("", "~", "null", "Null", "NULL"), None),
}


def read_document(text: str, *, file: str = "") -> Document:
    """Content of the text of a case file: one YAML document of mappings, lists, plain values.

    `CaseError` if it is not such, or repeats a key, with line numbers; `BudgetError` if it is
    longer, deeper nested or fuller than the limits allow.
    """
    if len(text) > LARGEST_FILE:
        msg = (
            f"{len(text):,} characters; a case file has at most {LARGEST_FILE:,}: "
            "put long lists of rods or conductors into a table (CSV)"
        )
        raise BudgetError([Problem(msg, file=file)])
    if has_half_character(text):
        msg = "holds half of a character, a surrogate; give whole ones"
        raise CaseError([Problem(msg, file=file)])
    builder = _Builder(file=file)
    yaml = YAML(typ="safe", pure=True)
    try:
        for event in yaml.parse(text):
            builder.take(event)
    except CaseError:
        raise
    except (ValueError, OverflowError) as error:
        # ruamel hands on what an escape beyond the last character is to Python.
        beyond = _beyond.search(text)
        line = None if beyond is None else text.count("\n", 0, beyond.start()) + 1
        msg = "is not YAML: an escape here is beyond all characters, which end at \\U0010FFFF"
        raise CaseError([*builder.problems, Problem(msg, file=file, line=line)]) from error
    except YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        line = None if mark is None else mark.line + 1
        what = getattr(error, "problem", None) or str(error).splitlines()[0]
        hints = (hint for part, hint in _remedies.items() if part in what)
        hint = next(hints, "check indentation, colons and brackets here")
        msg = f"is not YAML: {what}; {hint}"
        raise CaseError([*builder.problems, Problem(msg, file=file, line=line)]) from error
    document = Document(builder.content, builder.lines, file)
    if not isinstance(document.content, dict):
        msg = "a case file is a mapping: it starts with a line such as 'ohmscape: 1'"
        raise CaseError([Problem(msg, file=file, line=1)])
    if builder.problems:
        raise CaseError(builder.problems)
    return document


@dataclass
class _Builder:
    """Builds plain values from events, one open container on top of another."""

    file: str
    content: Any = None
    lines: dict[tuple[Step, ...], int] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    _open: list[dict[str, Any] | list[Any]] = field(default_factory=list)
    _path: list[Step] = field(default_factory=list)  # of the open containers
    _keys: list[str | None] = field(default_factory=list)  # key that waits for its value
    _count: int = 0
    _documents: int = 0

    def take(self, event: Any) -> None:
        line = event.start_mark.line + 1
        if isinstance(event, DocumentStartEvent):
            self._documents += 1
            if self._documents > 1:
                self._stop("a second document starts with '---'; a case file has one", line)
        elif isinstance(event, AliasEvent):
            self._stop(f"alias '*{event.anchor[:40]}': write the value out", line)
        elif isinstance(event, MappingStartEvent | SequenceStartEvent | ScalarEvent):
            if event.anchor is not None:
                self._stop(f"anchor '&{event.anchor[:40]}': aliases are not allowed", line)
            if event.tag is not None:
                self._stop(f"tag {event.tag[:40]!r}: a case file holds plain values only", line)
            if isinstance(event, ScalarEvent) and has_half_character(event.value):
                self._stop("half of a character, as \\uD800 is; write the whole one", line)
            self._count += 1
            if self._count > MOST_VALUES:
                msg = f"more than {MOST_VALUES:,} values; put long lists into a table (CSV)"
                raise BudgetError([Problem(msg, file=self.file, line=line)])
            self._value(event, line)
        elif isinstance(event, MappingEndEvent | SequenceEndEvent):
            self._open.pop()
            self._keys.pop()
            if self._path:
                self._path.pop()

    def _value(self, event: Any, line: int) -> None:
        value: Any
        if isinstance(event, ScalarEvent):
            value = _scalar(event)
        else:
            value = {} if isinstance(event, MappingStartEvent) else []
        if self._open and isinstance(self._open[-1], dict) and self._keys[-1] is None:
            self._key(event, line)
            return
        step = self._place(value, line)
        if not isinstance(event, ScalarEvent):
            if len(self._open) >= DEEPEST_NESTING:
                msg = f"nested deeper than {DEEPEST_NESTING} levels"
                raise BudgetError([Problem(msg, file=self.file, line=line)])
            if self._open and step is not None:
                self._path.append(step)
            self._open.append(value)
            self._keys.append(None)

    def _key(self, event: Any, line: int) -> None:
        if not isinstance(event, ScalarEvent):
            self._stop("a key must be plain text", line)
        key = str(event.value)
        mapping = self._open[-1]
        path = (*self._path, key)
        if key in mapping:
            first = self.lines[path]
            msg = f"key {key[:40]!r} stands twice; the first is on line {first}: keep one"
            self.problems.append(
                Problem(msg, path=Document(self.content).place(path), file=self.file, line=line)
            )
        else:
            self.lines[path] = line
        self._keys[-1] = key

    def _place(self, value: Any, line: int) -> Step | None:
        """Put a value where it belongs; the step that leads to it."""
        if not self._open:
            self.content = value
            return None
        here = self._open[-1]
        if isinstance(here, list):
            here.append(value)
            step: Step = len(here) - 1
            self.lines[(*self._path, step)] = line
            return step
        key = self._keys[-1]
        assert key is not None
        here[key] = value
        self._keys[-1] = None
        return key

    def _stop(self, message: str, line: int) -> None:
        raise CaseError([*self.problems, Problem(message, file=self.file, line=line)])


def _scalar(event: ScalarEvent) -> str | int | float | bool | None:
    """Plain number, truth value or nothing where YAML 1.2 says so; all else is text."""
    value = str(event.value)
    if event.style:  # quoted or block text
        return value
    if value in _words:
        return _words[value]
    if _integer.fullmatch(value):
        return int(value)
    if _decimal.fullmatch(value):
        return float(value)
    return value
