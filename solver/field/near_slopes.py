"""Slope of the near field: narrow balls of source less wide ones, with their images."""

from collections.abc import Sequence

import numpy as np
from scipy.special import erf, erfc

from ..model import Floats, Integers, Soil
from .clouds import Clouds
from .images import Ray
from .media import conductivities


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
                slope[acts] += factor * slope_of_balls(
                    places[acts],
                    centre=ray.image(clouds.place[ball[acts]]),
                    gap=clouds.gap[ball[acts]],
                    spread=clouds.spread[ball[acts]],
                )
        return slope


def slope_of_balls(
    places: Floats, *, centre: Floats, gap: Floats | None, spread: Floats
) -> Floats:
    """Gradient of (erf(√2 r / gap) - erf(r / √2 spread)) / r, shape (n, 3, q). [1/m²]

    Without a gap that of erfc(r / √2 spread) / r, of a point less a ball.
    """
    off = places - centre[:, :, None]
    r = np.sqrt((off**2).sum(axis=1))
    r = np.maximum(r, 1e-7 * spread[:, None])
    wide = np.sqrt(2.0) * spread[:, None]
    at = r / wide
    total = (-2 / np.sqrt(np.pi) / wide) * np.exp(-(at**2))
    if gap is None:
        total -= erfc(at) / r
    else:
        narrow = np.sqrt(0.5) * gap[:, None]
        total += erf(at) / r
        at = r / narrow
        total += (2 / np.sqrt(np.pi) / narrow) * np.exp(-(at**2)) - erf(at) / r
    return np.asarray(off * (total / r**2)[:, None])
