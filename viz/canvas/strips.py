"""Figures as wide as a page: strips one above the other, headed where they stand alone."""

from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from textwrap import wrap
from typing import Any

from .figures import page_width

_soft = "0.35"
_dots = 2000 / page_width
_edge = 0.35  # of white left and right of a heading [inch]
_title, _name, _note, _fine = 17, 22, 15, 13  # sizes of type [point]
_line, _fine_line = 0.3, 0.25  # of notes and cautions [inch]
_heading, _above_cautions = 1.2, 0.2  # [inch]


@dataclass(frozen=True)
class Strip:
    """Part of a figure, as wide as the figure.

    Attributes
    ----------
    height : float
        [inch]
    draw : callable
        Draws into a matplotlib (sub)figure of that height.
    """

    height: float
    draw: Callable[[Any], None]


@dataclass(frozen=True)
class Heading:
    """What stands over a figure that stands alone, and below it; a page says that itself.

    Attributes
    ----------
    title, name, note : str
        Of the case; of the figure; what it shows, two lines at most.
    cautions : str
    """

    title: str
    name: str
    note: str
    cautions: str


def figure_of(strips: Sequence[Strip], *, heading: Heading | None = None) -> Any:
    """Matplotlib figure of some strips, the first on top.

    Parameters
    ----------
    heading : Heading, optional
        Left out where a page gives heading, words and cautions.
    """
    from matplotlib.figure import Figure  # no pyplot: nothing global, no window

    if heading is not None:
        strips = [_over(heading), *strips, _below(heading)]
    heights = [strip.height for strip in strips]
    figure = Figure(figsize=(page_width, sum(heights)), dpi=_dots, facecolor="white")
    parts = figure.subfigures(len(strips), 1, squeeze=False, height_ratios=heights, hspace=0)
    for strip, part in zip(strips, parts[:, 0], strict=True):
        strip.draw(part)
    return figure


def axes_in(part: Any, *, above: float, tall: float, left: float, right: float = 0.3) -> Any:
    """Axes of some height below the top of a strip, with room at both sides. [inch]"""
    width, height = part.bbox.width / part.dpi, part.bbox.height / part.dpi
    return part.add_axes(
        (
            left / width,
            (height - above - tall) / height,
            1 - (left + right) / width,
            tall / height,
        )
    )


def text_width(text: str, *, size: float, weight: str = "normal") -> float:
    """Width of a text in the type of the figures. [inch]"""
    from matplotlib.font_manager import FontProperties  # loads matplotlib
    from matplotlib.textpath import text_to_path

    font = FontProperties(family="DejaVu Sans", size=size, weight=weight)
    width: float = text_to_path.get_text_width_height_descent(text, font, False)[0]
    return width / 72


def fitted(text: str, *, size: float, room: float, weight: str = "normal") -> str:
    """Text on one line, cut where it is wider than some room. [inch]"""
    text = " ".join(text.split())
    if text_width(text, size=size, weight=weight) <= room:
        return text

    def too_wide(count: int) -> bool:
        return text_width(f"{text[:count]} …", size=size, weight=weight) > room

    # The first count that is too wide; nothing with a letter narrower than a point fits more.
    first = bisect_left(range(int(min(len(text), 72 * room))), True, key=too_wide)
    return f"{text[: first - 1].rstrip()} …"


def _over(heading: Heading) -> Strip:
    room = page_width - 2 * _edge
    notes = [
        fitted(line, size=_note, room=room)
        for line in wrap(heading.note, 96, max_lines=2, placeholder=" …")
    ]
    height = _heading + _line * len(notes)

    def draw(part: Any) -> None:
        left = _edge / page_width
        lines = (
            (0.45, _title, {"color": _soft}, heading.title),
            (0.92, _name, {"weight": "bold"}, heading.name),
            *((1.27 + _line * k, _note, {}, note) for k, note in enumerate(notes)),
        )
        for below, size, look, text in lines:
            cut = fitted(text, size=size, room=room, weight=look.get("weight", "normal"))
            part.text(left, 1 - below / height, cut, fontsize=size, **look)

    return Strip(height, draw)


def _below(heading: Heading) -> Strip:
    lines = wrap(heading.cautions, 112)
    height = _above_cautions + _fine_line * (len(lines) + 0.4)

    def draw(part: Any) -> None:
        part.text(
            _edge / page_width, 0.4 * _fine_line / height, "\n".join(lines), fontsize=_fine,
            color=_soft, linespacing=1.3, va="bottom",
        )  # fmt: skip

    return Strip(height, draw)
