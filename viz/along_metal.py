"""Picture of metal with voltages along it: in plan, and along its parts."""

from textwrap import fill, shorten
from typing import Any

import numpy as np

from ..solver.field.driven import Driven
from ..solver.model import Floats, Integers
from ..solver.results.along_metal import (
    AlongLines,
    AlongTold,
    along_lines,
    driven_of,
    rail_lines,
)
from ..solver.results.result import Result
from .along_words import frequency_words
from .canvas.figures import dashes
from .canvas.levels import band_colours, contour_levels
from .canvas.north import north_in
from .canvas.strips import Heading, Strip, axes_in, figure_of
from .cautions import BELOW_PICTURES
from .raised import draw_raised
from .wording import Unit, length_unit, phasor_text, scaled_unit, short

_left, _above, _axis, _entry, _plot = 1.05, 0.55, 0.85, 0.293, 2.8  # [inch]
_tallest, _widest_line, _key = 7.0, 11.0, 2.4
_most_parts = 5


def along_figure(result: Result, *, told: AlongTold, units: str, headed: bool = False) -> Any:
    """Figure of the voltage and the current along the metal of a result.

    Parameters
    ----------
    told : AlongTold
        What is told of it.
    units : {"SI", "US"}
        Of lengths.
    headed : bool
        Whether title, words and cautions stand on it; a page has its own.
    """
    driven = driven_of(result)
    assert driven is not None  # or nothing would be told
    lines, length = _lines(driven), length_unit(units)
    names = driven.solution.conductors.part_names
    parts = _shown(lines, names)
    strips = [_plan(result, lines, told, length)]
    for title, values, symbol in (
        ("Voltage of the metal to remote earth, in size", _ends(lines), "V"),
        ("Current along the metal, in size", np.abs(np.stack([lines.current] * 2, 1)), "A"),
    ):
        strips.append(
            _along(lines, values, parts, names, title=title, symbol=symbol, unit=length)
        )
    note = (
        f"Plan, then along parts from their start; {frequency_words(told)}. "
        "Reference: remote earth."
    )
    heading = Heading(result.title, "Voltage and current along the metal", note, BELOW_PICTURES)
    return figure_of(strips, heading=heading if headed else None)


def _lines(driven: Driven) -> AlongLines:
    """Metal from node to node; of fences their rails, which go on where posts do not."""
    metal, rails = along_lines(driven), rail_lines(driven)
    return metal.only(~np.isin(metal.part, rails.part)) + rails


def _ends(lines: AlongLines) -> Floats:
    """Size of the voltage at both ends of each length of metal, shape (b, 2). [V]"""
    return np.abs(np.stack([lines.first, lines.last], axis=1))


def _shown(lines: AlongLines, names: tuple[str, ...]) -> list[int]:
    """Parts whose voltage differs most along them."""
    ends = _ends(lines)
    differs = []
    for part in range(len(names)):
        mine = ends[lines.part == part]
        differs.append(float(np.ptp(mine)) if len(mine) else 0.0)
    order = np.argsort(-np.array(differs), kind="stable")
    return [int(part) for part in order[:_most_parts] if differs[part] > 0] or [int(order[0])]


