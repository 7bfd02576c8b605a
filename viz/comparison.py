"""Variants side by side: one figure, one table."""

from pathlib import Path
from textwrap import shorten
from typing import Any

import numpy as np

from ..solver.comparison import Comparison, Quantity
from .csv_tables import write_table
from .figures import figure_style, save_figure
from .wording import Unit, cautions_for, scaled_unit, significant, with_unit

_grey = "0.45"
_dots = 125
_row, _above, _below = 0.75, 1.35, 1.4  # inches; a row is a variant
_names, _type = 3.2, 14  # room for names of variants [inch]; size of type [point]


def value_text(quantity: Quantity, row: int) -> str:
    """Value of one variant with three figures and its unit."""
    value = float(quantity.values[row])
    if np.isnan(value):
        return "–"
    if quantity.unit in ("Ω", "%"):  # earth testers read plain ohms
        return f"{significant(value)} {quantity.unit}"
    return with_unit(value, symbol=quantity.unit)


def quantity_text(quantity: Quantity, row: int) -> str:
    """Value of one variant and what it belongs to."""
    place = quantity.places[row]
    return value_text(quantity, row) + (f" ({place})" if place else "")


def draw_comparison(comparison: Comparison, *, title: str, path: Path) -> Path:
    """Draw all variants against each quantity; the worst is marked by shape and weight.

    Parameters
    ----------
    comparison : Comparison
        What to show.
    title : str
        Title of the case.
    path : Path
        File to write; its ending, .png or .svg, says which kind.

    Returns
    -------
    path : Path
    """
    import matplotlib as mpl

    with mpl.rc_context(figure_style):
        save_figure(comparison_figure(comparison, title=title), path, ending=path.suffix[1:])
    return path


def comparison_figure(
    comparison: Comparison, *, title: str = "", width: float = 16.0, columns: int = 3
) -> Any:
    """Figure of a comparison: some quantities beside one another, the rest below.

    Parameters
    ----------
    comparison : Comparison
        What to show.
    title : str
        Title of the case; without one there is no heading and no caution, which a page has.
    width : float
        [inch]
    columns : int
        How many quantities stand beside one another.
    """
    from matplotlib.figure import Figure  # no pyplot: nothing global, no window

    count, quantities = len(comparison.names), comparison.quantities
    columns = min(columns, len(quantities))
    lines = -(-len(quantities) // columns)
    tall, above = _row * count, _above if title else 0.1
    below = _below if title else 0.9
    height = above + lines * (tall + below)
    figure = Figure(figsize=(width, height), dpi=_dots, facecolor="white")
    if title:
        shown = shorten(" ".join(title.split()), 85, placeholder=" …")
        figure.text(0.02, 1 - 0.42 / height, shown, fontsize=20, color=_grey)
        heading = "Variants side by side; ◆ the worst"
        figure.text(0.02, 1 - 0.95 / height, heading, fontsize=24, weight="bold")
        figure.text(0.02, 0.25 / height, cautions_for()[0], fontsize=14, color=_grey)
    room = (0.985 - _names / width) / columns
    names = [shorten(name, 26, placeholder=" …") for name in comparison.names]
    for number, quantity in enumerate(quantities):
        line, column = divmod(number, columns)
        bottom = height - above - tall - line * (tall + below)
        where = (_names / width + column * room, bottom / height, 0.86 * room, tall / height)
        axes = figure.add_axes(where)
        _draw_quantity(axes, quantity, width=0.86 * room * width * 72)
        axes.set_yticks(range(count))
        axes.set_yticklabels(names if column == 0 else [])
    return figure


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
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(size=_type, weight="bold" if row == quantity.worst else "normal")
    place = quantity.places[row]
    text = quantity_text(quantity, row)
    while place and text_to_path.get_text_width_height_descent(text, font, False)[0] > width:
        place = place[:-1].rstrip()
        text = f"{value_text(quantity, row)} ({place}…)"
    return text


def _few_ticks() -> Any:
    from matplotlib.ticker import MaxNLocator

    return MaxNLocator(nbins=4)


def write_comparison(comparison: Comparison, *, title: str, path: Path) -> Path:
    """Write the variants as a CSV file in SI units, the worst of each quantity named on top.

    Parameters
    ----------
    comparison : Comparison
        What to write.
    title : str
        Title of the case.
    path : Path
        File to write.

    Returns
    -------
    path : Path
    """
    worst = [f"{q.name}: {comparison.names[q.worst]}" for q in comparison.quantities]
    symbol = {"Ω": "ohm"}
    headings = (f"{q.name} [{symbol.get(q.unit, q.unit)}]" for q in comparison.quantities)
    rows = (
        (name, *(float(q.values[row]) for q in comparison.quantities))
        for row, name in enumerate(comparison.names)
    )
    notes = (" ".join(title.split()), "worst " + "; ".join(worst), *cautions_for())
    return write_table(path, notes=notes, header=("variant", *headings), rows=rows)
