"""Element size at the metal, small where the electrode has small features, and away from it.

The short-range correction of the solver is exact, so the mesh need not see single wires; it
must carry the smooth field of their clouds. That field varies over the length of a rod, the
side of a grid's mesh, the diameter of a ring: a tenth of that is enough.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from ..solver.model import Conductors, Floats, Integers, Soil
from ..solver.pairs import numbered
from .plates import alike

# Element sizes in one extent of a run of metal.
elements_per_run = 10.0
# No finer than this share of the electrode's half-diagonal, however dense the metal is.
finest_share = 1.0 / 80.0
# An element next to a thin layer may be this many times wider than the layer is thick.
layer_aspect = 2.5
# Elements keep the size asked for within one element of the metal, then grow by this much
# for each metre of distance, divided by the fineness. Farther out the field is no longer that
# of single wires but of all the metal at once, which such growth would run away from: a 70 m
# grid had four fifths of its error there, in a twentieth of its elements.
_plateau = 1.0
_far_start, _far_share = 4.0, 0.625  # in sizes at the metal; of the growth near it
_straight_on = np.cos(np.radians(35.0))


def runs(conductors: Conductors) -> Integers:
    """Number of the run that each piece belongs to.

    A run goes on through a joint of just two pieces that meet within 35°: a rod, the wire
    between two joints of a grid, the whole of a ring drawn as a polygon. A plate is one.
    """
    count = len(conductors.start)
    ends = np.concatenate([conductors.start, conductors.end])
    outward = np.concatenate([-conductors.direction, conductors.direction])
    tolerance = 1e-6 + 0.1 * float(conductors.radius.min())
    touching = cKDTree(ends).query_pairs(tolerance, output_type="ndarray")
    degree = np.bincount(touching.ravel(), minlength=2 * count)
    first, second = touching[:, 0], touching[:, 1]
    lone = (degree[first] == 1) & (degree[second] == 1)
    onward = np.einsum("ni,ni->n", outward[first], outward[second]) < -_straight_on
    a, b = first[lone & onward] % count, second[lone & onward] % count
    if conductors.plate is not None:
        flat = np.flatnonzero(conductors.flat)
        round_ones = ~(conductors.flat[a] | conductors.flat[b])
        _, first, plate = np.unique(
            conductors.plate[flat], return_index=True, return_inverse=True
        )
        a = np.concatenate([a[round_ones], flat])
        b = np.concatenate([b[round_ones], flat[first][plate.ravel()]])
    graph = coo_matrix((np.ones(len(a)), (a, b)), shape=(count, count))
    return np.asarray(connected_components(graph, directed=False)[1], dtype=np.int64)


def run_extent(conductors: Conductors) -> Floats:
    """Diagonal of the box round the run of each piece, shape (n,). [m]"""
    label = runs(conductors)
    low = np.full((label.max() + 1, 3), np.inf)
    high = -low
    for ends in (conductors.start, conductors.end):
        np.minimum.at(low, label, ends)
        np.maximum.at(high, label, ends)
    return np.linalg.norm(high - low, axis=1)[label]


def element_size(conductors: Conductors, *, soil: Soil, fineness: float = 1.0) -> Floats:
    """Edge length of elements along each piece of metal.

    Parameters
    ----------
    soil : Soil
        The layers; elements stay small beside thin ones.
    fineness : float, default 1
        Divides all sizes; 2 means elements half as long.

    Returns
    -------
    size : ndarray of float, shape (n,)
        [m]
    """
    corners = np.concatenate([conductors.start, conductors.end])
    half_diagonal = 0.5 * float(np.linalg.norm(np.ptp(corners, axis=0)))
    extent = run_extent(conductors)
    size = np.maximum(extent / elements_per_run, finest_share * half_diagonal)
    top = -np.maximum(conductors.start[:, 2], conductors.end[:, 2])
    bottom = -np.minimum(conductors.start[:, 2], conductors.end[:, 2])
    upper = np.concatenate([[0.0], soil.interface_depth])
    for depth, thickness in zip(upper, soil.thickness, strict=False):
        gap = np.maximum(np.maximum(depth - bottom, top - depth - thickness), 0.0)
        # Away from the layer elements may grow as they do away from metal.
        size = np.minimum(size, layer_aspect * thickness + 0.5 * gap)
    return alike(size, conductors=conductors) / fineness


def slopes(growth: float) -> tuple[tuple[float, float, float], ...]:
    """Straight lines of which the element size is the least, near the metal and far out.

    Parameters
    ----------
    growth : float
        Of the size over the distance, near the metal.

    Returns
    -------
    lines : tuple of (float, float, float)
        Of each its value at the metal and the distance to which it stays so, both in sizes
        asked for there, and its growth beyond.
    """
    return (1.0, _plateau, growth), (_far_start, 0.0, _far_share * growth)


def size_away(asked: Floats, *, distance: Floats, growth: float) -> Floats:
    """Size at a distance from metal where `asked` is asked for, by `slopes`. [m]"""
    lines = [
        first * asked + slope * np.maximum(distance - level * asked, 0.0)
        for first, level, slope in slopes(growth)
    ]
    return np.asarray(np.minimum.reduce(lines))


def points_along(start: Floats, *, end: Floats, element_size: Floats) -> tuple[Floats, Floats]:
    """Points on straight pieces about one element apart, and the element size at each.

    Parameters
    ----------
    start, end : ndarray of float, shape (n, 3)
        The pieces. [m]
    element_size : ndarray of float, shape (n,)
        [m]

    Returns
    -------
    points : ndarray of float, shape (m, 3)
        Middles of equal parts. [m]
    size : ndarray of float, shape (m,)
        [m]
    """
    length = np.linalg.norm(end - start, axis=1)
    count = np.maximum(1, np.round(length / element_size)).astype(int)
    piece, step = numbered(count)
    share = ((step + 0.5) / count[piece])[:, None]
    return start[piece] + share * (end - start)[piece], element_size[piece]


@dataclass(frozen=True)
class SizeField:
    """Edge length asked for anywhere in the soil.

    Attributes
    ----------
    seeds : ndarray of float, shape (n, 3)
        Points on the metal about an element apart. [m]
    size : ndarray of float, shape (n,)
        Edge length asked for at each. [m]
    growth : float
        Increase of the edge length per distance from the metal.
    """

    seeds: Floats
    size: Floats
    growth: float

    @classmethod
    def of(
        cls, start: Floats, *, end: Floats, element_size: Floats, growth: float
    ) -> "SizeField":
        """Field of straight pieces, see `points_along`."""
        return cls(*points_along(start, end=end, element_size=element_size), growth)

    @cached_property
    def tree(self) -> cKDTree:
        """Search tree of the seeds."""
        return cKDTree(self.seeds)

    def __call__(self, points: Floats) -> Floats:
        """Edge length asked for at points, shape (k, 3) to (k,). [m]"""
        distance, nearest = self.tree.query(points)
        return size_away(self.size[nearest], distance=np.asarray(distance), growth=self.growth)
