r"""Sums over rows of line elements at points, by the ends that neighbours of a row share.

A length that leaks q per metre gives :math:`q (F(s_0) - F(s_1))`, :math:`F(s) = \ln(t + r)`
with t the distance along the axis from the place s to the point and r that from the place
itself (Kellogg 1929, *Foundations of Potential Theory*, ch. III; from memory). Neighbours share
an end, so that a row is one F for each end, with what q changes there.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse

from ..model import Flags, Floats, Integers
from .elements import LineElements
from .images import Ray

_one_place = 1e-9  # m


@dataclass(frozen=True)
class Joints:
    """Ends of m line elements, k of them, those of a row together.

    Attributes
    ----------
    place, axis : ndarray of float, shape (k, 3)
        [m], [1]
    row, layer : ndarray of int, shape (k,)
        What lies of one piece in one layer, and that layer.
    radius : ndarray of float, shape (k,)
        Largest of the row. [m]
    change : csr_matrix, shape (m, k)
        What a unit current of each element adds to the change of leakage at each end. [1/m]
    row_of : ndarray of int, shape (m,)
        Row of each element.
    """

    place: Floats
    axis: Floats
    row: Integers
    layer: Integers
    radius: Floats
    change: sparse.csr_matrix
    row_of: Integers

    @classmethod
    def of(cls, elements: LineElements) -> "Joints":
        """The ends of line elements."""
        count = len(elements)
        key = np.stack([elements.row, elements.layer], axis=1)
        _, first, row = np.unique(key, axis=0, return_index=True, return_inverse=True)
        row = row.ravel()
        axis = elements.axis[first][row]
        origin = elements.start[first][row]
        ends = np.stack(
            [
                np.einsum("ni,ni->n", end - origin, axis)
                for end in (elements.start, elements.end)
            ]
        )
        ends.sort(axis=0)
        at = np.column_stack([np.tile(row, 2), np.round(ends.ravel() / _one_place)])
        _, kept, end = np.unique(at, axis=0, return_index=True, return_inverse=True)
        density = 1.0 / (ends[1] - ends[0])
        change = sparse.csr_matrix(
            (
                np.concatenate([density, -density]),
                (np.tile(np.arange(count), 2), end.ravel()),
            ),
            shape=(count, len(kept)),
        )
        radius = np.zeros(len(first))
        np.maximum.at(radius, row, elements.radius)
        own = kept % count  # the element that each end was found at
        return cls(
            place=origin[own] + ends.ravel()[kept][:, None] * axis[own],
            axis=axis[own],
            row=row[own],
            layer=elements.layer[own],
            radius=radius[row[own]],
            change=change,
            row_of=row,
        )

    def potential(
        self,
        points: Floats,
        *,
        centre: Floats,
        ends: tuple[Integers, Floats],
        rays: Sequence[tuple[Ray, float]],
        apart: float,
    ) -> tuple[Floats, list[Integers]]:
        """Sum over images of some ends, and the rows left out as too near to points.

        Parameters
        ----------
        points : ndarray of float, shape (n, 3)
            [m]
        centre : ndarray of float, shape (3,)
            About which distances are worked out: differences of squares lose figures. [m]
        ends : tuple of ndarray
            Which, shape (e,), rising, and what the leakage changes there, shape (e, c). [A/m]
        rays : sequence of (Ray, float)
            Images, and what multiplies current over distance in each. [Ω·m]
        apart : float
            In radii: images of rows whose axis is nearer to a point are left out.

        Returns
        -------
        sums : ndarray of float, shape (n, c)
            [V]
        left : list of ndarray of int
            Rows left out of each ray.
        """
        given, steps = ends
        layer = self.layer[given]
        acting = [np.flatnonzero(layer == ray.source_layer) for ray, _ in rays]
        which = np.concatenate([np.zeros(0, dtype=np.int64), *acting])
        if not len(which):
            return np.zeros((len(points), steps.shape[1])), [which] * len(rays)
        of_ray = np.array([(ray.sign, ray.shift, factor) for ray, factor in rays])
        counts = [len(some) for some in acting]
        sign, shift, factor = np.repeat(of_ray, counts, axis=0).T
        number, index = np.repeat(np.arange(len(rays)), counts), given[which]
        change = factor[:, None] * steps[which]
        place, axis = self.place[index], self.axis[index]
        place[:, 2] = sign * place[:, 2] + shift
        axis[:, 2] *= sign
        place -= centre
        row = self.row[index]
        first = np.flatnonzero(np.diff(row + number * (self.row[-1] + 1), prepend=-1))
        square, along = _seen(points - centre, place=place, axis=axis)
        across = square[:, first] - along[:, first] ** 2
        near: Flags = (across < (apart * self.radius[index[first]]) ** 2).any(axis=0)
        left = first[near]
        if len(left):
            far = ~np.repeat(near, np.diff(np.append(first, len(index))))
            square, along, change = square[:, far], along[:, far], change[far]
        # Where t is below zero figures are lost, but of r² / ρ² at most, which is no more than
        # some millions for what is left.
        np.sqrt(square, out=square)
        square += along
        sums = np.log(square, out=square) @ change
        return sums, [row[left[number[left] == k]] for k in range(len(rays))]


def _seen(here: Floats, *, place: Floats, axis: Floats) -> tuple[Floats, Floats]:
    """Squared distances of points from places, and those along axes, shape (n, e)."""
    one, none = np.ones(len(place)), np.zeros(len(place))
    to_places = np.column_stack([-2 * place, np.einsum("ni,ni->n", place, place), one])
    to_axes = np.column_stack([axis, -np.einsum("ni,ni->n", place, axis), none])
    here = np.column_stack([here, np.ones(len(here)), np.einsum("ni,ni->n", here, here)])
    return here @ to_places.T, here @ to_axes.T
