"""Distances of a report: outlines of levels, separations, potential over distance."""

import math
from collections.abc import Sequence

from ....solver.distances import DistanceLine, Distances, LevelOutline, Separation
from ....solver.results.result import Result
from ...maps.level_lines import level_text
from ...wording import share_text, significant
from ...words.amounts import length, place, volts
from ...words.text import UNITS, Text, in_units, say
from ..contents import Block, Bullets, Cell, Paragraph, Section, Table

# Distances in the table; distances.csv has them all.
_metres = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0)
# The same rows in feet, each a little farther: whatever has them has those in metres too.
_feet = (5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000)
_shown = tuple(zip(_metres, _feet, strict=True))
_foot = 0.3048  # [m]


def distances_section(results: Sequence[Result]) -> Section | None:
    """How far voltages reach; None where the case does not ask.

    Parameters
    ----------
    results : sequence of Result
        Of the case and of its variants, whose distances are told beside its own.
    """
    base = results[0].distances
    if base is None:
        return None
    told = [(item.variant or "as it stands", item.distances) for item in results]
    known = [(name, found) for name, found in told if found is not None]
    blocks: list[Block] = [Paragraph(_about(base))]
    if base.levels:
        blocks.append(_levels(known))
    if base.separations:
        blocks.append(_separations(known))
    blocks.append(_table(base))
    blocks.append(Bullets(_notes(base)))
    return Section("distances", "Distances from live metal", tuple(blocks))


def _about(found: Distances) -> Text:
    return say(
        "Distances are in plan from the nearest live metal (metal without current of its own "
        "into the soil does not count); voltages include growth and decrement (× {}) of a "
        "largest {rise} of {}.",
        significant(found.factor),
        volts(found.rise),
    )


def _levels(known: Sequence[tuple[str, Distances]]) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (
            item.level.name,
            *[condition] * (len(known) > 1),
            level_text(item.level),
            _reach(item),
            _where(item.place),
        )
        for condition, found in known
        for item in found.levels
    ]
    conditions = ("Condition",) * (len(known) > 1)
    header = ("Level", *conditions, "What", "Met up to", "Farthest at")
    return Table(header, tuple(rows), "distance-outlines.csv has them as closed polygons.")


def _reach(item: LevelOutline) -> Text | str:
    if not item.whole:
        return "BEYOND 100 km"
    return length(item.distance) if item.polygons else "met nowhere"


def _where(point: tuple[float, float] | None) -> Text | str:
    return "–" if point is None else place(point)


def _separations(known: Sequence[tuple[str, Distances]]) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (
            item.apart.name,
            *[condition] * (len(known) > 1),
            f"{volts(item.voltage)} ({share_text(item.voltage / found.rise)} of the rise)",
            _apart_text(item),
            _where(item.place if item.distance else None),
            "–" if math.isnan(item.signed) else volts(item.signed),
        )
        for condition, found in known
        for item in found.separations
    ]
    conditions = ("Condition",) * (len(known) > 1)
    about = ("May take on", "Must stand", "There", "Takes on")
    header = ("Electrode of others", *conditions, *about)
    caption = (
        "What a small electrode without current of its own takes on from the soil, with its "
        "sign: below zero on the other side than the largest rise. A long one takes on the "
        "mean of the soil along it: hold its nearest end against this."
    )
    return Table(header, tuple(rows), caption)


def _apart_text(item: Separation) -> Text | str:
    if math.isinf(item.distance):
        return "BEYOND 100 km"
    if item.distance == 0:
        return "anywhere"
    return say("{} away or more", length(item.distance))


def _table(found: Distances) -> Table:
    """Potential over distance along and across live metal, the larger of both ways."""
    # What earlier releases kept is round in metres alone.
    feet = found.lines_in_feet or None
    rows: list[tuple[Cell, ...]] = []
    for metres, number in _shown:
        metric = _values(found.lines, metres)
        if not any(metric):
            continue
        if feet is None:
            rows.append((length(metres), *metric))
            continue
        customary = _values(feet, number * _foot)
        texts = [
            (f"{significant(metres)} m", f"{number:,} ft" if any(customary) else "–"),
            *zip(metric, customary, strict=True),
        ]
        rows.append(
            tuple(in_units(dict(zip(UNITS, pair, strict=True)).__getitem__) for pair in texts)
        )
    header = ("Distance", "Along the metal", "Across it")
    caption = say(
        "Potential of the surface to {remote}, the larger one of both ways; distances.csv has "
        "each way, with the voltage to the metal."
    )
    return Table(header, tuple(rows), caption)


def _values(lines: Sequence[DistanceLine], distance: float) -> list[str]:
    """Potential at a distance along and across the metal; empty where it was not looked at."""
    found = []
    for name in ("along", "across"):
        values = [
            float(line.potential[k])
            for line in lines
            if line.name.startswith(name)
            for k in (abs(line.distance - distance) < 1e-9 * distance).nonzero()[0]
        ]
        found.append(volts(max(values, key=abs)) if values else "")
    return found


def _notes(found: Distances) -> tuple[Cell, ...]:
    notes: list[Cell] = [
        "No statement of safety beside a line or pipe: what it carries or has induced in it "
        "reaches farther than the soil does. Owners of what lies within are to be told.",
    ]
    if found.plain_to is not None:
        notes.append(
            say(
                "Beyond about {}, the depth to which current of this frequency enters the "
                "soil, it returns otherwise than direct current: distances there are rough.",
                length(found.plain_to),
            )
        )
    if found.seam is not None:
        notes.append(
            "Far from metal and bodies both stand as points in the layers; where these take "
            f"over, potentials differ by {share_text(found.seam)} at most."
        )
    if found.known_to is not None:
        notes.append(
            say(
                "A body in the soil goes on for ever or has a film: nothing is told beyond {} "
                "from the middle of the metal.",
                length(found.known_to),
            )
        )
    return tuple(notes)
