"""Names in the measured block of a case: which electrodes it speaks of."""

from collections.abc import Iterator
from typing import Any

from ..reading.raw_content import Mention, Place, blocks, entries
from .schema import OWN_ENDS, REMOTE_EARTH


def names_in_measured(content: Any, *, electrodes: list[str]) -> Iterator[Mention]:
    """Names that the block uses: each with its place, what is allowed, and what it is.

    Parameters
    ----------
    content : dict
        Content of a case file, valid or not.
    """
    for path, series in blocks(content.get("measured"), "series"):
        here: Place = ("measured", *path)
        yield Mention(series.get("electrode"), (*here, "electrode"), electrodes, "electrode")
        returns = series.get("current_returns")
        allowed = [*electrodes, REMOTE_EARTH]
        yield Mention(returns, (*here, "current_returns"), allowed, "electrode to return to")
        for place, name in entries(series, "across"):
            allowed = [*electrodes, *OWN_ENDS]
            yield Mention(name, here + place, allowed, "end of a meter")
