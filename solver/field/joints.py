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
        # Patches are no rows; they act by themselves.
        change.data[np.repeat(elements.flat, np.diff(change.indptr))] = 0.0
        change.eliminate_zeros()
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

    def round(
        self,
        centre: Floats,
        *,
        ends: tuple[Integers, Floats],
        rays: Sequence[tuple[Ray, float]],
    ) -> "EndsSeen":
        """Images of some ends round a place, for points near it.

        Parameters
        ----------
        centre : ndarray of float, shape (3,)
            About which distances are worked out: differences of squares lose figures. [m]
        ends : tuple of ndarray
            Which, shape (e,), rising, and what the leakage changes there, shape (e, c). [A/m]
        rays : sequence of (Ray, float)
            Images, and what multiplies current over distance in each. [Ω·m]
        """
        given, steps = ends
        layer = self.layer[given]
        acting = [np.flatnonzero(layer == ray.source_layer) for ray, _ in rays]
        which = np.concatenate([np.zeros(0, dtype=np.int64), *acting])
        of_ray = np.array([(ray.sign, ray.shift, factor) for ray, factor in rays])
        counts = np.array([len(some) for some in acting], dtype=np.int64)
        sign, shift, factor = np.repeat(of_ray.reshape(-1, 3), counts, axis=0).T
        number, index = np.repeat(np.arange(len(rays)), counts), given[which]
        place, axis = self.place[index], self.axis[index]
        place[:, 2] = sign * place[:, 2] + shift
        axis[:, 2] *= sign
        place -= centre
        row = self.row[index]
        first = np.flatnonzero(np.diff(row + number * (self.row[-1] + 1), prepend=-1))
        one, none = np.ones(len(place)), np.zeros(len(place))
        return EndsSeen(
            centre=centre,
            to_places=np.column_stack([-2 * place, np.einsum("ni,ni->n", place, place), one]),
            to_axes=np.column_stack([axis, -np.einsum("ni,ni->n", place, axis), none]),
            change=factor[:, None] * steps[which],
            row=row,
            number=number,
            first=first,
            radius=self.radius[index[first]],
            rays=len(rays),
        )


@dataclass(frozen=True)
class EndsSeen:
    """Images of e ends as they are seen from near a place.

    Attributes
    ----------
    centre : ndarray of float, shape (3,)
        That place. [m]
    to_places, to_axes : ndarray of float, shape (e, 5)
        What makes squared distances, and those along axes, of coordinates of points.
    change : ndarray of float, shape (e, c)
        What leakage changes, times what the image is worth. [V]
    row, number : ndarray of int, shape (e,)
        Row of each end, and its ray.
    first : ndarray of int, shape (r,)
        Where the images of each row begin.
    radius : ndarray of float, shape (r,)
        [m]
    rays : int
        How many there are.
    """

    centre: Floats
    to_places: Floats
    to_axes: Floats
    change: Floats
    row: Integers
    number: Integers
    first: Integers
    radius: Floats
    rays: int

    def potential(self, points: Floats, *, apart: float) -> tuple[Floats, list[Integers]]:
        """Sum over the images, and the rows left out as too near to points.

        Parameters
        ----------
        points : ndarray of float, shape (n, 3)
            [m]
        apart : float
            In radii: images of rows whose axis is nearer to a point are left out.

        Returns
        -------
        sums : ndarray of float, shape (n, c)
            [V]
        left : list of ndarray of int
            Rows left out of each ray.
        """
        if not len(self.row):
            return np.zeros((len(points), self.change.shape[1])), [self.row] * self.rays
        here, change = points - self.centre, self.change
        here = np.column_stack([here, np.ones(len(here)), np.einsum("ni,ni->n", here, here)])
        square, along = here @ self.to_places.T, here @ self.to_axes.T
        across = square[:, self.first] - along[:, self.first] ** 2
        near: Flags = np.asarray((across < (apart * self.radius) ** 2).any(axis=0))
        left = self.first[near]
        if len(left):
            far = np.repeat(~near, np.diff(np.append(self.first, len(self.row))))
            square, along, change = square[:, far], along[:, far], change[far]
        # Where t is below zero figures are lost, but of r² / ρ² at most, which is no more than
        # some millions for what is left.
        np.sqrt(square, out=square)
        square += along
        sums = np.log(square, out=square) @ change
        number = self.number[left]
        return sums, [self.row[left[number == k]] for k in range(self.rays)]
