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
    """One soil at all wavenumbers: what comes back to each layer from above and below.

    Attributes
    ----------
    wavenumber : ndarray of float, shape (k,)
        [1/m]
    resistivity, tops, bottoms : ndarray of float, shape (layers,)
        Resistivity [Ω·m] and depths of each layer [m]; the last bottom is infinite.
    above, below : ndarray of float, shape (layers, k)
        Reflection at the top of each layer of all above it, at the bottom of all below.
    round_trip : ndarray of float, shape (layers, k)
        Decay through each layer and back.
    passage : ndarray of float, shape (layers, layers, k)
        Factor of what enters from each layer (first index) into each deeper one, beside pure
        decay; 1 within a layer, not used upwards.
    """

    wavenumber: Floats
    resistivity: Floats
    tops: Floats
    bottoms: Floats
    above: Floats
    below: Floats
    round_trip: Floats
    passage: Floats

    @classmethod
    def of(cls, soils: SoilBatch, *, row: int, wavenumber: Floats) -> Self:
        """One row of a batch."""
        one = SoilBatch(
            resistivity=soils.resistivity[row : row + 1],
            thickness=soils.thickness[row : row + 1],
        )
        tops = one.tops[0]
        bottoms = np.append(tops[1:], np.inf)
        below = np.array([b[0] for b in reflections_below(one, wavenumber=wavenumber)])
        round_trip = np.exp(-2 * np.outer(bottoms - tops, wavenumber))
        return cls(
            wavenumber=wavenumber,
            resistivity=one.resistivity[0],
            tops=tops,
            bottoms=bottoms,
            above=np.array([a[0] for a in reflections_above(one, wavenumber=wavenumber)]),
            below=below,
            round_trip=round_trip,
            passage=_passage(below, round_trip),
        )


@dataclass(frozen=True)
class Cells:
    """Pieces of one rod, each within one layer and one step, from the top down.

    Attributes
    ----------
    top, bottom : ndarray of float, shape (c,)
        Depths. [m]
    layer, step : ndarray of int, shape (c,)
        Where each lies.
    """

    top: Floats
    bottom: Floats
    layer: Integers
    step: Integers

    @classmethod
    def of(cls, echoes: Echoes, *, ends: Floats) -> Self:
        """Cells of a rod whose steps end at the given depths, cut at the layer planes."""
        planes = echoes.tops[echoes.tops < ends[-1]]
        cuts = np.unique(np.concatenate([ends, planes]))
        top, bottom = cuts[:-1], cuts[1:]
        middle = 0.5 * (top + bottom)
        return cls(
            top=top,
            bottom=bottom,
            layer=np.searchsorted(echoes.tops, middle, side="right") - 1,
            step=np.searchsorted(ends, middle) - 1,
        )

    @property
    def length(self) -> Floats:
        """Length of each cell, shape (c,). [m]"""
        return self.bottom - self.top

    def kernel(self, echoes: Echoes) -> Floats:
        r"""Mean kernel between all cells, for the mutual resistance at the rod's radius.

        Parameters
        ----------
        echoes : Echoes
            The soil.

        Returns
        -------
        kernel : ndarray of float, shape (c, c, k)
            Symmetric; its transform is potential over current. [Ω·m]

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
        x = np.outer(self.length, wave)
        mean = _mean_decay(x)
        above = echoes.above[layer] * np.exp(-2 * np.outer(self.top - echoes.tops[layer], wave))
        below = echoes.below[layer] * np.exp(
            -2 * np.outer(echoes.bottoms[layer] - self.bottom, wave)
        )
        both = echoes.above[layer] * echoes.below[layer] * echoes.round_trip[layer]
        scale = echoes.resistivity[layer, None] / (4 * np.pi * (1 - both))
        decay = np.exp(-x)
        upper = scale * mean * (1 + above * decay)
        lower = mean * (1 + below * decay)
        kernel = np.empty((len(x), *x.shape))
        i, j = np.triu_indices(len(x), k=1)
        gap = np.exp(-(self.top[j] - self.bottom[i])[:, None] * wave)
        pairs = upper[i] * lower[j] * gap * echoes.passage[layer[i], layer[j]]
        kernel[i, j] = kernel[j, i] = pairs
        own = np.arange(len(x))
        kernel[own, own] = scale * (
            _mean_decay_of_difference(x)
            + mean**2 * (above + below)
            + above * below * decay * _mean_growth_of_difference(x)
        )
        return kernel


def _passage(below: Floats, round_trip: Floats) -> Floats:
    """Factor of what enters from each layer into each deeper one."""
    layers = len(below)
    factor = np.ones((layers, layers, below.shape[1]))
    returned = 1 + below * round_trip
    for p in range(layers):
        for m in range(p + 1, layers):
            factor[p, m] = factor[p, m - 1] * (1 + below[m - 1]) / returned[m]
    return factor


def _mean_decay(x: Floats) -> Floats:
    """Mean of exp(-t) over 0 < t < x; 1 for x = 0."""
    safe = np.maximum(x, 1e-300)
    return np.asarray(-np.expm1(-safe) / safe)


def _mean_decay_of_difference(x: Floats) -> Floats:
    """Mean of exp(-|s - t|) over 0 < s, t < x."""
    safe = np.maximum(x, _small)
    exact = 2 * (safe + np.expm1(-safe)) / safe**2
    return np.where(x < _small, 1 - x / 3 + x**2 / 12 - x**3 / 60, exact)


def _mean_growth_of_difference(x: Floats) -> Floats:
    """Mean of exp(|s - t| - x) over 0 < s, t < x."""
    safe = np.maximum(x, _small)
    exact = 2 * (1 - (1 + safe) * np.exp(-safe)) / safe**2
    return np.where(x < _small, (1 + x / 3 + x**2 / 12 + x**3 / 60) * np.exp(-x), exact)
