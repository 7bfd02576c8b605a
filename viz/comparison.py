"""Variants side by side: one figure, one table."""

from pathlib import Path
from textwrap import shorten
from typing import Any

import numpy as np

from ..solver.comparison import Comparison, Quantity
from .csv_tables import write_table
from .figures import figure_style
from .wording import cautions_for, scaled_unit, significant

_grey = "0.45"
_row, _above, _below = 0.66, 1.35, 1.45  # inches: of a variant, above and below them all


def quantity_text(quantity: Quantity, row: int) -> str:
    """Value of one variant with three figures, its unit, and what it belongs to."""
    value = float(quantity.values[row])
    if np.isnan(value):
        return "–"
    prefixes = quantity.unit not in ("Ω", "%")  # earth testers read plain ohms
    unit = scaled_unit(value, symbol=quantity.unit) if prefixes else None
    number = significant(value * unit.factor) if unit else significant(value)
    symbol = unit.symbol if unit else quantity.unit
    place = f" on {quantity.places[row]}" if quantity.places[row] else ""
    return f"{number} {symbol}{place}"


def draw_comparison(comparison: Comparison, *, title: str, path: Path) -> Path:
    """Draw all variants against each quantity; the worst is marked by shape and in words.

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
    from matplotlib.figure import Figure  # no pyplot: nothing global, no window

    count = len(comparison.names)
    height = _above + _row * count + _below
    with mpl.rc_context(figure_style):
        figure = Figure(figsize=(20.0, height), dpi=100, facecolor="white")
        figure.text(0.02, 1 - 0.42 / height, title, fontsize=20, color=_grey)
        figure.text(
            0.02, 1 - 0.92 / height, "Variants side by side", fontsize=24, weight="bold"
        )
        figure.text(0.02, 0.3 / height, cautions_for()[0], fontsize=13, color=_grey)
        room = 0.985 - 0.2
        width = room / len(comparison.quantities)
        for column, quantity in enumerate(comparison.quantities):
            where = (0.2 + column * width, _below / height, 0.92 * width, _row * count / height)
            axes = figure.add_axes(where)
            _draw_quantity(axes, quantity)
            axes.set_yticks(range(count))
            names = [shorten(name, 30, placeholder=" …") for name in comparison.names]
            axes.set_yticklabels(names if column == 0 else [])
        metadata = {"Date": None} if path.suffix == ".svg" else {"Software": None}
        figure.savefig(path, metadata=metadata)
    return path


def _draw_quantity(axes: Any, quantity: Quantity) -> None:
    """Bars from zero, the values written beside them, the worst filled and named."""
    largest = float(np.nanmax(quantity.values))
    unit = scaled_unit(largest, symbol=quantity.unit)
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
        text = quantity_text(quantity, row) + (" · worst" if worst else "")
        text = shorten(text, 40, placeholder=" …")
        weight = "bold" if worst else "normal"
        axes.text(
            0.012 * 1.08 * largest * unit.factor,
            row - 0.2,
            text,
            fontsize=13,
            weight=weight,
            va="bottom",
        )
    axes.set_xlim(0, 1.08 * largest * unit.factor)
    axes.set_ylim(len(quantity.values) - 0.5, -0.75)
    axes.set_xlabel(f"{quantity.name} [{unit.symbol}]")
    axes.xaxis.set_major_locator(_few_ticks())
    axes.tick_params(axis="y", length=0)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


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
