"""Pieces of a rod in layered soil: their mutual kernel in the wavenumber domain."""

from dataclasses import dataclass
from typing import Self

import numpy as np

from ..model import Floats, Integers
from .layers import SoilBatch, reflections_above, reflections_below

# Below this, differences of exponentials are taken from their series.
_small = 1e-2


@dataclass(frozen=True)
class Echoes:
    """Soils at all wavenumbers: what comes back to each layer from above and below."""

    wavenumber: Floats  # (k,) [1/m]
    # (m, layers): resistivity [Ω·m] and depths of each layer [m]; the last bottom is
    # infinite.
    resistivity: Floats
    tops: Floats
    bottoms: Floats
    # (m, layers, k): reflection at the top of each layer of all above it, at the bottom of
    # all below
    above: Floats
    below: Floats
    round_trip: Floats  # (m, layers, k): decay through each layer and back
    # (m, layers, layers, k): factor of what enters from each layer (second index) into each
    # deeper one, beside pure decay; 1 within a layer, not used upwards.
    passage: Floats

    @classmethod
    def of(cls, soils: SoilBatch, *, wavenumber: Floats) -> Self:
        """Echoes of m soils."""
        tops = soils.tops
        bottoms = np.hstack([tops[:, 1:], np.full((len(tops), 1), np.inf)])
        below = np.stack(reflections_below(soils, wavenumber=wavenumber), axis=1)
        round_trip = np.exp(-2 * (bottoms - tops)[:, :, None] * wavenumber)
        return cls(
            wavenumber=wavenumber,
            resistivity=soils.resistivity,
            tops=tops,
            bottoms=bottoms,
            above=np.stack(reflections_above(soils, wavenumber=wavenumber), axis=1),
            below=below,
            round_trip=round_trip,
            passage=_passage(below, round_trip),
        )


@dataclass(frozen=True)
class Cells:
    """Pieces of n rods in m soils: what of each step lies in each layer, from the top down.

    Many have no length; they keep the table rectangular and count for nothing.
    """

    top: Floats  # (m, n, c): depths, within the layer [m]
    bottom: Floats
    layer: Integers  # (c,): where each lies
    step: Integers

    @classmethod
    def of(cls, echoes: Echoes, *, ends: Floats) -> Self:
        """Cells of rods whose steps end at the given depths, shape (n, steps + 1)."""
        steps, layers = ends.shape[1] - 1, echoes.tops.shape[1]
        layer = np.repeat(np.arange(layers), steps)
        step = np.tile(np.arange(steps), layers)
        tops, bottoms = echoes.tops[:, None, layer], echoes.bottoms[:, None, layer]
        return cls(
            top=np.clip(ends[:, step], tops, bottoms),
            bottom=np.clip(ends[:, step + 1], tops, bottoms),
            layer=layer,
            step=step,
        )

    @property
    def length(self) -> Floats:
        """Length of each cell, shape (m, n, c). [m]"""
        return self.bottom - self.top

    def kernel(self, echoes: Echoes) -> Floats:
        r"""Mean kernel between all cells, for the mutual resistance at the rod's radius.

        Symmetric, shape (m, n, c, c, k); its transform is potential over current. [Ω·m]

        Notes
        -----
        With the field point at depth z above the source at z' in one layer, t and b its top
        and bottom, α and β the reflections there and h its thickness:

        .. math:: \frac{\rho}{4 \pi} \, e^{-\lambda (z' - z)} \,
                  \frac{(1 + \alpha e^{-2 \lambda (z - t)}) (1 + \beta e^{-2 \lambda (b - z')})}
                       {1 - \alpha \beta e^{-2 \lambda h}}

        and across planes a product of such factors (`Echoes.passage`). Each integral over a
        cell is elementary.
        """
        wave, layer = echoes.wavenumber, self.layer
        x = self.length[..., None] * wave
        lost = -np.expm1(-x)
        decay, mean = 1 - lost, _mean_decay(x, lost)
        alpha, beta = echoes.above[:, None, layer], echoes.below[:, None, layer]
        to_top = self.top - echoes.tops[:, None, layer]
        to_bottom = echoes.bottoms[:, None, layer] - self.bottom
        above = alpha * np.exp(-2 * to_top[..., None] * wave)
        below = beta * np.exp(-2 * to_bottom[..., None] * wave)
        multiple = 1 - alpha * beta * echoes.round_trip[:, None, layer]
        scale = echoes.resistivity[:, None, layer, None] / (4 * np.pi * multiple)
        upper = scale * mean * (1 + above * decay)
        lower = mean * (1 + below * decay)
        kernel = np.empty((*x.shape[:2], len(layer), *x.shape[2:]))
        for i in range(len(layer)):
            kernel[:, :, i, i] = scale[:, :, i] * (
                _mean_decay_of_difference(x[:, :, i], lost[:, :, i])
                + mean[:, :, i] ** 2 * (above[:, :, i] + below[:, :, i])
                + (above * below * decay)[:, :, i]
                * _mean_growth_of_difference(x[:, :, i], lost[:, :, i])
            )
            # Cells follow each other without gaps, but for those without length.
            between = upper[:, :, i]
            for j in range(i + 1, len(layer)):
                passage = echoes.passage[:, None, layer[i], layer[j]]
                kernel[:, :, i, j] = between * lower[:, :, j] * passage
                kernel[:, :, j, i] = kernel[:, :, i, j]
                between = between * decay[:, :, j]
        return kernel


def _passage(below: Floats, round_trip: Floats) -> Floats:
    """Factor of what enters from each layer into each deeper one."""
    soils, layers, count = below.shape
    factor = np.ones((soils, layers, layers, count))
    returned = 1 + below * round_trip
    for p in range(layers):
        for m in range(p + 1, layers):
            factor[:, p, m] = factor[:, p, m - 1] * (1 + below[:, m - 1]) / returned[:, m]
    return factor


def _mean_decay(x: Floats, lost: Floats) -> Floats:
    """Mean of exp(-t) over 0 < t < x, from lost = 1 - exp(-x); 1 for x = 0."""
    return np.asarray(np.divide(lost, x, out=np.ones_like(x), where=x > 0))


def _mean_decay_of_difference(x: Floats, lost: Floats) -> Floats:
    """Mean of exp(-|s - t|) over 0 < s, t < x."""
    safe = np.maximum(x, _small)
    exact = 2 * (safe - lost) / (safe * safe)
    return np.where(x < _small, 1 - x * (1 / 3 - x * (1 / 12 - x / 60)), exact)


def _mean_growth_of_difference(x: Floats, lost: Floats) -> Floats:
    """Mean of exp(|s - t| - x) over 0 < s, t < x."""
    safe = np.maximum(x, _small)
    decay = 1 - lost
    exact = 2 * (1 - (1 + safe) * decay) / (safe * safe)
    return np.where(x < _small, (1 + x * (1 / 3 + x * (1 / 12 + x / 60))) * decay, exact)
