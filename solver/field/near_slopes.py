"""Slope of the near field: narrow balls of source less wide ones, with their images."""

from collections.abc import Sequence
from functools import cache

import numpy as np
from scipy.special import erfc

from ..model import Floats, Integers, Soil
from .clouds import Clouds
from .images import Ray
from .media import conductivities

# Of the table of what is left outside of a ball, in its widths: linear between its places to
# 3e-9; from its end on there is nothing.
_per_width, _last = 8192, 6.0
_inmost = 0.02  # narrow widths; nearer to the centre the slope is as good as linear


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
    r = np.sqrt(off[:, 0] ** 2 + off[:, 1] ** 2 + off[:, 2] ** 2)
    narrow = None if gap is None else np.sqrt(0.5) * gap[:, None]
    least = 1e-7 * spread[:, None]
    np.maximum(r, least if narrow is None else np.maximum(least, _inmost * narrow), out=r)
    total = -_left_outside(r / (np.sqrt(2.0) * spread[:, None]))
    if narrow is not None:
        total += _left_outside(r / narrow)
    total /= r**3
    off *= total[:, None]
    return np.asarray(off)


def _left_outside(at: Floats) -> Floats:
    """Share of a ball of unit width outside of distances from its centre, from a table."""
    table, step = _table()
    place = np.minimum(at, _last)
    place *= _per_width
    below = place.astype(np.intp)
    place -= below
    place *= step[below]
    place += table[below]
    return place


@cache
def _table() -> tuple[Floats, Floats]:
    """The share at even distances, and how much it grows from each to the next."""
    at = np.arange(int(_last * _per_width) + 2) / _per_width
    share = erfc(at) + 2 / np.sqrt(np.pi) * at * np.exp(-(at**2))
    share[-2:] = 0.0
    return share[:-1], np.diff(share)
