"""Names that the safety block refers to, and what each may be."""

from collections.abc import Iterator
from typing import Any

from .documents import Step

Named = tuple[object, tuple[Step, ...], list[str], str]


def names_in_safety(
    content: Any, *, electrodes: list[str], touchable: list[str]
) -> Iterator[Named]:
    """Each name, where it stands, what is allowed there, and what that is called.

    Parameters
    ----------
    content : dict
        Content of a case file, valid or not.
    electrodes : list of str
        Names of the electrodes.
    touchable : list of str
        Names of the metal that can be touched.
    """
    safety = content.get("safety") if isinstance(content, dict) else None
    if not isinstance(safety, dict):
        return
    limits = [
        str(item["name"]).strip() for _, item in _blocks(safety, "limits") if "name" in item
    ]
    yield safety.get("long_duration_limit"), ("safety", "long_duration_limit"), limits, "limit"
    metal = "electrode or touchable metal"
    both = list(dict.fromkeys([*electrodes, *touchable]))
    for number, exposure in _blocks(safety, "exposures"):
        path: tuple[Step, ...] = ("safety", "exposures", number)
        yield exposure.get("limit"), (*path, "limit"), limits, "limit"
        yield exposure.get("touch"), (*path, "touch"), touchable, "touchable metal"
        yield exposure.get("transferred"), (*path, "transferred"), electrodes, "electrode"
        hands = exposure.get("hands")
        for place, name in enumerate(hands if isinstance(hands, list) else []):
            yield name, (*path, "hands", place), both, metal


def _blocks(block: dict[str, Any], key: str) -> Iterator[tuple[int, dict[str, Any]]]:
    items = block.get(key)
    for number, item in enumerate(items if isinstance(items, list) else []):
        if isinstance(item, dict):
            yield number, item
