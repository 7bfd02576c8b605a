"""Every key of a case file in words, as tables in Markdown, from the blocks themselves."""

from collections.abc import Iterator
from typing import Any

from .schema import CaseFile

_types = {
    "string": "text",
    "integer": "whole number",
    "number": "number",
    "boolean": "`true` or `false`",
    "object": "block",
    "array": "list",
}
_Schema = dict[str, Any]


def described_keys() -> str:
    """Tables of all keys, one for each block, in the order in which a file has them."""
    whole = CaseFile.model_json_schema(mode="validation")
    blocks: dict[str, _Schema] = whole.get("$defs", {})
    places: dict[str, str] = {}  # where a block was met first
    waiting: list[tuple[str, _Schema]] = [("a case file", whole)]
    told = []
    while waiting:
        place, block = waiting.pop(0)
        told.append(_table(place, block, places))
        inner = []
        for key, entry in block.get("properties", {}).items():
            below = key if block is whole else f"{place}.{key}"
            for name, at in _blocks_of(entry, below, blocks):
                if name not in places:
                    places[name] = at
                    inner.append((at, blocks[name]))
        waiting = inner + waiting
    return "\n\n".join(told)


def _table(place: str, block: _Schema, places: dict[str, str]) -> str:
    words = " ".join(block.get("description", "").split())
    heading = f"### `{place}`" if place != "a case file" else "### A case file"
    needed = block.get("required", ())
    rows = [
        f"| `{key}`{' (needed)' if key in needed else ''} | {_value(entry, places)} "
        f"| {_words(entry)} |"
        for key, entry in block.get("properties", {}).items()
    ]
    return "\n".join(
        [heading, "", words, "", "| key | value | what it is |", "|---|---|---|", *rows]
    )


def _words(entry: _Schema) -> str:
    return " ".join(str(entry.get("description", "")).split()).replace("|", "\\|")


def _value(entry: _Schema, places: dict[str, str]) -> str:
    """What may stand there, in a few words."""
    if "const" in entry:
        return f"`{_written(entry['const'])}`"
    if "enum" in entry:
        return ", ".join(f"`{_written(each)}`" for each in entry["enum"])
    if "$ref" in entry:
        return "block"
    choices = entry.get("anyOf") or entry.get("oneOf")
    if choices:
        return " or ".join(dict.fromkeys(_value(each, places) for each in choices))
    if entry.get("type") == "array" and isinstance(entry.get("items"), dict):
        return f"list of: {_value(entry['items'], places)}"
    if entry.get("type") == "string" and "examples" in entry:
        return f"such as `{entry['examples'][0]}`"
    return _types.get(str(entry.get("type")), "any")


def _written(value: object) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def _blocks_of(entry: Any, place: str, blocks: dict[str, _Schema]) -> Iterator[tuple[str, str]]:
    """Names of the blocks that an entry may hold, each with the place where it stands."""
    if not isinstance(entry, dict):
        return
    if "$ref" in entry:
        name = entry["$ref"].rsplit("/", 1)[1]
        keys = blocks[name].get("properties", {})
        kinds = [f"{key}: {keys[key]['const']}" for key in ("kind", "method")
                 if "const" in keys.get(key, {})]  # fmt: skip
        yield name, f"{place} of {kinds[0]}" if kinds else place
    for each in (*entry.get("anyOf", ()), *entry.get("oneOf", ()), *entry.get("allOf", ())):
        yield from _blocks_of(each, place, blocks)
    yield from _blocks_of(entry.get("items"), f"{place}[]", blocks)
