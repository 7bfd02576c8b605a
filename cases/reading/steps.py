"""Where the keys, names and numbers that lead to a place of a case lead."""

from collections.abc import Sequence
from typing import Any

from ...solver.errors import CaseError
from .documents import Step
from .messages import not_among
from .raw_content import name_of


def path_in(content: Any, given: Sequence[Any]) -> tuple[Step, ...]:
    """Path of what keys and, for entries of lists, names or numbers from 1 lead to.

    The last key may be missing. `CaseError` if they lead nowhere.
    """
    path: list[Step] = []
    here = content
    for number, step in enumerate(given):
        last = number == len(given) - 1
        if isinstance(here, list):
            found = _entry(here, step)
            path.append(found)
            here = here[found]
        elif isinstance(here, dict) and isinstance(step, str) and (step in here or last):
            path.append(step)
            here = here.get(step)
        else:
            inside = list(here) if isinstance(here, dict) else []
            raise CaseError(not_among(str(step), inside, what="key of the case"))
    return tuple(path)


def overlap(one: Sequence[Step], other: Sequence[Step]) -> bool:
    """Whether one of two places is the other one or lies in it."""
    common = min(len(one), len(other))
    return common > 0 and tuple(one[:common]) == tuple(other[:common])


def _entry(entries: list[Any], step: Any) -> int:
    """Number of an entry of a list by its name, or by its number from 1."""
    if isinstance(step, int) and not isinstance(step, bool):
        if 1 <= step <= len(entries):
            return step - 1
        msg = f"entry {step} of a list of {len(entries)}; they are counted from 1"
        raise CaseError(msg)
    names = [name_of(item) if isinstance(item, dict) else "" for item in entries]
    if step in names:
        return names.index(step)
    known = [name for name in names if name]
    msg = f"{not_among(str(step), known, what='entry')}; or its number, counted from 1"
    raise CaseError(msg)
