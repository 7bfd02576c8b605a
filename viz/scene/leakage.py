"""How leakage along the metal is shown, the same on paper and page: levels, colours, widths."""

from dataclasses import dataclass

import numpy as np

from ...solver.model import Floats
from ...solver.results.result import Result
from ..canvas.levels import Levels, band_colours, contour_levels
from ..plates import shown_lines
from ..wording import length_unit

leakage_name = "Leakage current per length"


@dataclass(frozen=True)
class LeakageBands:
    """Bands of leakage from low to high.

    Attributes
    ----------
    levels : Levels
        [A/m, or A/ft in US units]
    colours : ndarray of float, shape (bands, 3)
        0 to 1; the more leaves the metal, the darker.
    widths : ndarray of float, shape (bands,)
        Of the line, from 0 to 1: the more enters or leaves the metal, the wider.
    """

    levels: Levels
    colours: Floats
    widths: Floats


def shown_leakage(result: Result) -> Floats:
    """Current per length of each of `shown_lines`, in phase. [A/m, or A/ft in US units]"""
    return shown_lines(result).leakage / length_unit(result.units).factor


def leakage_bands(result: Result) -> LeakageBands:
    """Bands of the leakage of all metal of a result."""
    levels = contour_levels(shown_leakage(result), weights=shown_lines(result).length)
    zero = int(np.searchsorted(levels.inner, 0.0, side="right"))
    far = np.abs(np.arange(levels.bands) - zero * (levels.low < 0)).astype(float)
    widths = far / far.max() if levels.bands > 1 else np.array([0.5])
    return LeakageBands(levels, band_colours(levels.bands, scale="magma")[::-1], widths)
