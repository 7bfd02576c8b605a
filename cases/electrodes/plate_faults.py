"""What plates cannot do: touch metal of another electrode, lie in one another."""

import numpy as np
from scipy.spatial import cKDTree

from ...solver.model import Conductors, Flags, Floats, Integers
from ...solver.pairs import pairs_within
from ...solver.patch_meetings import near_patches, on_patches
from ...solver.patches import gauss_points, normals, sizes
from ..reading.size_limits import DEEPEST_METAL, MOST_PLATES
from .geometry import Fault, place_of

_least = 1e-3  # a plate narrower than this is a wire [m]
_apart = 1e-4  # plates of two electrodes nearer than this touch [m]


def faults_of_plates(conductors: Conductors) -> list[Fault]:
    """Plates too narrow, too deep, overlapping, or touching metal of another electrode."""
    if conductors.plate is None or conductors.corners is None:
        return []
    c, flat = conductors, np.flatnonzero(conductors.flat)
    found = []
    many = len(np.unique(conductors.plate[flat]))
    if many > MOST_PLATES:
        msg = f"is one of {many:,} plates; at most {MOST_PLATES:,} are allowed"
        return [_fault(c, int(flat[-1]), msg)]
    for plate in np.unique(conductors.plate[flat]).tolist():
        own = np.flatnonzero(conductors.plate == plate)
        corners = conductors.corners[own]
        width = float(np.linalg.norm(normals(corners), axis=1).sum() / 2)
        width /= float(np.linalg.norm(np.ptp(corners, axis=(0, 1))))
        if width < _least:
            msg = f"is about {width:.2g} m wide; give so narrow a strip as a conductor"
            found.append(_fault(c, int(own[0]), msg))
        if -corners[..., 2].min() > DEEPEST_METAL:
            msg = f"reaches deeper than {DEEPEST_METAL:,.0f} m: look at the unit"
            found.append(_fault(c, int(own[0]), msg))
    return found or [*_overlaps(c, flat), *_touching_wires(c, flat), *_touching_plates(c, flat)]


def _overlaps(c: Conductors, flat: Integers) -> list[Fault]:
    """Plates that lie in one another: their metal would count twice."""
    assert c.plate is not None
    assert c.corners is not None
    places, _ = gauss_points(c.corners[flat], 2)
    point, patch = on_patches(places.reshape(-1, 3), corners=c.corners[flat])
    one, other = flat[point // places.shape[1]], flat[patch]
    wrong = c.plate[one] != c.plate[other]
    return _pairs(
        c,
        one[wrong],
        other[wrong],
        places.reshape(-1, 3)[point[wrong]],
        "lie in one another; metal counts once: leave one of them out or make it smaller",
    )


def _touching_wires(c: Conductors, flat: Integers) -> list[Fault]:
    """Round metal that touches or goes through plates of another electrode."""
    assert c.corners is not None
    wires = np.flatnonzero(~c.flat)
    if not len(wires):
        return []
    tree = cKDTree(c.corners[flat].mean(axis=1))
    middle = 0.5 * (c.start[wires] + c.end[wires])
    reach = 0.5 * c.length[wires] + c.sheath_radius[wires] + sizes(c.corners[flat]).max()
    one, other = pairs_within(tree, centres=middle, radius=reach)
    wire, patch = wires[one], flat[other]
    apart = c.group[wire] != c.group[patch]
    wire, patch = wire[apart], patch[apart]
    near, place = near_patches(
        c.start[wire], end=c.end[wire], corners=c.corners[patch], within=c.sheath_radius[wire]
    )
    return _pairs(
        c,
        wire[near],
        patch[near],
        place[near],
        "touch; metal of two electrodes must not touch: move one, or put both into one "
        "electrode",
    )


def _touching_plates(c: Conductors, flat: Integers) -> list[Fault]:
    """Plates that touch or go through plates of another electrode."""
    assert c.corners is not None
    corners = c.corners[flat]
    tree = cKDTree(corners.mean(axis=1))
    one, other = pairs_within(
        tree, centres=corners.mean(axis=1), radius=sizes(corners) + sizes(corners).max()
    )
    one, other = flat[one], flat[other]
    apart = c.group[one] != c.group[other]
    one, other = one[apart], other[apart]
    touch: Flags = np.zeros(len(one), dtype=bool)
    place = np.zeros((len(one), 3))
    for k in range(4):
        a, b = c.corners[one, k], c.corners[one, (k + 1) % 4]
        near, there = near_patches(
            a, end=b, corners=c.corners[other], within=np.full(len(one), _apart)
        )
        place[near & ~touch] = there[near & ~touch]
        touch |= near
    return _pairs(
        c,
        one[touch],
        other[touch],
        place[touch],
        "touch; plates of two electrodes must not touch: move one, or put both into one "
        "electrode",
    )


def _pairs(
    c: Conductors, one: Integers, other: Integers, place: Floats, said: str
) -> list[Fault]:
    """One fault for each pair of parts, or a part with itself."""
    low = np.minimum(c.part[one], c.part[other])
    high = np.maximum(c.part[one], c.part[other])
    _, first = np.unique(low * len(c.part_names) + high, return_index=True)
    found = []
    for k in first.tolist():
        who = f"{_name(c, int(one[k]))} and {_name(c, int(other[k]))}"
        found.append(Fault(int(high[k]), f"{who} {said}; at {place_of(place[k])}"))
    return found


def _fault(c: Conductors, piece: int, said: str) -> Fault:
    return Fault(int(c.part[piece]), f"{_name(c, piece)} {said}")


def _name(c: Conductors, piece: int) -> str:
    part = int(c.part[piece])
    return f"{c.part_names[part]!r} of {c.group_names[int(c.group[piece])]!r}"