def _plan(result: Result, lines: AlongLines, told: AlongTold, length: Unit) -> Strip:
    """Metal from above: coloured by its voltage, the wider the more current is along it."""
    plan = np.stack([lines.start[:, :2], lines.end[:, :2]], axis=1) * length.factor
    size = np.ptp(plan.reshape(-1, 2), axis=0)
    tall = float(np.clip(8.5 * size[1] / max(size[0], 1e-9), 2.0, _tallest))

    def draw(part: Any) -> None:
        from matplotlib.collections import LineCollection  # loads matplotlib

        axes = axes_in(part, above=_above, tall=tall, left=_left, right=_key)
        mean = _ends(lines).mean(axis=1)
        weights = np.linalg.norm(lines.end - lines.start, axis=1)
        unit = scaled_unit(float(mean.max()), symbol="V")
        levels = contour_levels(mean * unit.factor, weights=weights)
        colours = band_colours(levels.bands, scale="magma")[::-1]
        band = np.digitize(mean * unit.factor, levels.inner)
        current = np.abs(lines.current)
        width = 1.2 + (_widest_line - 1.2) * current / max(float(current.max()), 1e-300)
        axes.add_collection(
            LineCollection(list(plan), colors=colours[band], linewidths=width, capstyle="butt")
        )
        axes.set_aspect("equal", adjustable="datalim")
        axes.autoscale()
        axes.margins(0.08)
        draw_raised(axes, result, length.factor, named=True)
        _marks(axes, told, length)
        axes.set_xlabel(f"x [{length.symbol}]")
        axes.set_ylabel(f"y [{length.symbol}]")
        if result.north is not None:
            north_in(axes, north=result.north)
        edges = [levels.low, *levels.inner.tolist(), levels.high]
        rows = list(zip(edges[:-1], edges[1:], colours, strict=True))[::-1]
        handles = [axes.plot([], [], color=colour, linewidth=8)[0] for _, _, colour in rows]
        words = [
            f"{short(float(f'{a:.4g}'))} to {short(float(f'{b:.4g}'))}" for a, b, _ in rows
        ]
        raised, names = axes.get_legend_handles_labels()
        axes.legend(
            [*handles, *raised], [*words, *(fill(name, 18) for name in names)],
            title=f"Voltage [{unit.symbol}]", loc="upper left",
            bbox_to_anchor=(1.01, 1.0), frameon=False, fontsize=13, title_fontsize=14,
        )  # fmt: skip
        most = phasor_text(complex(current.max()), symbol="A")
        axes.set_title(
            f"Plan; the widest line carries {most}", loc="left", fontsize=16, weight="bold"
        )

    return Strip(_above + tall + _axis, draw)


def _marks(axes: Any, told: AlongTold, length: Unit) -> None:
    """Largest and smallest rise of each electrode, where they are."""
    for row in told.rises[:_most_parts]:
        for value, at, mark, where in (
            (row.highest, row.highest_at, "^", 9), (row.lowest, row.lowest_at, "v", -22),
        ):  # fmt: skip
            x, y = at[0] * length.factor, at[1] * length.factor
            axes.plot(
                [x], [y], marker=mark, color="black", markersize=10, markerfacecolor="white"
            )
            axes.annotate(
                phasor_text(value, symbol="V"), (x, y), (8, where), textcoords="offset points",
                fontsize=13, bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
            )  # fmt: skip


def _along(
    lines: AlongLines,
    values: Floats,
    parts: list[int],
    names: tuple[str, ...],
    *,
    title: str,
    symbol: str,
    unit: Unit,
) -> Strip:
    """One quantity along some parts, over the length of metal from the start of each."""
    scale = scaled_unit(float(values.max()), symbol=symbol)

    def draw(part: Any) -> None:
        axes = axes_in(part, above=_above, tall=_plot, left=_left)
        for number, one in enumerate(parts):
            mine = np.flatnonzero(lines.part == one)
            axes.plot(
                _run(lines, mine) * unit.factor, values[mine].ravel() * scale.factor,
                color="black", linewidth=2.5, linestyle=dashes[number % len(dashes)],
                label=shorten(names[one], 44, placeholder=" …"),
            )  # fmt: skip
        axes.set_title(title, loc="left", fontsize=16, weight="bold")
        axes.set_xlabel(
            f"Along the metal of the part, in the order of the case [{unit.symbol}]"
        )
        axes.set_ylabel(f"[{scale.symbol}]")
        low, high = float(values.min()) * scale.factor, float(values.max()) * scale.factor
        # What hardly differs is shown by how it does.
        axes.set_ylim(low - 0.1 * (high - low) if low > 0.9 * high else 0.0, 1.05 * high)
        axes.margins(x=0)
        axes.grid(color="0.87")
        axes.set_axisbelow(True)
        axes.legend(
            loc="upper left", bbox_to_anchor=(0.0, -(_axis - 0.1) / _plot), frameon=False,
            fontsize=14, handlelength=4.5, ncols=1, borderaxespad=0.0,
        )  # fmt: skip

    return Strip(_above + _plot + _axis + _entry * len(parts), draw)


def _run(lines: AlongLines, mine: Integers) -> Floats:
    """Length of metal up to both ends of each of some lines, one after the other. [m]"""
    length = np.linalg.norm(lines.end[mine] - lines.start[mine], axis=1)
    end = np.cumsum(length)
    return np.stack([end - length, end], axis=1).ravel()
