"""What differs between two contents of a case, for people to read."""

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from ..cases.reading.documents import Document, Step
from ..cases.reading.raw_content import name_of
from ..cases.reading.yaml_edits import alike

_longest = 60  # characters of a value that is shown
_missing = object()
Path = tuple[Step, ...]


@dataclass(frozen=True)
class Change:
    """One value that differs, was added or was taken away.

    Attributes
    ----------
    path : tuple of str or int
        Where it stands; of what was taken away, where it stood.
    place : str
        The same in words: ``electrodes[1] 'fence'.parts[2].length``.
    before, after : str or None
        The values in short; None where there is none.
    words : str
        All of it in a line.
    """

    path: Path
    place: str
    before: str | None
    after: str | None
    words: str

    def plain(self) -> dict[str, Any]:
        """As JSON has it."""
        return {**asdict(self), "path": list(self.path)}


def changes_between(before: Any, after: Any) -> list[Change]:
    """What makes one content of another, in the order of the case."""
    return [
        _change(path, old, new, before=before, after=after)
        for path, old, new in _differing(before, after, ())
    ]


def _change(path: Path, old: Any, new: Any, *, before: Any, after: Any) -> Change:
    place = Document(before if new is _missing else after).place(path)
    was = None if old is _missing else _short(old)
    now = None if new is _missing else _short(new)
    if was is None:
        words = f"{place}: added {now}"
    elif now is None:
        words = f"{place}: taken away, was {was}"
    else:
        words = f"{place}: {was} → {now}"
    return Change(path, place, was, now, words)


def _differing(before: Any, after: Any, path: Path) -> Iterator[tuple[Path, Any, Any]]:
    """Path, old and new value of what differs, a missing one marked."""
    if alike(before, after):
        return
    if isinstance(before, dict) and isinstance(after, dict):
        for key in (*after, *(key for key in before if key not in after)):
            if key not in before or key not in after:
                yield (*path, key), before.get(key, _missing), after.get(key, _missing)
            else:
                yield from _differing(before[key], after[key], (*path, key))
    elif isinstance(before, list) and isinstance(after, list):
        yield from _differing_entries(before, after, path)
    else:
        yield path, before, after


def _differing_entries(
    before: list[Any], after: list[Any], path: Path
) -> Iterator[tuple[Path, Any, Any]]:
    """The same of lists: entries alike at both ends belong together, then those between."""
    start, end = 0, 0
    most = min(len(before), len(after))
    while start < most and _belong(before[start], after[start]):
        yield from _differing(before[start], after[start], (*path, start))
        start += 1
    pairs = []
    while end < most - start and _belong(before[-1 - end], after[-1 - end]):
        pairs.append((before[-1 - end], after[-1 - end], len(after) - 1 - end))
        end += 1
    olds, news = before[start : len(before) - end], after[start : len(after) - end]
    for number in range(max(len(olds), len(news))):
        place = (*path, start + number)
        old = olds[number] if number < len(olds) else _missing
        new = news[number] if number < len(news) else _missing
        if old is _missing or new is _missing:
            yield place, old, new
        else:
            yield from _differing(old, new, place)
    for old, new, number in reversed(pairs):
        yield from _differing(old, new, (*path, number))


def _belong(old: Any, new: Any) -> bool:
    """Whether two entries are one, changed or not: of the same name, or alike."""
    if isinstance(old, dict) and isinstance(new, dict) and name_of(old):
        return name_of(old) == name_of(new)
    return alike(old, new)


def _short(value: Any) -> str:
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return text if len(text) <= _longest else text[: _longest - 1] + "…"
