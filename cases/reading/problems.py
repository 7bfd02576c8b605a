"""What pydantic found, in the words of someone who writes case files."""

from collections import Counter
from collections.abc import Iterator
from typing import Any

from pydantic import ValidationError

from ...solver.errors import Problem
from .blocks import OWN_WORDS
from .documents import Document, Step
from .messages import shown
from .quantities import NEEDS_UNIT

MOST_PROBLEMS = 100  # shown at once

_wanted = {
    "missing": "is missing",
    "string_type": "must be text",
    "bool_type": "must be true or false",
    "bool_parsing": "must be true or false",
    "tuple_type": "must be a list",
    "model_type": "must be a block of keys",
    "model_attributes_type": "must be a block of keys",
    "dict_type": "must be a block of keys",
}


def problems_of(error: ValidationError, *, document: Document) -> list[Problem]:
    """Problems of a case file, in the order in which pydantic met them."""
    found: list[tuple[tuple[Step, ...], str]] = []
    for raw in error.errors(include_url=False):
        path = _path(raw["loc"], document)
        message = _message(dict(raw), path, document)
        if message:
            found.append((path, message))
    return [document.problem(message, path=path) for path, message in _one_for_each_list(found)]


def _one_for_each_list(
    found: list[tuple[tuple[Step, ...], str]],
) -> Iterator[tuple[tuple[Step, ...], str]]:
    """The same, but of three missing units or more in one list the first, with their number."""

    def place(path: tuple[Step, ...], message: str) -> tuple[Step, ...] | None:
        if not (path and isinstance(path[-1], int) and NEEDS_UNIT in message):
            return None
        named = max((k for k, step in enumerate(path) if isinstance(step, str)), default=0)
        return path[: named + 1]

    counts = Counter(place(*item) for item in found)
    told = set()
    for path, message in found:
        where = place(path, message)
        if where is None or counts[where] < 3:
            yield path, message
        elif where not in told:
            told.add(where)
            yield path, f"{message}; so do {counts[where] - 1} more numbers in this list"


def in_order(problems: list[Problem]) -> list[Problem]:
    """Problems sorted by line, each once, the excess counted in a last one."""
    unique = list(dict.fromkeys(problems))
    unique.sort(key=lambda problem: problem.line or 0)
    if len(unique) > MOST_PROBLEMS:
        rest = len(unique) - MOST_PROBLEMS
        msg = f"and {rest:,} more problems"
        unique = [*unique[:MOST_PROBLEMS], Problem(msg, file=unique[0].file)]
    return unique


def _path(loc: tuple[Step, ...], document: Document) -> tuple[Step, ...]:
    """Path in the document: pydantic's, without the kinds it puts in for parts."""
    path: list[Step] = []
    here = document.content
    for step in loc:
        is_kind = (
            isinstance(here, dict)
            and step in (here.get("kind"), here.get("array"))
            and step not in here
        )
        if is_kind and path and isinstance(path[-1], int):
            continue
        # Of a field that takes text or a list: the name of its form.
        if isinstance(step, str) and isinstance(here, list | str):
            continue
        path.append(step)
        if isinstance(here, dict) and step in here:
            here = here[str(step)]
        elif isinstance(here, list) and isinstance(step, int) and step < len(here):
            here = here[step]
        else:
            here = None
    return tuple(path)


def _message(raw: dict[str, Any], path: tuple[Step, ...], document: Document) -> str:
    kind, context = raw["type"], raw.get("ctx", {})
    if kind == OWN_WORDS:
        return str(context["text"])
    if kind == "value_error":
        return str(context["error"])
    if kind == "union_tag_invalid":
        key = str(context["discriminator"]).strip("'")
        given = shown(raw["input"].get(key))
        return f"{key} {given} is not known; there are {context['expected_tags']}"
    if kind == "union_tag_not_found":
        if "array" in str(context["discriminator"]):
            return "'array' is missing: wenner, schlumberger, four positions, driven rod"
        return "'kind' is missing: rod, conductor, ring, loop, grid, star, rods, …"
    if kind == "literal_error":
        allowed = context["expected"].replace("True", "true")
        return f"{shown(raw['input'])} is not allowed; write {allowed}"
    if kind == "too_short":
        # Counted without the items that failed: only a list that is short itself counts.
        given = _at(document, path)
        least = context["min_length"]
        if isinstance(given, list) and len(given) >= least:
            return ""
        return f"needs {least} or more entries" + (
            f"; got {len(given)}" if isinstance(given, list) else ""
        )
    if kind == "too_long":
        given = _at(document, path)
        amount = f"; got {len(given):,}" if isinstance(given, list) else ""
        bare = isinstance(given, list) and any(isinstance(item, int) for item in given)
        hint = ": a decimal comma splits an entry, write a decimal point" if bare else ""
        return f"has more than the {context['max_length']:,} entries allowed{amount}{hint}"
    if kind == "string_too_long":
        return f"has more than the {context['max_length']:,} characters allowed"
    if kind == "string_too_short":
        return "is empty; write some text"
    if kind == "missing" and path and isinstance(path[-1], int):
        return f"is missing: the list is {path[-1]} long, it needs more entries"
    given = "" if kind == "missing" else f"{shown(raw['input'])} "
    return f"{given}{_wanted.get(kind, raw['msg'])}"


def _at(document: Document, path: tuple[Step, ...]) -> Any:
    here = document.content
    for step in path:
        try:
            here = here[step]
        except (KeyError, IndexError, TypeError):
            return None
    return here
