"""The raster of a map, halved near shallow metal, and triangles between its samples."""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import maximum_filter
from scipy.spatial import Delaunay

from ..model import Flags, Floats, Integers
from ..pairs import numbered

# Corners of a square lie on one circle, which costs a triangulation half its time; of a raster
# sheared by so little they do not, and straight edges stay straight.
_shear = np.array([[1.0, 0.0], [2.0**-7, 1.0]])
_on_a_node = 1e-6  # of the distance between nodes


@dataclass(frozen=True)
class Area:
    """Rectangle of the surface to be mapped.

    Attributes
    ----------
    low, high : tuple of float, length 2
        Opposite corners. [m]
    spacing : float
        Raster of the sampling away from metal. [m]
    """

    low: tuple[float, float]
    high: tuple[float, float]
    spacing: float


@dataclass(frozen=True)
class Raster:
    """Nodes at even distances; those of coarser rasters, with every second, are among them.

    Attributes
    ----------
    low : ndarray of float, shape (2,)
        The first node. [m]
    step : ndarray of float, shape (2,)
        Distance between nodes along both axes. [m]
    cells : tuple of int, length 2
        Along both axes.
    """

    low: Floats
    step: Floats
    cells: tuple[int, int]

    @classmethod
    def of(cls, area: Area, *, halved: int) -> "Raster":
        """The raster of an area, halved so many times."""
        sides = np.subtract(area.high, area.low)
        cells = np.maximum(1, np.round(sides / area.spacing)).astype(int) * 2**halved
        return cls(np.array(area.low), sides / cells, (int(cells[0]), int(cells[1])))

    @property
    def shape(self) -> tuple[int, int]:
        """Number of nodes along both axes."""
        return self.cells[0] + 1, self.cells[1] + 1

    def wider(self, by: float) -> "Raster":
        """The raster with as many more nodes on all sides as a distance takes. [m]"""
        more = np.ceil(by / self.step).astype(int)
        cells = self.cells + 2 * more
        low = self.low - more * self.step
        return Raster(low, self.step, (int(cells[0]), int(cells[1])))

    def axes(self) -> tuple[Floats, Floats]:
        """Coordinates of the nodes along both axes. [m]"""
        x, y = (self.low[k] + self.step[k] * np.arange(self.shape[k]) for k in (0, 1))
        return x, y

    def places(self, nodes: Flags) -> Floats:
        """Places of the nodes that are true, shape (n, 2), by x and then y. [m]"""
        x, y = self.axes()
        i, j = np.nonzero(nodes)
        return np.column_stack([x[i], y[j]])

    def on_nodes(self, places: Floats) -> tuple[Flags, Integers]:
        """Which places are nodes of the raster, and the indices of these, shape (m, 2)."""
        index = (places - self.low) / self.step
        node = np.round(index)
        near = (np.abs(index - node) < _on_a_node) & (node >= 0) & (node <= self.cells)
        on: Flags = np.asarray(near.all(axis=1))
        return on, node[on].astype(np.int64)

    def near(self, places: Floats, *, distance: float) -> Flags:
        """Nodes nearer than a distance to any of some places, of the shape of the raster."""
        found = np.zeros(self.shape, dtype=bool)
        reach = np.ceil(distance / self.step).astype(int)
        first = np.floor((places - self.low) / self.step).astype(int)
        for i in range(-reach[0], reach[0] + 2):
            for j in range(-reach[1], reach[1] + 2):
                node = first + np.array([i, j])
                off = self.low + node * self.step - places
                close = np.einsum("ni,ni->n", off, off) < distance**2
                close &= ((node >= 0) & (node <= self.cells)).all(axis=1)
                found[tuple(node[close].T)] = True
        return found


