"""Names in the measured block of a case: which electrodes it speaks of."""

from collections.abc import Iterator
from typing import Any

from .documents import Step
from .schema_measured import OWN_ENDS, REMOTE_EARTH

Named = tuple[object, tuple[Step, ...], list[str], str]


def names_in_measured(content: Any, *, electrodes: list[str]) -> Iterator[Named]:
    """Names that the block uses: each with its place, what is allowed, and what it is.

    Parameters
    ----------
    content : dict
        Content of a case file, valid or not.
    electrodes : list of str
        Names of its electrodes.
    """
    measured = content.get("measured")
    series = measured.get("series") if isinstance(measured, dict) else None
    for number, item in enumerate(series if isinstance(series, list) else []):
        if not isinstance(item, dict):
            continue
        here: tuple[Step, ...] = ("measured", "series", number)
        yield item.get("electrode"), (*here, "electrode"), electrodes, "electrode"
        what = "electrode to return to"
        allowed = [*electrodes, REMOTE_EARTH]
        yield item.get("current_returns"), (*here, "current_returns"), allowed, what
        across = item.get("across")
        for end, name in enumerate(across if isinstance(across, list) else []):
            allowed = [*electrodes, *OWN_ENDS]
            yield name, (*here, "across", end), allowed, "end of a meter"
