"""The text of a case file edited where its content differs, its comments left as they stand.

Only what differs is written anew: values in their place, entries added behind the last one of
their block, entries taken away with their lines. What stands in one line in brackets and gets
or loses entries is written anew as a whole.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.nodes import MappingNode, Node, SequenceNode

from ...solver.errors import CaseError
from .raw_content import name_of
from .yaml_reader import read_document

_comment = re.compile(r"(?:^|\s)#")


@dataclass(frozen=True)
class _Edit:
    """A piece of the text and what takes its place."""

    start: int
    end: int
    text: str


def edited(text: str, *, before: Any, after: Any) -> str:
    """Text of a case file that has other content, with its comments.

    Parameters
    ----------
    text : str
        Of the file whose content is `before`.

    Raises
    ------
    CaseError
        If the text cannot be edited to say that content and nothing else.
    """
    # Marks count characters behind a mark of UTF-8, which `decoded` has taken off.
    root = YAML(typ="safe", pure=True).compose(text)
    edits = sorted(_edits(text, root, before, after), key=lambda edit: edit.start)
    for edit in reversed(edits):
        text = text[: edit.start] + edit.text + text[edit.end :]
    if not alike(read_document(text).content, after):
        msg = "the text of this case cannot be edited in place; write its blocks on lines"
        raise CaseError(msg)
    return text


def alike(one: Any, other: Any) -> bool:
    """Whether two values of a case file are the same and of one kind: 1 is not true."""
    if one is other:
        return True
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(alike(one[k], other[k]) for k in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(alike, one, other))
    same_kind = isinstance(one, type(other)) or isinstance(other, type(one))
    return same_kind and isinstance(one, bool) == isinstance(other, bool) and one == other


def _edits(text: str, node: Node, before: Any, after: Any) -> Iterator[_Edit]:
    """What makes the text of a node say something else."""
    if alike(before, after):
        return
    if isinstance(node, MappingNode) and isinstance(after, dict):
        pairs = {str(key.value): (key, value) for key, value in node.value}
        old, new = set(pairs), set(after)
        if not (node.flow_style and old != new) and old & new:
            yield from _in_mapping(text, node, pairs, before, after)
            return
    if isinstance(node, SequenceNode) and isinstance(after, list) and after and before:
        matched = _matched(before, after)
        same = matched == list(range(len(before))) and len(after) == len(before)
        if matched is not None and (same or not node.flow_style):
            yield from _in_sequence(text, node, before, after, matched)
            return
    yield _whole(text, node, after)


def _whole(text: str, node: Node, after: Any) -> _Edit:
    """The whole of a node, in one line."""
    start = node.start_mark.index
    if isinstance(node, MappingNode | SequenceNode) and not node.flow_style:
        # A block below its key: from the colon on, what stood between with it.
        return _Edit(_after_key(text, start), _content_end(node), f" {in_line(after)}")
    return _Edit(start, _content_end(node), in_line(after))


def _after_key(text: str, start: int) -> int:
    """Place behind the colon or the dash that a block belongs to, comments passed over."""
    while True:
        start = len(text[:start].rstrip())
        begins = text.rfind("\n", 0, start) + 1
        written = _comment.split(text[begins:start], maxsplit=1)[0].rstrip()
        if written:
            return begins + len(written)
        start = begins


def _in_mapping(
    text: str, node: MappingNode, pairs: dict[str, Any], before: Any, after: Any
) -> Iterator[_Edit]:
    for key, (name, value) in pairs.items():
        if key in after:
            yield from _edits(text, value, before[key], after[key])
        else:
            yield _without(text, name.start_mark.index, _content_end(value))
    added = {key: item for key, item in after.items() if key not in pairs}
    if added:
        indent = node.value[0][0].start_mark.column
        yield _behind(text, _content_end(node), on_lines(added, indent=indent))


def _in_sequence(
    text: str, node: SequenceNode, before: list[Any], after: list[Any], matched: list[int]
) -> Iterator[_Edit]:
    for number, (item, value) in enumerate(zip(node.value, before, strict=True)):
        if number in matched:
            yield from _edits(text, item, value, after[matched.index(number)])
        else:
            dash = text.rindex("-", 0, item.start_mark.index)
            yield _without(text, dash, _content_end(item))
    added = after[len(matched) :]
    if added:
        indent = node.start_mark.column
        yield _behind(text, _content_end(node), on_lines(added, indent=indent))


def _matched(before: list[Any], after: list[Any]) -> list[int] | None:
    """For the entries of a list from the first on, which one of the old list each was.

    New ones come last. None where the lists have nothing to do with each other.
    """
    names = [name_of(item) if isinstance(item, dict) else "" for item in before]
    if not all(names):
        return list(range(len(before))) if len(before) == len(after) else _kept(before, after)
    found: list[int] = []
    for item in after:
        name = name_of(item) if isinstance(item, dict) else ""
        if name not in names:
            break
        found.append(names.index(name))
    rest = [name_of(item) if isinstance(item, dict) else "" for item in after[len(found) :]]
    if not found or found != sorted(set(found)) or set(rest) & set(names):
        return None
    return found


def _kept(before: list[Any], after: list[Any]) -> list[int] | None:
    """The same of a list without names, of which entries go and to which others come last."""
    found: list[int] = []
    for item in after:
        rest = range(found[-1] + 1 if found else 0, len(before))
        place = next((k for k in rest if alike(before[k], item)), None)
        if place is None:
            break
        found.append(place)
    return found or None


def _content_end(node: Node) -> int:
    """Where the last piece of a node ends; marks of blocks go on to what follows them."""
    if not isinstance(node, MappingNode | SequenceNode) or node.flow_style or not node.value:
        return int(node.end_mark.index)
    last = node.value[-1]
    return _content_end(last[1] if isinstance(node, MappingNode) else last)


def _line_start(text: str, at: int) -> int:
    return text.rfind("\n", 0, at) + 1


def _line_end(text: str, at: int) -> int:
    """Where the line ends that holds the last character before a place."""
    if at and text[at - 1] == "\n":
        return at - 1
    end = text.find("\n", at)
    return len(text) if end < 0 else end


def _without(text: str, start: int, end: int) -> _Edit:
    """The lines of an entry taken away; of one that shares its first line, what is its own."""
    first = _line_start(text, start)
    last = min(_line_end(text, end) + 1, len(text))
    if text[first:start].strip():
        # Behind a dash: what follows moves up to it.
        following = last + len(text[last:]) - len(text[last:].lstrip(" "))
        return _Edit(start, following, "")
    return _Edit(first, last, "")


def _behind(text: str, end: int, lines: str) -> _Edit:
    at = _line_end(text, end)
    return _Edit(at, at, "\n" + lines.rstrip("\n"))


def in_line(value: Any) -> str:
    """A value of a case file in one line.

    Examples
    --------
    >>> in_line({"name": "ring: outer", "points": [["0 m", "3 m"]], "filled": True})
    '{name: "ring: outer", points: [[0 m, 3 m]], filled: true}'
    """
    if isinstance(value, dict):
        inside = (f"{in_line(str(key))}: {in_line(item)}" for key, item in value.items())
        return "{" + ", ".join(inside) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(in_line, value)) + "]"
    if isinstance(value, str):
        return _text(value)
    return json.dumps(value)


def _text(value: str) -> str:
    """Text as it is where that is read as the same text anywhere, else in quotes."""
    quoted = json.dumps(value, ensure_ascii=False)
    try:
        plain = {"as text": [value], value: 1}
        same = read_document(f"{{as text: [{value}], {value}: 1}}").content == plain
    except CaseError:
        return quoted
    return value if same and value == value.strip() and len(value) < 100 else quoted


def on_lines(value: Any, *, indent: int) -> str:
    """A mapping or list of a case file on lines of its own, each begun with some blanks.

    Examples
    --------
    >>> print(on_lines([{"name": "ring", "parts": [{"kind": "rod"}]}], indent=2), end="")
      - name: ring
        parts:
          - kind: rod
    """
    pad = " " * indent
    if isinstance(value, list):
        return "".join(_item(item, indent=indent) for item in value)
    lines = ""
    for key, item in value.items():
        if isinstance(item, dict) or (
            isinstance(item, list) and any(isinstance(one, dict) for one in item)
        ):
            lines += f"{pad}{in_line(key)}:\n{on_lines(item, indent=indent + 2)}"
        else:
            lines += f"{pad}{in_line(key)}: {in_line(item)}\n"
    return lines


def _item(item: Any, *, indent: int) -> str:
    pad = " " * indent
    if isinstance(item, dict) and item:
        inside = on_lines(item, indent=indent + 2)
        return f"{pad}- {inside[indent + 2 :]}"
    return f"{pad}- {in_line(item)}\n"