def plan_points(start: Floats, *, end: Floats, spacing: float) -> Floats:
    """Points about a spacing apart along plan segments, shape (n, 2). [m]"""
    along = end[:, :2] - start[:, :2]
    count = np.ceil(np.linalg.norm(along, axis=1) / spacing).astype(int) + 1
    piece, step = numbered(count)
    share = (step / np.maximum(count - 1, 1)[piece])[:, None]
    return start[piece, :2] + share * along[piece]


def joined(places: Floats, *, raster: Raster, halved: int) -> Integers:
    """Triangles between the samples of a map, shape (m, 3), by Delaunay's rule.

    Parameters
    ----------
    places : ndarray of float, shape (n, 2)
        Nodes of the raster and few others. [m]
    halved : int
        Times that the raster is finer than the coarsest of which it has all nodes.

    Notes
    -----
    A square of nodes of one raster, with no others in it and the squares round it, is two
    triangles. No place lies in the circle about a side of it, so that the triangles of all the
    rest have that side too: only the rest is searched.
    """
    on, nodes = raster.on_nodes(places)
    row = np.full(raster.shape, -1, dtype=np.int64)
    row[tuple(nodes.T)] = np.flatnonzero(on)
    stray = np.zeros(raster.cells, dtype=bool)
    inside = np.floor((places[~on] - raster.low) / raster.step).astype(int)
    stray[tuple(np.clip(inside, 0, np.subtract(raster.cells, 1)).T)] = True
    done = np.zeros(raster.cells, dtype=bool)
    found = []
    for level in range(halved + 1):
        stride = 2**level
        corners, square = _squares(row, stray, stride=stride)
        found += [corners[:, [0, 1, 2]], corners[:, [1, 3, 2]]]
        done |= np.repeat(np.repeat(square, stride, axis=0), stride, axis=1)
    if done.all():
        return np.concatenate(found)
    amid = done[1:, 1:] & done[:-1, 1:] & done[1:, :-1] & done[:-1, :-1]
    amid &= row[1:-1, 1:-1] >= 0
    rest = np.delete(np.arange(len(places)), row[1:-1, 1:-1][amid])
    triangles = rest[Delaunay(places[rest] @ _shear).simplices]
    middle = (places[triangles].mean(axis=1) - raster.low) / raster.step
    cell = np.clip(np.floor(middle).astype(int), 0, np.subtract(raster.cells, 1))
    (ax, ay), (bx, by) = (
        ((places[triangles[:, k]] - places[triangles[:, 0]]) / raster.step).T for k in (1, 2)
    )
    # Round-off leaves slivers along the sides of the area.
    flat = np.abs(ax * by - ay * bx) < _on_a_node
    return np.concatenate([*found, triangles[~done[tuple(cell.T)] & ~flat]])


def _squares(row: Integers, stray: Flags, *, stride: int) -> tuple[Integers, Flags]:
    """Squares of every so many nodes with nothing between: their corners, and which they are.

    Parameters
    ----------
    row : ndarray of int, shape (nx + 1, ny + 1)
        Sample on each node; -1 where there is none.
    stray : ndarray of bool, shape (nx, ny)
        Cells with samples that are on no node.

    Returns
    -------
    corners : ndarray of int, shape (m, 4)
        Samples at low x and y, high x, high y, and both high.
    square : ndarray of bool, shape (nx / stride, ny / stride)
    """
    coarse = row[::stride, ::stride]
    other = row >= 0
    other[::stride, ::stride] = False
    # Those on the last sides of the area are counted to the cells before them.
    other[-2] |= other[-1]
    other[:, -2] |= other[:, -1]
    more = other[:-1, :-1] | stray
    blocks = (more.shape[0] // stride, stride, more.shape[1] // stride, stride)
    more = maximum_filter(more.reshape(blocks).any(axis=(1, 3)), size=3)
    corner = [coarse[:-1, :-1], coarse[1:, :-1], coarse[:-1, 1:], coarse[1:, 1:]]
    square = ~more & np.all([each >= 0 for each in corner], axis=0)
    return np.column_stack([each[square] for each in corner]), square
