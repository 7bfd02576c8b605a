"""A picture of the ground, laid on the plan of a case."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from .arrays import Floats


@dataclass(frozen=True)
class GroundPicture:
    """A picture of the ground under a map, its sides along the axes of the case.

    Attributes
    ----------
    file, sha256 : str
        Name as the case gives it, and hash of its bytes.
    grey : ndarray of int, shape (rows, columns)
        0 black to 255 white, the row with the largest y first; white where it shows nothing.
    low, high : tuple of float, length 2
        Its lower left and upper right corner. [m]
    words : str
        What it is and how fine.
    """

    file: str
    sha256: str
    grey: npt.NDArray[Any]
    low: tuple[float, float]
    high: tuple[float, float]
    words: str

    def at(self, x: Floats, y: Floats) -> Floats:
        """Grey of each place of a raster, linear between pixels, white outside.

        Parameters
        ----------
        x, y : ndarray of float, shape (n,), shape (m,)
            [m]

        Returns
        -------
        grey : ndarray of float, shape (m, n)
            0 to 255.
        """
        size = np.array(self.grey.shape[::-1])
        step = np.subtract(self.high, self.low) / size
        column = (np.asarray(x, dtype=float) - self.low[0]) / step[0] - 0.5
        row = (self.high[1] - np.asarray(y, dtype=float)) / step[1] - 0.5
        across, down = (
            _between(at, count) for at, count in zip((column, row), size, strict=True)
        )
        values = self.grey.astype(float)
        values = (1 - down[1])[:, None] * values[down[0]] + down[1][:, None] * values[down[2]]
        found = values[:, across[0]] * (1 - across[1]) + values[:, across[2]] * across[1]
        outside = [
            (at < -0.5) | (at > count - 0.5)
            for at, count in zip((column, row), size, strict=True)
        ]
        found[outside[1]] = 255.0
        found[:, outside[0]] = 255.0
        return np.asarray(found)


def _between(at: Floats, count: int) -> tuple[Any, Floats, Any]:
    """Pixel before each place along a side, share of the way to the next, and the next."""
    first = np.clip(np.floor(at), 0, count - 1).astype(int)
    return first, np.clip(at - first, 0.0, 1.0), np.minimum(first + 1, count - 1)
