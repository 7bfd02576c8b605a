"""Lines of text on a sheet: their font, how wide they are, and where they begin."""

import math
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from ...solver.model import Integers

# Of the height of the type: the middle of figures and capitals over the line they stand on.
_middle = 0.365


@cache
def font_file(*, bold: bool = False) -> Path:
    """File of the font of sheets and paper, which a user's matplotlib does not change."""
    import matplotlib as mpl  # takes time to load

    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return Path(mpl.get_data_path()) / "fonts" / "ttf" / name


@cache
def font(*, size: int, bold: bool) -> Any:
    """The font in a size. [pixel]"""
    from matplotlib.font_manager import FontProperties  # takes time to load

    return FontProperties(fname=font_file(bold=bold), size=size)


def text_width(text: str, *, size: int, bold: bool) -> float:
    """Width of a line of text, word by word: to measure one takes long. [pixel]"""
    style: dict[str, Any] = {"size": size, "bold": bold}
    first, *others = (_word_width(word, **style) for word in text.split(" "))
    blank = _word_width("n n", **style) - 2 * _word_width("n", **style)
    return first + sum(blank + width for width in others)


@lru_cache(10_000)
def _word_width(text: str, *, size: int, bold: bool) -> float:
    style = font(size=size, bold=bold)
    with _letters_it_has_not():
        width, _, _ = _ruler().get_text_width_height_descent(text, style, ismath=False)
    return float(width)


@contextmanager
def _letters_it_has_not() -> Iterator[None]:
    """Letters that the font has not are boxes, and nobody is warned of that."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph")
        yield


@lru_cache(1_000)
def letters(text: str, *, size: int, bold: bool, upright: bool) -> tuple[Integers, int, int]:
    """How much a line of text covers of each pixel, and where its middle is among them.

    Returns
    -------
    cover : ndarray of int, shape (height, width)
        From the top down, 0 to 255.
    right, down : int
        Its middle, from the upper left corner. [pixel]
    """
    half = math.ceil(text_width(text, size=size, bold=bold) / 2)
    right, down = half + size, 2 * size
    across, along = (down, right) if upright else (right, down)
    painter = renderer(2 * across, 2 * along)
    start, low = -half, round(_middle * size)
    x, y = (across + low, along - start) if upright else (across + start, along + low)
    which, turn = font(size=size, bold=bold), 90.0 if upright else 0.0
    with _letters_it_has_not():  # a dollar sign in the user's names must not start a formula
        painter.draw_text(painter.new_gc(), x, y, text, which, turn, ismath=False)
    cover = np.asarray(painter.buffer_rgba())[:, :, 3]
    rows, columns = (np.flatnonzero(cover.any(axis=k)) for k in (1, 0))
    if not len(rows):
        return cover[:0, :0], 0, 0
    top, left = int(rows[0]), int(columns[0])
    cover = cover[top : rows[-1] + 1, left : columns[-1] + 1].copy()
    return cover, across - left, along - top


@cache
def _ruler() -> Any:
    return renderer(1, 1)


def renderer(width: int, height: int) -> Any:
    """What paints so many pixels, to which a point is a pixel; y is up, of text down."""
    from matplotlib.backends.backend_agg import RendererAgg  # takes time to load

    return RendererAgg(width, height, 72)  # type: ignore[no-untyped-call]
