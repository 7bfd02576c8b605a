"""Variants side by side: one figure, one table."""

from collections.abc import Sequence
from pathlib import Path
from textwrap import shorten
from typing import Any

import numpy as np

from ..solver.results.result import Result
from ..solver.results.variants import Comparison, Quantity, comparison
from .canvas.figures import Target, figure_style, page_width, save_figure
from .canvas.strips import Heading, Strip, axes_in, figure_of, text_width
from .cautions import FOR_ENGINEERS, caution_texts
from .tables.csv_files import write_table
from .verdict_words import carried_split_texts
from .wording import Unit, scaled_unit, share_text, significant, with_unit

_row, _least, _below = 0.75, 0.48, 0.9  # of a variant, and of an axis with its name [inch]
_page = 16.5  # high at most, while rows can be told apart [inch]
_names, _right, _type = 3.2, 0.5, 14  # room for names, between plots [inch]; type [point]


def value_text(quantity: Quantity, row: int) -> str:
    """Value of one variant with three figures and its unit."""
    value = float(quantity.values[row])
    if np.isnan(value):
        return "–"
    if quantity.unit == "%":
        return share_text(value / 100)
    if quantity.unit == "Ω":  # earth testers read plain ohms
        return f"{significant(value)} Ω"
    return with_unit(value, symbol=quantity.unit)


def quantity_text(quantity: Quantity, row: int) -> str:
    """Value of one variant and what it belongs to."""
    place = quantity.places[row]
    return value_text(quantity, row) + (f" ({place})" if place else "")


def draw_comparison(comparison: Comparison, *, title: str, path: Target) -> Target:
    """Draw all variants against each quantity; the worst is marked by shape and weight.

    Parameters
    ----------
    path : Path
        File to write; its ending, .png or .svg, says which kind.
    """
    import matplotlib as mpl  # loads matplotlib

    with mpl.rc_context(figure_style):
        save_figure(comparison_figure(comparison, title=title), path, ending=path.suffix[1:])
    return path


def comparison_figure(comparison: Comparison, *, title: str = "") -> Any:
    """Figure of a comparison: two quantities beside one another, the rest below.

    Parameters
    ----------
    title : str
        Title of the case; without one there is no heading and no caution, which a page has.
    """
    quantities = comparison.quantities
    count, lines = len(comparison.names), -(-len(quantities) // 2)
    fitting = (_page / lines - 0.1 - _below) / count
    tall = count * min(_row, max(_least, fitting))
    room = (page_width - _names - 2 * _right) / 2
    names = [shorten(name, 26, placeholder=" …") for name in comparison.names]

    def strip(pair: Sequence[Quantity]) -> Strip:
        def draw(part: Any) -> None:
            for column, quantity in enumerate(pair):
                left = _names + column * (room + _right)
                axes = axes_in(
                    part, above=0.1, tall=tall, left=left, right=page_width - left - room
                )
                _draw_quantity(axes, quantity, width=room * 72)
                axes.set_yticks(range(len(names)))
                axes.set_yticklabels(names if column == 0 else [])

        return Strip(0.1 + tall + _below, draw)

    strips = [strip(quantities[k : k + 2]) for k in range(0, len(quantities), 2)]
    heading = Heading(title, "Variants side by side; ◆ the worst", "", FOR_ENGINEERS)
    return figure_of(strips, heading=heading if title else None)


def _draw_quantity(axes: Any, quantity: Quantity, *, width: float) -> None:
    """Bars from zero, the values written above them, the worst filled."""
    largest = float(np.nanmax(quantity.values))
    prefixed = quantity.unit not in ("Ω", "%")
    unit = scaled_unit(largest, symbol=quantity.unit) if prefixed else Unit(1.0, quantity.unit)
    for row, value in enumerate(quantity.values):
        if np.isnan(value):
            continue
        worst = row == quantity.worst
        axes.plot([0, value * unit.factor], [row, row], color="0.75", linewidth=2, zorder=1)
        axes.plot(
            value * unit.factor,
            row,
            marker="D" if worst else "o",
            markersize=12 if worst else 10,
            markerfacecolor="black" if worst else "white",
            markeredgecolor="black",
            markeredgewidth=2,
            linestyle="none",
            clip_on=False,  # whole where the value is next to nothing
            zorder=3,
        )
        axes.annotate(
            _bar_text(quantity, row, width=width - 10),
            (0, row - 0.18),
            xytext=(5, 0),
            textcoords="offset points",
            fontsize=_type,
            weight="bold" if worst else "normal",
            va="bottom",
        )
    end = 1.08 * largest * unit.factor
    axes.set_xticks([tick for tick in _few_ticks().tick_values(0, end) if tick <= end])
    axes.set_xlim(0, end)
    axes.set_ylim(len(quantity.values) - 0.5, -0.75)
    axes.set_xlabel(shorten(f"{quantity.name} [{unit.symbol}]", 34, placeholder=" …"))
    axes.tick_params(axis="y", length=0)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def _bar_text(quantity: Quantity, row: int, *, width: float) -> str:
    """Value and what it belongs to, cut to a width in points."""
    weight = "bold" if row == quantity.worst else "normal"
    place = quantity.places[row]
    text = quantity_text(quantity, row)
    while place and 72 * text_width(text, size=_type, weight=weight) > width:
        place = place[:-1].rstrip()
        text = f"{value_text(quantity, row)} ({place}…)"
    return text


def _few_ticks() -> Any:
    from matplotlib.ticker import MaxNLocator  # loads matplotlib

    return MaxNLocator(nbins=4)


def write_comparison(results: Sequence[Result], *, path: Path) -> Path:
    """Write a case and its variants as a CSV file in SI units, the worst named on top."""
    compared = comparison(results)
    worst = [f"{q.name}: {compared.names[q.worst]}" for q in compared.quantities]
    symbol = {"Ω": "ohm"}
    headings = (f"{q.name} [{symbol.get(q.unit, q.unit)}]" for q in compared.quantities)
    exposures = dict.fromkeys(
        item.name for result in results if result.verdict for item in result.verdict.judgements
    )
    permitted = (f"permissible where worst, {name} [V]" for name in exposures)
    rows = (
        (
            name,
            *(float(q.values[row]) for q in compared.quantities),
            *(_permissible(results[row], exposure) for exposure in exposures),
        )
        for row, name in enumerate(compared.names)
    )
    top = (" ".join(results[0].title.split()), "worst " + "; ".join(worst))
    notes = (*top, *carried_split_texts(results), *caution_texts(results))
    return write_table(path, notes=notes, header=("variant", *headings, *permitted), rows=rows)


def _permissible(result: Result, exposure: str) -> float:
    """What is permissible at the worst place of an exposure; not a number where none is. [V]"""
    judged = () if result.verdict is None else result.verdict.judgements
    worst = next((item.worst for item in judged if item.name == exposure), None)
    return float("nan") if worst is None else worst.limit.voltage
