"""Picture of uncertainty: how an answer is spread, and what each input moves."""

from pathlib import Path
from typing import Any

import numpy as np

from ...solver.uncertainty.found import Answer, Uncertainty
from ..canvas.figures import figure_style, save_figure
from ..canvas.strips import Heading, Strip, axes_in, figure_of
from ..wording import share_text
from .words import answer_name, chance_text, main_answers, value_text

_bars, _left, _row, _tall = 40, 3.6, 0.5, 2.2  # bars of a histogram; room and heights [inch]
_below = (
    "Draws by thin conductors. No statement of safety: local codes and licensed practice "
    "decide."
)


def draw_uncertainty(found: Uncertainty, *, path: Path) -> Path:
    """Draw spread and swings of the main answers, .png or .svg."""
    import matplotlib as mpl  # takes a tenth of a second

    note = (
        "Above: draws by value, with 5, 50 and 95 %. Below: what one input moves from its 5 % "
        "(open end) to its 95 % (filled end), all others at their median."
    )
    heading = Heading(found.title, "What is not known, and what it does", note, _below)
    strips = [_strip(found, answer) for answer in main_answers(found)]
    with mpl.rc_context(figure_style):
        save_figure(figure_of(strips, heading=heading), path, ending=path.suffix[1:])
    return path


def _strip(found: Uncertainty, answer: Answer) -> Strip:
    above, gap, below = 0.75, 0.15, 0.95
    swings = _row * len(found.inputs) + 0.3

    def draw(part: Any) -> None:
        upper = axes_in(part, above=above, tall=_tall, left=_left)
        lower = axes_in(part, above=above + _tall + gap, tall=swings, left=_left)
        _histogram(upper, answer)
        _tornado(lower, found, answer)
        low = min(float(np.quantile(answer.values, 0.002)), float(answer.swings.min()))
        high = max(float(np.quantile(answer.values, 0.998)), float(answer.swings.max()))
        room = 0.05 * (high - low)
        for axes in (upper, lower):
            axes.set_xlim(low - room, high + room)
        upper.set_xticklabels([])
        unit = {"resistance": " [Ω]", "rise": " [V]"}.get(answer.what, " [%]")
        name = answer_name(answer)
        lower.set_xlabel(name[0].upper() + name[1:] + unit)
        if unit == " [%]":
            lower.xaxis.set_major_formatter(lambda value, _: f"{100 * value:g}")

    return Strip(above + _tall + gap + swings + below, draw)


def _histogram(axes: Any, answer: Answer) -> None:
    low, high = np.quantile(answer.values, (0.002, 0.998))
    axes.hist(
        answer.values, bins=np.linspace(low, high, _bars + 1), color="0.8", edgecolor="0.4"
    )
    spread = answer.spread
    for value, style in ((spread.low, ":"), (spread.median, "-"), (spread.high, ":")):
        axes.axvline(value, color="black", linewidth=2.2, linestyle=style)
    axes.set_ylabel("Draws")
    shown = " · ".join(
        f"{name} {value_text(answer, value)}"
        for name, value in (("5 %", spread.low), ("50 %", spread.median), ("95 %", spread.high))
    )
    if answer.passes is not None:
        shown += f"\nwithin the limit: {chance_text(answer.passes)}"
        if answer.values.min() < 1.0 < answer.values.max():
            axes.axvline(1.0, color="black", linewidth=3.0, linestyle=(0, (6, 2)))
            axes.text(1.0, 0.98, f" limit, {share_text(1.0)}", va="top", fontsize=13,
                      transform=axes.get_xaxis_transform())  # fmt: skip
    axes.set_title(shown, loc="left", fontsize=14)


def _tornado(axes: Any, found: Uncertainty, answer: Answer) -> None:
    width = np.abs(answer.swings[:, 1] - answer.swings[:, 0])
    order = np.argsort(width, kind="stable")
    for row, k in enumerate(order):
        first, last = answer.swings[k]
        axes.plot([first, last], [row, row], color="0.45", linewidth=9, solid_capstyle="butt")
        axes.plot([first], [row], marker="o", color="black", markersize=10,
                  markerfacecolor="white", markeredgewidth=2)  # fmt: skip
        axes.plot([last], [row], marker="o", color="black", markersize=10)
    axes.axvline(answer.middle, color="black", linewidth=1.5)
    axes.set_yticks(range(len(order)), [_short(found.inputs[k]) for k in order], fontsize=13)
    axes.set_ylim(-0.7, len(order) - 0.3)


def _short(name: str) -> str:
    """A name in at most two lines beside the plot."""
    from textwrap import shorten, wrap

    return "\n".join(wrap(shorten(name, 56, placeholder=" …"), 29))
