"""A white page in pixels with areas, lines and text, each text in its place."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from ...solver.model import Floats, Integers
from .boxes import Box
from .dashing import dashed, solid
from .figures import Target, print_width
from .lettering import letters, text_width
from .painting import Colour, Painting
from .png import write_png

black: Colour = (0.0, 0.0, 0.0)
grey: Colour = (0.45, 0.45, 0.45)
light: Colour = (0.85, 0.85, 0.85)
white: Colour = (1.0, 1.0, 1.0)
# Of a page of 2000 pixels, printed at `print_width`, this is 6.6, 6.8, 7.5 and 9.5 points.
small_type, plain_type, title_type, heading_type = 29, 30, 33, 42


class Sheet:
    """A page of given size; later items lie on earlier ones, text lies on everything.

    Parameters
    ----------
    size : (int, int)
        Width and height. [pixel]
    """

    def __init__(self, size: tuple[int, int]) -> None:
        self.size = size
        self.texts: list[Box] = []
        """Boxes of all text so far."""
        self._taken: list[Box] = []
        self._painting = Painting(size)
        self._written: list[tuple[Integers, int, int, Colour]] = []

    def areas(self, outlines: Sequence[Floats], *, colour: Colour) -> None:
        """Fill closed outlines, each of shape (n, 2); those that run clockwise are holes."""
        self._painting.fill(outlines, colour=colour)

    def area(self, outline: Floats, *, colour: Colour) -> None:
        """Fill an outline, shape (n, 2)."""
        self.areas([np.asarray(outline, dtype=float)], colour=colour)

    def image(self, pixels: Integers, *, box: Box) -> None:
        """Show an image, shape (height, width, 3), one pixel to a pixel of the page."""
        self._painting.image(pixels, left=round(box.left), bottom=round(box.bottom))

    def darken(self, share: Floats, *, box: Box) -> None:
        """Leave a share of the light of each pixel from the lower left of a box, (m, n)."""
        self._painting.darken(share, left=round(box.left), bottom=round(box.bottom))

    def polylines(
        self,
        lines: Sequence[Floats] | Floats,
        *,
        colour: Colour = black,
        width: float = 2.0,
        within: Sequence[Floats] | None = None,
    ) -> None:
        """Draw lines, each of shape (n, 2), only within closed outlines where there are any."""
        self._painting.stroke(lines, colour=colour, width=width, within=within)

    def lines(
        self,
        segments: Floats,
        *,
        colour: Colour = black,
        width: float = 2.0,
        dash: Sequence[float] = solid,
        casing: float = 0.0,
    ) -> None:
        """Draw segments, shape (n, 2, 2), with a white casing on both sides if wanted."""
        segments = np.asarray(segments, dtype=float).reshape(-1, 2, 2)
        if not len(segments):
            return
        if casing:
            self.polylines(segments, colour=white, width=width + 2 * casing)
        if dash:
            segments = dashed(segments, dash=dash)
        self._painting.stroke(segments, colour=colour, width=width, butt=bool(dash))

    def path(self, points: npt.ArrayLike, **options: Any) -> None:
        """Draw a polyline, shape (n, 2); options as for `lines`."""
        corners = np.asarray(points, dtype=float)
        self.lines(np.stack([corners[:-1], corners[1:]], axis=1), **options)

    def dots(self, centres: Floats, *, radius: float, colour: Colour) -> None:
        """Draw discs, shape (n, 2), each with a white ring."""
        angle = np.linspace(0, 2 * np.pi, 25)[:-1]
        circle = np.column_stack([np.cos(angle), np.sin(angle)])
        for centre in np.asarray(centres, dtype=float).reshape(-1, 2):
            self.area(centre + (radius + 3.0) * circle, colour=white)
            self.area(centre + radius * circle, colour=colour)

    def text_size(self, text: str, *, size: int, bold: bool = False) -> tuple[float, float]:
        """Width and height of a line of text. [pixel]"""
        return text_width(text, size=size, bold=bold), 1.2 * size

    def text_box(
        self, at: tuple[float, float], text: str, *, size: int, bold: bool = False,
        anchor: tuple[float, float] = (0.0, 0.0),
    ) -> Box:  # fmt: skip
        """Box a text would take; the anchor is the share of it left of and below `at`."""
        width, height = self.text_size(text, size=size, bold=bold)
        left, bottom = at[0] - anchor[0] * width, at[1] - anchor[1] * height
        return Box(left, bottom, left + width, bottom + height)

    def text(
        self,
        at: tuple[float, float],
        text: str,
        *,
        size: int = plain_type,
        bold: bool = False,
        anchor: tuple[float, float] = (0.0, 0.0),
        colour: Colour = black,
        backed: bool = False,
        upright: bool = False,
    ) -> Box:
        """Write one line of text.

        Parameters
        ----------
        at : tuple of float, length 2
            Place of the anchor. [pixel]
        size : int
            Height of the type. [pixel]
        anchor : tuple of float, length 2
            Share of the text left of and below `at`; (0.5, 0.5) centres it.
        backed : bool
            Whether white lies behind it.
        upright : bool
            Whether it runs from bottom to top.

        Returns
        -------
        box : Box
            Where it is; no other text is placed there.
        """
        box = self.text_box(at, text, size=size, bold=bold, anchor=anchor)
        if upright:
            wide, high = box.width, box.height
            left, bottom = at[0] - anchor[1] * high, at[1] - anchor[0] * wide
            box = Box(left, bottom, left + high, bottom + wide)
        if backed:
            self.area(box.grown(2).corners()[:4], colour=white)
        middle = ((box.left + box.right) / 2, (box.bottom + box.top) / 2)
        shape, right, down = letters(text, size=size, bold=bold, upright=upright)
        corner = round(middle[0]) - right, round(self.size[1] - middle[1]) - down
        self._written.append((shape, *corner, colour))
        self.texts.append(box)
        return box

    def reserve(self, box: Box) -> None:
        """Keep placed text out of a box."""
        self._taken.append(box)

    def is_free(self, box: Box, *, margin: float = 6.0) -> bool:
        """Whether no text and no reserved box is there."""
        grown = box.grown(margin)
        return not any(grown.overlaps(other) for other in (*self.texts, *self._taken))

    def fit(self, text: str, *, size: int, width: float, bold: bool = False) -> str:
        """Text, cut with an ellipsis where it is wider than allowed."""
        if self.text_size(text, size=size, bold=bold)[0] <= width:
            return text
        while text and self.text_size(text + "…", size=size, bold=bold)[0] > width:
            text = text[:-1]
        return text.rstrip() + "…"

    def wrap(self, text: str, *, size: int, width: float, bold: bool = False) -> list[str]:
        """Lines of a text, broken at blanks so that each fits the width."""
        lines: list[str] = []
        for word in filter(None, text.split(" ")):  # others than plain blanks hold together
            longer = f"{lines[-1]} {word}" if lines else word
            if lines and self.text_size(longer, size=size, bold=bold)[0] <= width:
                lines[-1] = longer
            else:
                lines.append(word)
        return [self.fit(line, size=size, width=width, bold=bold) for line in lines]

    def paragraph(
        self, at: tuple[float, float], text: str, *, size: int, width: float, bold: bool = False
    ) -> float:
        """Write wrapped lines from a top left corner; gives the height left below. [pixel]"""
        x, y = at
        for line in self.wrap(text, size=size, width=width, bold=bold):
            self.text((x, y), line, size=size, bold=bold, anchor=(0.0, 1.0))
            y -= 1.35 * size
        return y

    def save(self, path: Target) -> Target:
        """Write the page as PNG."""
        write_png(self.pixels(), path, dots=self.size[0] / print_width, level=3)
        return path

    def pixels(self) -> Integers:
        """The page drawn, shape (height, width, 3), 0 to 255."""
        while self._written:
            shape, left, top, colour = self._written.pop(0)
            self._painting.cover(shape, left=left, top=top, colour=colour)
        return self._painting.pixels()
