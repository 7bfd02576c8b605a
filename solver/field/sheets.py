"""Patches of plates as they act on points: by a few points of each, but for near ones."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree
from scipy.spatial.distance import cdist

from ..model import Floats
from ..pairs import pairs_within
from ..patches import gauss_points, sizes
from .elements import LineElements
from .images import Ray
from .patches import apart, far_points, inverse_distance

_least = 1e-12  # distance from a point of a patch, where the patch is near anyway [m]


@dataclass(frozen=True)
class Sheet:
    """Some patches with their currents.

    Attributes
    ----------
    corners : ndarray of float, shape (n, 4, 3)
        [m]
    layer : ndarray of int, shape (n,)
        Medium of each.
    current : ndarray of float, shape (n, c)
        [A]
    places, shares : ndarray of float, shape (n, q, 3), (n, q)
        Points that stand for each from afar.
    """

    corners: Floats
    layer: np.ndarray
    current: Floats
    places: Floats
    shares: Floats

    @classmethod
    def of(cls, elements: LineElements, *, index: np.ndarray, current: Floats) -> "Sheet":
        """Those with some numbers."""
        assert elements.corners is not None
        corners = elements.corners[index]
        places, shares = gauss_points(corners, far_points)
        return cls(corners, elements.layer[index], current, places, shares)

    def potential(self, points: Floats, *, ray: Ray) -> Floats:
        """Sum of current times mean inverse distance of their images, shape (p, c). [A/m]"""
        own = np.flatnonzero(self.layer == ray.source_layer)
        if not len(own):
            return np.zeros((len(points), self.current.shape[1]))
        corners, current = ray.image(self.corners[own]), self.current[own]
        places, shares = ray.image(self.places[own]), self.shares[own]
        charge = (shares[:, :, None] * current[:, None]).reshape(-1, current.shape[1])
        inverse = 1.0 / np.maximum(cdist(points, places.reshape(-1, 3)), _least)
        found = inverse @ charge
        patch, point = pairs_within(
            cKDTree(points), centres=corners.mean(axis=1), radius=apart * sizes(corners)
        )
        if len(patch):
            exact = inverse_distance(points[point], corners=corners[patch])
            by_points = inverse.reshape(len(points), len(own), -1)[point, patch]
            less = exact - np.einsum("nq,nq->n", shares[patch], by_points)
            np.add.at(found, point, less[:, None] * current[patch])
        return np.asarray(found)
