"""Leads that parts bring along: rails of fences from post to post, bonds from rail to rail."""

from collections.abc import Iterator

import numpy as np

from ...solver.metal import Bar
from ...solver.metal.wiring import Lead
from ...solver.model import Conductors
from ..case import PartSummary
from ..electrodes.feeding import feeds_at


def raised_leads(
    number: int, part: PartSummary, *, conductors: Conductors, bar: Bar | None
) -> Iterator[Lead]:
    """Leads of one part; `bar` is what its rail is made of, None of bonds."""
    raised = part.raised
    if raised is None:
        return
    mine = np.flatnonzero(conductors.part == number)
    kind = "bond" if bar is None else "span"
    told_as = f"{'cross bonds' if bar is None else 'rail'} of {part.name}"
    for count, (one, other) in enumerate(raised.ends, start=1):
        first, last = (
            feeds_at((x, y, 0.0 - z), mine, conductors)[0] for x, y, z in (one, other)
        )
        name = f"{part.name}: {kind} {count}"
        if bar is None:
            yield Lead(name, (first, last), impedance=0j, told_as=told_as)
            continue
        # Posts between the rail and the soil have next to nothing of its impedance, and two
        # spans that went down the same one would be metal in one place.
        up = ((*one[:2], raised.height), (*other[:2], raised.height))
        yield Lead(
            name, (first, last), bar=bar, radius=raised.radius, route=up, told_as=told_as
        )
