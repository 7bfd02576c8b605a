"""Slope of the near field: narrow balls of source less wide ones, with their images."""

from collections.abc import Sequence

import numpy as np
from scipy.special import erf

from ..model import Floats, Integers, Soil
from .clouds import Clouds
from .images import Ray
from .media import conductivities

_point = 5.0  # widths; erfc(5) = 2e-12


class NearSlopes:
    """Slope of the near field of the balls of one medium in their background.

    Parameters
    ----------
    medium : int
        As `Soil.material_at` numbers it.
    paths : sequence of Ray
        Into all layers (`rays_into_layers`).
    """

    def __init__(
        self, clouds: Clouds, *, medium: int, soil: Soil, paths: Sequence[Ray]
    ) -> None:
        self._clouds = clouds
        scale = 4 * np.pi * conductivities(soil)[medium]
        self._ways = [
            (ray, ray.strength / scale) for ray in paths if ray.source_layer == medium
        ]

    def __call__(self, places: Floats, *, ball: Integers, layer: Integers) -> Floats:
        """Of a ball each at places in a layer each, shape (n, 3, q), per ampere. [V/(A m)]"""
        clouds, slope = self._clouds, np.zeros(places.shape)
        for ray, factor in self._ways:
            acts = np.flatnonzero(layer == ray.target_layer)
            if len(acts):
                slope[acts] += factor * _slope(
                    places[acts],
                    centre=ray.image(clouds.place[ball[acts]]),
                    gap=clouds.gap[ball[acts]],
                    spread=clouds.spread[ball[acts]],
                )
        return slope


def _slope(places: Floats, *, centre: Floats, gap: Floats, spread: Floats) -> Floats:
    """Gradient of (erf(√2 r / gap) - erf(r / √2 spread)) / r, shape (n, 3, q). [1/m²]"""
    off = places - centre[:, :, None]
    r = np.sqrt((off**2).sum(axis=1))
    r = np.maximum(r, 1e-7 * spread[:, None])
    total = np.zeros(r.shape)
    for sign, width in ((1.0, np.sqrt(0.5) * gap), (-1.0, np.sqrt(2.0) * spread)):
        # Far from a ball it is as a point.
        near = r.min(axis=1) < _point * width
        total[~near] -= sign / r[~near]
        at = r[near] / width[near, None]
        rising = (2 / np.sqrt(np.pi)) * np.exp(-(at**2)) / width[near, None]
        total[near] += sign * (rising - erf(at) / r[near])
    return np.asarray(off * (total / r**2)[:, None])
