"""What metal cannot do: stand above ground, overlap, touch metal of another electrode."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ...solver.field.break_points import free_ends
from ...solver.model import Conductors, Flags, Floats, Integers
from ..reading.size_limits import DEEPEST_METAL, WIDEST_SITE
from .proximity import Approach, approaches, shared_stretch


@dataclass(frozen=True)
class Fault:
    """Something wrong with the metal of a part."""

    part: int  # index of the part it is reported at
    message: str  # what is wrong, where, and what to do


def faults_of_pieces(conductors: Conductors) -> list[Fault]:
    """Pieces, not yet split, shorter than wide, above ground, or farther than sites go."""
    c = conductors
    upper = np.maximum(c.start[:, 2], c.end[:, 2])
    lower = np.minimum(c.start[:, 2], c.end[:, 2])
    length = c.length
    short = length <= 2 * c.radius
    above = upper > 0
    # Wholly within its own radius of the surface: it would lie half in the air. A rod
    # whose top is at the surface is cut off there and stands in the soil below.
    shallow = ~above & ~short & (-lower < c.sheath_radius)
    away = np.linalg.norm(c.start[:, :2] - c.start[0, :2], axis=1)
    found = [
        *_each_part(
            c,
            short,
            lambda i: (
                f"is {length[i]:.4g} m long and {2 * c.radius[i]:.4g} m wide; metal must be "
                "longer than wide: lengthen it or leave it out"
            ),
        ),
        *_each_part(
            c,
            above,
            lambda i: f"reaches {upper[i]:.4g} m above ground; all of it must be in the soil",
        ),
        *_each_part(
            c,
            shallow,
            lambda i: (
                f"lies {0.0 - lower[i]:.4g} m deep at most and, with what covers it, is "
                f"{2 * c.sheath_radius[i]:.4g} m wide: it sticks out of the ground; "
                "bury it deeper"
            ),
        ),
        *_each_part(
            c,
            -lower > DEEPEST_METAL,
            lambda i: (
                f"reaches {-lower[i]:,.0f} m down; metal goes {DEEPEST_METAL:,.0f} m deep at "
                "most: look at the unit"
            ),
        ),
        *_each_part(
            c,
            away > WIDEST_SITE,
            lambda i: (
                f"is {away[i]:,.0f} m from {c.part_names[int(c.part[0])]!r}; the metal of a "
                f"case lies within {WIDEST_SITE:,.0f} m: look at the unit, or make it two cases"
            ),
        ),
    ]
    return sorted(found, key=lambda fault: fault.part)


def faults_between_pieces(conductors: Conductors, *, near: Approach) -> list[Fault]:
    """Pieces, not yet split, that run inside one another, or touch metal of another group.

    `near` are the pairs within the sum of their outer radii.
    """
    c = conductors
    i, j = near.first, near.second
    apart = c.group[i] != c.group[j]
    metal = near.distance < c.radius[i] + c.radius[j]
    place = (
        c.start[i] + (near.along_first / c.length[i])[:, None] * (c.end - c.start)[i]
        if len(i)
        else np.zeros((0, 3))
    )
    found = _pairs(
        c,
        near,
        apart & metal,
        place,
        lambda k: (
            f"touch (axes {near.distance[k]:.4g} m apart); metal of two electrodes must not "
            "touch: move one, or put both into one electrode"
        ),
    )
    found += _pairs(
        c,
        near,
        apart & ~metal & (near.distance < c.sheath_radius[i] + c.sheath_radius[j]),
        place,
        lambda k: (
            f"come within each other's backfill or coating (axes {near.distance[k]:.4g} m "
            "apart); that is not modelled between two electrodes: move one"
        ),
    )
    # Skew contact within one group is a joint. Along one another, the same metal would
    # count twice; 4 outer radii separate that from the contact of two ends.
    within = c.sheath_radius[i] + c.sheath_radius[j]
    stretch, middle = shared_stretch(c.start, end=c.end, first=i, second=j, within=within)
    found += _pairs(
        c,
        near,
        ~apart & (stretch > 4 * within),
        middle,
        lambda k: (
            f"run inside one another for {stretch[k]:.4g} m (axes nearer than "
            f"{within[k]:.4g} m); leave one of them out or move it"
        ),
    )
    return sorted(found, key=lambda fault: fault.part)


def faults_of_covers(conductors: Conductors) -> list[Fault]:
    """Fill beyond the ends of split metal, above ground or in another electrode."""
    c = conductors
    if not (c.sheath_cover > 0).any():
        return []
    free_start, free_end = free_ends(c)
    beyond = c.sheath_cover[:, None] * c.direction
    start = c.start - np.where(free_start[:, None], beyond, 0.0)
    end = c.end + np.where(free_end[:, None], beyond, 0.0)
    found = _each_part(
        c,
        np.maximum(start[:, 2], end[:, 2]) > 0,
        lambda i: (
            f"has fill or coating that goes on for {c.sheath_cover[i]:.4g} m beyond its upper "
            "end, to above ground; bury it deeper or give less backfill.cover"
        ),
    )
    near = approaches(start, end=end, reach=c.sheath_radius)
    i, j = near.first, near.second
    axis = (end - start) / np.linalg.norm(end - start, axis=1)[:, None]
    found += _pairs(
        c,
        near,
        c.group[i] != c.group[j],
        start[i] + near.along_first[:, None] * axis[i],
        lambda k: (
            f"come within each other's backfill or coating (axes {near.distance[k]:.4g} m "
            "apart where the fill beyond an end is); that is not modelled between two "
            "electrodes: move one or give less backfill.cover"
        ),
    )
    return sorted(found, key=lambda fault: fault.part)


def _each_part(c: Conductors, wrong: Flags, say: Callable[[int], str]) -> list[Fault]:
    """One fault for each part with wrong pieces: the first, and how many there are."""
    found = []
    where = np.flatnonzero(wrong)
    for part in np.unique(c.part[where]):
        mine = where[c.part[where] == part]
        first = int(mine[0])
        place = place_of((c.start[first] + c.end[first]) / 2)
        more = _more(len(mine))
        found.append(Fault(int(part), f"{_piece(c, first)} at {place} {say(first)}{more}"))
    return found


def _pairs(
    c: Conductors,
    near: Approach,
    wrong: Flags,
    place: Floats,
    say: Callable[[int], str],
) -> list[Fault]:
    """One fault for each pair of parts with wrong pairs of pieces."""
    where = np.flatnonzero(wrong)
    a, b = c.part[near.first[where]], c.part[near.second[where]]
    low, high = np.minimum(a, b), np.maximum(a, b)
    _, first, count = np.unique(
        low * len(c.part_names) + high, return_index=True, return_counts=True
    )
    found = []
    for at, number in zip(first, count, strict=True):
        k = int(where[at])
        i, j = int(near.first[k]), int(near.second[k])
        who = f"{_piece(c, i)} and {_piece(c, j)}"
        message = f"{who} {say(k)}; at {place_of(place[k])}{_more(int(number))}"
        # Reported at the later part: the one added last is usually the one to change.
        found.append(Fault(int(max(c.part[i], c.part[j])), message))
    return found


def _piece(c: Conductors, index: int) -> str:
    part = int(c.part[index])
    mine: Integers = np.flatnonzero(c.part == part)
    number = "" if len(mine) == 1 else f" piece {int(np.searchsorted(mine, index)) + 1}"
    return f"{c.part_names[part]!r}{number} of {c.group_names[int(c.group[index])]!r}"


def place_of(point: Floats) -> str:
    """A place in words."""
    x, y, z = (round(float(value), 4) + 0.0 for value in point)
    return f"({x:g}, {y:g}) m, {0.0 - z:g} m deep"


def _more(count: int) -> str:
    return f" (and {count - 1:,} more like it)" if count > 1 else ""
