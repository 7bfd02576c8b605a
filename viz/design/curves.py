"""The curve of a choice: words, picture, table, and the folder they go to."""

import math
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import Any

from ...solver.design import Curve, pays_until
from ...solver.progress import Progress, unwatched
from ..canvas.figures import draw_all, figure_style, in_both_kinds, save_figure
from ..canvas.strips import Heading, Strip, axes_in, figure_of
from ..files.whole import check_folder, write_whole
from ..report.contents import Block, Bullets, Cell, Paragraph, Section, Table
from ..report.terminal_lines import section_lines
from ..soil_survey.panels import pale
from ..tables.csv_files import write_table
from ..wording import length_unit, share_text, short
from ..words.amounts import ohms
from ..words.bills import cost_text
from ..words.lines import page
from ..words.text import Text, say
from .words import ABOUT_DESIGNS, BELOW_DESIGNS, condition_text

_by_thin = (
    "By thin conductors, to choose by: run the design that is chosen before anybody relies."
)
_returns = (
    "More stops paying where a tenth more of {} lowers the value by less than a hundredth."
)
_empty = float("nan")


def curve_text(curve: Curve) -> str:
    """A curve as lines of text, in the units of the case."""
    return page(curve.title, [section_lines(_section(curve), units=curve.units)])


def _section(curve: Curve) -> Section:
    rows: list[tuple[Cell, ...]] = []
    for point, share in zip(curve.points, curve.shares, strict=True):
        need = None if point.found is None else point.found.deciding(curve.targets)
        decides = point.fault
        if need is not None:
            name = need.met.exposure if need.met else need.what
            decides = f"{name} ({condition_text(need.condition)})"
        rows.append(
            (
                point.option,
                "–"
                if math.isinf(point.cost)
                else cost_text(point.cost, currency=curve.currency),
                "–" if point.found is None else ohms(point.found.resistance),
                "–" if math.isnan(share) else share_text(share),
                decides,
            )
        )
    header = (curve.choice, "Cost", "Resistance", "Takes", "Decides")
    blocks: list[Block] = [
        Paragraph(_by_thin, "warning"),
        Paragraph(f"Other choices: {curve.others or 'as the case stands'}"),
        Table(
            header,
            tuple(rows),
            "Takes: largest share of what is allowed. It and resistance: the largest of any "
            "condition.",
        ),
        *(Paragraph(text) for text in _pays(curve)),
        Bullets(ABOUT_DESIGNS),
    ]
    return Section("curve", f"Against {curve.choice}", tuple(blocks))


def _pays(curve: Curve) -> list[Text]:
    """Where more metal stops paying, for resistance and for the limits."""
    last = len(curve.points) - 1
    found = [
        say(
            "For {}, more {} {}.",
            what,
            "still pays at the last option," if row == last else "stops paying after",
            curve.points[row].option,
        )
        for what, values in (("the resistance", curve.ohms), ("the limits", curve.shares))
        if (row := pays_until(curve.costs, values)) is not None
    ]
    cost = "price" if curve.currency else "metal"
    return [*found, say("{}", _returns.format(cost))] if found else []


def check_curve_folder(folder: Path) -> None:
    """Raise unless `save_curve` can write to a folder; `ResultError` if something is there."""
    check_folder(folder, kind="curve")


def save_curve(
    curve: Curve, folder: Path, *, pictures: bool = True, progress: Progress = unwatched
) -> tuple[Path, ...]:
    """Write table and picture of a curve to a folder, all or nothing.

    `ResultError` if something is in the way.
    """

    def write(into: Path) -> Sequence[Path]:
        files = [_write_table(curve, into / "curve.csv")]
        drawn = [("curve", partial(draw_curve, curve))] if pictures else []
        return files + draw_all(in_both_kinds(drawn), into, progress=progress)

    return write_whole(folder, write=write, kind="curve", command="curve")


