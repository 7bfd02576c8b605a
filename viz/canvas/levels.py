"""Contour levels at round values, and the colours of the bands between them."""

from dataclasses import dataclass

import numpy as np

from ...solver.model import Floats

share_levels = np.array([20.0, 40, 60, 80, 100, 125, 150, 200, 300, 500])
"""Levels of every map of voltage over limit: a band keeps its colour from map to map. [%]"""
_bands = 12
_crowded = 0.5
# Series of round numbers within a decade, from coarse to fine.
_series = ((1.0,), (1.0, 3.0), (1.0, 2.0, 5.0), (1.0, 1.5, 2.0, 3.0, 5.0, 7.0))
_most = 12


@dataclass(frozen=True)
class Levels:
    """Levels that cut a range of values into bands.

    Attributes
    ----------
    low, high : float
        Smallest and largest value.
    inner : ndarray of float, shape (n,)
        Round values between them; they bound n + 1 bands.
    """

    low: float
    high: float
    inner: Floats

    @property
    def bands(self) -> int:
        """Number of bands."""
        return len(self.inner) + 1


def contour_levels(values: Floats, *, weights: Floats) -> Levels:
    """Round levels: even steps, or a 1-2-5 series where even steps would show one colour.

    Parameters
    ----------
    values : ndarray of float, shape (n,)
        Finite values.
    weights : ndarray of float, shape (n,)
        Area or length each value stands for.
    """
    low, high = float(values.min()), float(values.max())
    if not high - low > 1e-9 * max(abs(low), abs(high)):
        return Levels(low, high, np.zeros(0))
    even = _even(low, high)
    if _fullest(even, values=values, weights=weights) < _crowded:
        return Levels(low, high, even)
    size = np.abs(values)
    order = np.argsort(size)
    at = np.cumsum(weights[order]) / weights.sum()
    start = max(float(size[order][np.searchsorted(at, 0.03)]), float(size.max()) / 1000)
    split = float(size[order][np.searchsorted(at, 0.9)])
    choices = [even]
    for series in _decades(start, float(size.max()), split=split):
        if low < 0:  # the same levels on both sides of zero
            series = np.concatenate([-series[::-1], [0.0], series])
        series = series[(series > low) & (series < high)]
        if 0 < len(series) <= _most:
            choices.append(series)

    def merit(inner: Floats) -> tuple[float, int]:
        """Least in the fullest band, to a twentieth; then most levels."""
        fullest = _fullest(inner, values=values, weights=weights)
        return -round(20 * fullest) / 20, len(inner)

    return Levels(low, high, max(choices, key=merit))


def _fullest(inner: Floats, *, values: Floats, weights: Floats) -> float:
    """Share of the map that lies in its fullest band."""
    band = np.digitize(values, inner)
    return float(np.bincount(band, weights=weights).max() / weights.sum())


def round_step(span: float, *, parts: int) -> float:
    """Round step that cuts a span into at most about so many parts."""
    rough = span / parts
    decade = 10.0 ** np.floor(np.log10(rough))
    return float(next(m * decade for m in (1, 2, 2.5, 5, 10) if m * decade >= rough * 0.999))


def round_values(low: float, high: float, *, step: float) -> Floats:
    """Multiples of a step from `low` to `high`."""
    first, last = np.ceil(low / step - 1e-6), np.floor(high / step + 1e-6)
    return np.round(np.arange(first, last + 1) * step, 12)


def _even(low: float, high: float) -> Floats:
    values = round_values(low, high, step=round_step(high - low, parts=_bands))
    margin = 1e-6 * (high - low)
    return values[(values > low + margin) & (values < high - margin)]


def _decades(low: float, high: float, *, split: float) -> list[Floats]:
    """Series of round levels, each as fine or finer below `split`, where most values are."""
    powers = 10.0 ** np.arange(np.floor(np.log10(low)), np.ceil(np.log10(high)) + 1)
    found = []
    for fine, lower in enumerate(_series):
        for upper in _series[: fine + 1]:
            below, above = (np.outer(powers, marks).ravel() for marks in (lower, upper))
            levels = np.concatenate([below[below <= split], above[above > split]])
            levels = levels[(levels > low) & (levels < 0.98 * high)]
            found.append(np.array([float(f"{value:.6g}") for value in levels]))
    return found


def band_colours(count: int, *, scale: str = "cividis") -> Floats:
    """Colours of bands from low to high, shape (count, 3), 0 to 1.

    cividis (Nuñez, Anderton and Renslow 2018; from memory) is even in perception, looks
    nearly the same with red-green blindness, and its lightness rises all the way, so that
    a grey print still ranks the bands. It is mixed with white to carry black lines and text.
    """
    import matplotlib as mpl  # takes a tenth of a second

    whitening = {"cividis": 0.3, "magma": 0.0}[scale]
    # The ends of magma are all but black, and as light as soil.
    first, last = (0, 255) if scale == "cividis" else (35, 200)
    rows = np.round(np.linspace(first, last, count) if count > 1 else [128]).astype(int)
    table = mpl.colormaps[scale].resampled(256)
    colours: Floats = (1 - whitening) * table(rows)[:, :3] + whitening
    return colours


def colour_names(colours: Floats) -> list[str]:
    """Colours of a page, as #rrggbb, of colours from 0 to 1, shape (n, 3)."""
    return [
        "#" + "".join(f"{part:02x}" for part in row)
        for row in np.round(255 * np.asarray(colours)).astype(int).tolist()
    ]
