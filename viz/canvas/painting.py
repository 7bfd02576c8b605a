"""Areas, lines, text and images in pixels, all with smooth edges, as matplotlib paints them."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from ...solver.model import Floats, Integers
from .lettering import renderer

Colour = tuple[float, float, float]


class Painting:
    """A picture that begins white; later items lie on earlier ones. y is up. [pixel]

    Parameters
    ----------
    size : (int, int)
        Width and height. [pixel]
    """

    def __init__(self, size: tuple[int, int]) -> None:
        from matplotlib.transforms import IdentityTransform  # takes time to load

        self._agg = renderer(*size)
        self._unmoved = IdentityTransform()
        np.asarray(self._agg.buffer_rgba())[:] = 255

    def fill(self, outlines: Sequence[Floats], *, colour: Colour) -> None:
        """Fill closed outlines, each of shape (n, 2); those that run clockwise are holes."""
        style = self._agg.new_gc()
        style.set_linewidth(0.0)
        # In whole steps, which are not to be rounded another way than those of a page.
        shade = tuple(np.round(255 * np.asarray(colour)) / 255)
        self._agg.draw_path(style, _closed(outlines), self._unmoved, shade)

    def stroke(
        self,
        lines: Sequence[Floats] | Floats,
        *,
        colour: Colour,
        width: float,
        butt: bool = False,
        within: Sequence[Floats] | None = None,
    ) -> None:
        """Draw polylines, each of shape (n, 2), or as many of shape (lines, n, 2).

        Parameters
        ----------
        butt : bool
            Whether lines end where they end, not half their width farther.
        within : sequence of ndarray of float, shape (n, 2), optional
            Closed outlines, as for `fill`; outside them nothing is drawn.
        """
        if not len(lines):
            return
        style = self._agg.new_gc()
        style.set_foreground(colour)
        style.set_linewidth(width)
        style.set_joinstyle("miter" if butt else "round")
        style.set_capstyle("butt" if butt else "projecting")
        if within is not None:
            from matplotlib.transforms import TransformedPath

            style.set_clip_path(TransformedPath(_closed(within), self._unmoved))
        self._agg.draw_path(style, _path(lines), self._unmoved)

    def image(self, pixels: Integers, *, left: int, bottom: int) -> None:
        """Show an image, shape (height, width, 3), one pixel to a pixel."""
        top = int(self._agg.height) - bottom
        rows = slice(top - pixels.shape[0], top)
        np.asarray(self._agg.buffer_rgba())[rows, left : left + pixels.shape[1], :3] = pixels

    def darken(self, share: Floats, *, left: int, bottom: int) -> None:
        """Leave a share, 0 to 1, of the light of each pixel, shape (height, width)."""
        top = int(self._agg.height) - bottom
        rows = slice(top - share.shape[0], top)
        part = self.pixels()[rows, left : left + share.shape[1]]
        part[:] = np.round(part * share[: part.shape[0], : part.shape[1], None])

    def cover(self, share: Integers, *, left: int, top: int, colour: Colour) -> None:
        """Lay a colour over 255ths of each pixel, shape (height, width), from a corner."""
        high, wide = self.pixels().shape[:2]
        rows, columns = (
            slice(max(at, 0), max(min(at + size, whole), 0))
            for at, size, whole in ((top, share.shape[0], high), (left, share.shape[1], wide))
        )
        part = self.pixels()[rows, columns]
        share = share[rows.start - top :, columns.start - left :]
        share = share[: part.shape[0], : part.shape[1], None]
        part[:] = np.round(part + share / 255.0 * (255.0 * np.asarray(colour) - part))

    def pixels(self) -> Integers:
        """What was painted, shape (height, width, 3), 0 to 255."""
        return np.asarray(self._agg.buffer_rgba())[:, :, :3]


def _closed(outlines: Sequence[Floats]) -> Any:
    """Closed outlines as one path."""
    return _path([np.concatenate([each, each[:1]]) for each in outlines], closed=True)


def _path(lines: Sequence[Floats] | Floats, *, closed: bool = False) -> Any:
    """Polylines as one path."""
    from matplotlib.path import Path  # takes time to load

    if isinstance(lines, np.ndarray):  # all of as many points
        points, ends = lines.reshape(-1, 2), lines.shape[1] * np.arange(1, len(lines) + 1)
    else:
        points, ends = np.concatenate(lines), np.cumsum([len(line) for line in lines])
    codes = np.full(len(points), Path.LINETO, dtype=Path.code_type)
    codes[np.append(0, ends[:-1])] = Path.MOVETO
    if closed:
        codes[ends - 1] = Path.CLOSEPOLY
    return Path(points, codes)
