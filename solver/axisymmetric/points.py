"""Potential at any place of the half-plane: the triangle it is in, then its six nodes."""

from dataclasses import dataclass

import numpy as np

from ..errors import CaseError
from ..model import Floats, Integers
from .assembly import triangle_slopes, triangle_values

# Triangles and straight lines to places on a curved face differ by a share of a triangle.
_room = 0.01
_pairs_at_once = 4_000_000  # of places and triangles compared


@dataclass(frozen=True)
class Places:
    """Triangles that hold some places, and where in them."""

    triangle: Integers  # (n,): number of the triangle
    local: Floats  # (2, n): coordinates in it


def located(places: Floats, *, nodes: Floats, triangles: Integers) -> Places:
    """Triangle of each place, both as radius and depth.

    `CaseError` if a place is in the metal or beyond the outer boundary.
    """
    corners = nodes[triangles]
    low, high = corners.min(axis=1), corners.max(axis=1)
    room = _room * (high - low)
    low, high = low - room, high + room
    chunk = max(1, _pairs_at_once // len(triangles))
    pairs = []
    for first in range(0, len(places), chunk):
        some = places[first : first + chunk, None, :]
        place, triangle = np.nonzero(((some >= low) & (some <= high)).all(axis=2))
        pairs.append((place + first, triangle))
    place = np.concatenate([found for found, _ in pairs])
    triangle = np.concatenate([found for _, found in pairs])
    local = _local(places[place], corners=corners[triangle])
    # How deep inside the triangle, best last.
    inside = np.minimum(local.min(axis=0), 1 - local.sum(axis=0))
    order = np.lexsort((inside, place))
    best = order[np.searchsorted(place[order], np.arange(len(places)), side="right") - 1]
    held = np.zeros(len(places), dtype=bool)
    held[place[inside > -_room]] = True
    if not held.all():
        r, depth = places[~held][0]
        reach = nodes.max(axis=0)
        msg = (
            f"radius {r:.4g} m, depth {depth:.4g} m is inside the metal, above the surface or "
            f"beyond the mesh, which ends at radius and depth {reach[0]:.4g} m"
        )
        raise CaseError(msg)
    return Places(triangle[best], local[:, best])


def _local(places: Floats, *, corners: Floats) -> Floats:
    """Local coordinates (2, n) of places (n, 2) in curved triangles (n, 6, 2), by Newton."""
    local = np.full((2, len(places)), 1 / 3)
    for _ in range(6):  # one step where sides are straight
        off = places - np.einsum(
            "knj,nk->nj", corners.transpose(1, 0, 2), triangle_values(local).T
        )
        jacobian = np.einsum("nkj,kin->nji", corners, triangle_slopes(local))
        local = local + np.linalg.solve(jacobian, off[:, :, None])[:, :, 0].T
        local = np.clip(local, -2.0, 3.0)  # far outside the map may turn over
    return local


def interpolated(values: Floats, *, triangles: Integers, at: Places) -> Floats:
    """Quadratic interpolation of nodal values, shape (n,)."""
    return np.einsum("kn,nk->n", triangle_values(at.local), values[triangles[at.triangle]])
