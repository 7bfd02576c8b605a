"""What stands in a case file, valid or not: blocks, lists, names, and putting something in."""

from collections.abc import Iterator
from typing import Any

from .naming import Place


def blocks(content: object, key: str) -> Iterator[tuple[Place, dict[str, Any]]]:
    """Blocks in the list under a key, each with its place from there on."""
    for place, item in entries(content, key):
        if isinstance(item, dict):
            yield place, item


def entries(content: object, key: str) -> Iterator[tuple[Place, object]]:
    """Entries of the list under a key, each with its place from there on."""
    items = content.get(key) if isinstance(content, dict) else None
    for number, item in enumerate(items if isinstance(items, list) else []):
        yield (key, number), item


def names(content: object, key: str) -> list[str]:
    """Names of the blocks in the list under a key, each once, in their order."""
    found = (name_of(block) for _, block in blocks(content, key))
    return list(dict.fromkeys(name for name in found if name))


def name_of(block: dict[str, Any]) -> str:
    """Name of a block without blanks round it; empty where it has none."""
    return text(block.get("name"))


def text(value: object) -> str:
    """Text without blanks round it; empty for anything else."""
    return value.strip() if isinstance(value, str) else ""


def put(content: Any, path: Place, value: Any) -> Any:
    """The content with one value put in; what is not on the way to it stays the same object."""
    if not path:
        return value
    step, *rest = path
    copy = content.copy()
    before = content.get(step) if isinstance(content, dict) else content[step]
    copy[step] = put(before, tuple(rest), value)
    return copy