def _write_table(curve: Curve, path: Path) -> Path:
    notes = [" ".join(curve.title.split()), _by_thin, *ABOUT_DESIGNS]
    notes.append(f"other choices: {curve.others or 'as the case stands'}")
    notes += [text.plain(units="SI", vocabulary="earth") for text in _pays(curve)]
    cost = f"cost [{curve.currency}]" if curve.currency else "metal [m]"
    header = (curve.choice, cost, "resistance [ohm]", "rise [V]",
              "takes of what is allowed [%]", "decides", "in")  # fmt: skip

    def row(number: int) -> tuple[object, ...]:
        point = curve.points[number]
        need = None if point.found is None else point.found.deciding(curve.targets)
        return (
            point.option,
            _empty if math.isinf(point.cost) else point.cost,
            curve.ohms[number],
            _empty if point.found is None else point.found.rise,
            100 * curve.shares[number],
            point.fault if need is None else need.met.exposure if need.met else need.what,
            "" if need is None else condition_text(need.condition),
        )

    return write_table(
        path, notes=notes, header=header, rows=map(row, range(len(curve.points)))
    )


def draw_curve(curve: Curve, *, path: Path) -> Path:
    """Draw resistance, share of the limits and cost one above the other, .png or .svg."""
    import matplotlib as mpl  # takes a tenth of a second

    others = curve.others or "as the case stands"
    note = f"Other choices: {others}. Filled: more stops paying after it. By thin conductors."
    heading = Heading(curve.title, f"Against {curve.choice}", note, BELOW_DESIGNS)
    with mpl.rc_context(figure_style):
        save_figure(figure_of([_strip(curve)], heading=heading), path, ending=path.suffix[1:])
    return path


def _strip(curve: Curve) -> Strip:
    above, tall, gap, below = 0.2, 2.1, 0.3, 1.0
    unit = length_unit(curve.units)
    factor = 1.0 if curve.currency else unit.factor
    shares = [100 * share for share in curve.shares]
    panels = [("Resistance [Ω]", list(curve.ohms), pays_until(curve.costs, curve.ohms))]
    if not all(map(math.isnan, shares)):
        row = pays_until(curve.costs, curve.shares)
        panels.append(("Takes of what\nis allowed [%]", shares, row))
    costs = [factor * cost if math.isfinite(cost) else _empty for cost in curve.costs]
    panels.append((f"Cost\n[{curve.currency or unit.symbol + ' of metal'}]", costs, None))

    def draw(part: Any) -> None:
        for number, (name, values, row) in enumerate(panels):
            top = above + number * (tall + gap)
            axes = axes_in(part, above=top, tall=tall, left=1.5)
            _draw_panel(axes, name, values, row, limit=number == 1 and len(panels) == 3)
            last = number == len(panels) - 1
            options = [point.option if last else "" for point in curve.points]
            axes.set_xticks(range(len(options)), options, fontsize=13)
            if last:
                axes.set_xlabel(curve.choice)

    return Strip(above + len(panels) * (tall + gap) + below, draw)


def _draw_panel(
    axes: Any, name: str, values: list[float], row: int | None, *, limit: bool
) -> None:
    axes.plot(
        range(len(values)), values, color="black", linewidth=2.5, marker="o", markersize=10,
        markerfacecolor="white", markeredgewidth=2,
    )  # fmt: skip
    if row is not None and row < len(values) - 1:
        axes.plot([row], [values[row]], marker="o", markersize=13, color="black")
    if limit:
        axes.axhline(100, color="black", linewidth=1.5, linestyle=(0, (6, 3)))
    axes.set_ylim(0, 1.15 * max((value for value in values if value > 0), default=1.0))
    axes.set_ylabel(name)
    axes.yaxis.set_major_formatter(
        lambda value, _: short(value) if value < 1e4 else f"{value:,.0f}"
    )
    axes.grid(True, color=pale, linewidth=1.0)
    axes.set_axisbelow(True)
