"""Names that the safety block refers to, and what each may be."""

from collections.abc import Iterator
from typing import Any

from ..reading.raw_content import Mention, Place, blocks, entries, names


def names_in_safety(
    content: Any, *, electrodes: list[str], touchable: list[str]
) -> Iterator[Mention]:
    """Each name, where it stands, what is allowed there, and what that is called.

    Parameters
    ----------
    content : dict
        Content of a case file, valid or not.
    touchable : list of str
        Names of the metal that can be touched.
    """
    safety = content.get("safety")
    if not isinstance(safety, dict):
        return
    limits = names(safety, "limits")
    long = safety.get("long_duration_limit")
    yield Mention(long, ("safety", "long_duration_limit"), limits, "limit")
    both = list(dict.fromkeys([*electrodes, *touchable]))
    for path, exposure in blocks(safety, "exposures"):
        here: Place = ("safety", *path)
        for key, allowed, what in (
            ("limit", limits, "limit"),
            ("touch", touchable, "touchable metal"),
            ("transferred", electrodes, "electrode"),
        ):
            yield Mention(exposure.get(key), (*here, key), allowed, what)
        for place, name in entries(exposure, "hands"):
            yield Mention(name, here + place, both, "electrode or touchable metal")
