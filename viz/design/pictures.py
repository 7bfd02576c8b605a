"""Pictures of a search: cost against what is taken of the limits, and what single steps buy."""

from pathlib import Path
from typing import Any

from ...solver.design import Sizing, Step, least_gain
from ..canvas.figures import figure_style, page_width, save_figure
from ..canvas.strips import Heading, Strip, axes_in, figure_of, fitted
from ..soil_survey.panels import grey, pale
from ..wording import length_unit, share_text, short
from ..words.bills import cost_text
from .words import BELOW_DESIGNS

_left, _row = 1.25, 0.42  # of plots; of a step [inch]
_names = 5.2  # room for the names of steps [inch]
_type = 14  # [point]


def draw_front(sizing: Sizing, *, path: Path) -> Path:
    """Draw cost against what each design takes of what is allowed, .png or .svg."""
    proofs = sum(item.proof is not None for item in sizing.tried)
    note = (
        f"{len(sizing.tried):,} of {sizing.possible:,} designs tried by thin conductors, "
        f"{proofs:,} solved by finite elements in every condition."
    )
    return _drawn(sizing, "cost against limits", note, front_strip, path)


def draw_steps(sizing: Sizing, *, path: Path) -> Path:
    """Draw what each single step from the design shown costs and buys, .png or .svg."""
    note = "Single steps from the design shown, by thin conductors."
    return _drawn(sizing, "what a step more or less buys", note, steps_strip, path)


def _drawn(sizing: Sizing, name: str, note: str, strip: Any, path: Path) -> Path:
    import matplotlib as mpl  # takes a tenth of a second

    heading = Heading(sizing.title, f"Designs: {name}", note, BELOW_DESIGNS)
    with mpl.rc_context(figure_style):
        figure = figure_of([strip(sizing, units=sizing.units)], heading=heading)
        save_figure(figure, path, ending=path.suffix[1:])
    return path


def front_strip(sizing: Sizing, *, units: str) -> Strip:
    """Every design tried, the front, and the cheapest that passes."""
    above, tall, key = 0.2, 5.2, 1.75

    def draw(part: Any) -> None:
        axes = axes_in(part, above=above, tall=tall, left=_left)
        _draw_front(axes, sizing, units=units)

    return Strip(above + tall + key, draw)


def _draw_front(axes: Any, sizing: Sizing, *, units: str) -> None:
    targets = sizing.targets
    factor = 1.0 if sizing.currency else length_unit(units).factor
    able = [item for item in sizing.tried if item.worst(targets) < float("inf")]

    def marks(items: Any, **look: Any) -> None:
        axes.plot(
            [factor * item.cost for item in items],
            [100 * item.worst(targets) for item in items],
            linestyle="none",
            **look,
        )

    passing = [item for item in able if item.passes(targets)]
    missing = [item for item in able if item.proof is not None and item not in passing]
    given_up = [item for item in able if item.given_up]
    marks(given_up, marker=2, markersize=6, color="0.62", label="at least, given up")
    thin = [item for item in able if item.proof is None and not item.given_up]
    marks(thin, marker=".", markersize=7, color="0.62", label="tried by thin conductors")
    front = sizing.front
    axes.step(
        [factor * item.cost for item in front],
        [100 * item.worst(targets) for item in front],
        where="post", color="black", linewidth=2, zorder=3,
        label=f"front, steps of {100 * least_gain:.0f} % or more",
    )  # fmt: skip
    marks(missing, marker="x", markersize=11, markeredgewidth=2.5, color="black", zorder=4,
          label="misses, by finite elements")  # fmt: skip
    marks(passing, marker="o", markersize=11, markerfacecolor="white", markeredgewidth=2.5,
          color="black", zorder=4, label="passes, by finite elements")  # fmt: skip
    if sizing.cheapest is not None:
        cost = cost_text(sizing.cheapest.cost, currency=sizing.currency)
        words = cost.plain(units="US" if units == "US" else "SI", vocabulary="earth")
        marks([sizing.cheapest], marker="*", markersize=26, color="black", zorder=6,
              markeredgecolor="white", label=f"cheapest that passes: {words}")  # fmt: skip
    axes.axhline(100, color="black", linewidth=1.5, linestyle=(0, (6, 3)), zorder=2)
    axes.set_yscale("log")
    axes.yaxis.set_major_formatter(lambda value, _: short(value))
    axes.yaxis.set_minor_formatter(
        lambda value, _: short(value) if str(f"{value:e}")[0] in "235" else ""
    )
    unit = sizing.currency or f"{length_unit(units).symbol} of metal"
    axes.xaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    axes.set_xlabel(f"Cost [{unit}]")
    axes.set_ylabel("Takes of what is allowed [%]")
    axes.grid(True, which="both", color=pale, linewidth=1.0)
    axes.set_axisbelow(True)
    axes.legend(
        loc="upper left", bbox_to_anchor=(-0.01, -0.15), frameon=False, fontsize=_type, ncols=2,
        borderaxespad=0,
    )  # fmt: skip


def steps_strip(sizing: Sizing, *, units: str) -> Strip:
    """Bars of what each single step costs more, and of what is taken after it."""
    above, below = 0.2, 0.9
    rows = list(sizing.steps)
    tall = _row * len(rows) + 0.2

    def draw(part: Any) -> None:
        across = (page_width - _names - 0.9) / 2
        left = axes_in(
            part, above=above, tall=tall, left=_names, right=page_width - _names - across
        )
        right = axes_in(part, above=above, tall=tall, left=page_width - 0.3 - across)
        _draw_steps(left, right, sizing, rows, units=units)

    return Strip(above + tall + below, draw)


def _draw_steps(left: Any, right: Any, sizing: Sizing, rows: list[Step], *, units: str) -> None:
    factor = 1.0 if sizing.currency else length_unit(units).factor
    heights = list(range(len(rows)))
    left.barh(heights, [factor * step.cost for step in rows], height=0.6, color="0.6")
    left.axvline(0, color="black", linewidth=1.2)
    names = [
        fitted(f"{step.choice}: {step.before} → {step.after}", size=_type, room=_names - 0.35)
        for step in rows
    ]
    left.set_yticks(heights, names, fontsize=_type)
    takes = [
        100 * step.tried.thin.worst(sizing.targets) if step.tried.thin else float("nan")
        for step in rows
    ]
    start = rows[0].start.thin
    now = float("nan") if start is None else 100 * start.worst(sizing.targets)
    for height, value in zip(heights, takes, strict=True):
        right.plot([now, value], [height, height], color=grey, linewidth=2)
        right.plot(
            [value], [height], marker="x" if value > 100 else "o", markersize=10,
            color="black", markerfacecolor="white", markeredgewidth=2.5,
        )  # fmt: skip
    right.axvline(now, color="black", linewidth=1.5)
    right.axvline(100, color="black", linewidth=1.5, linestyle=(0, (6, 3)))
    right.set_yticks(heights, ["" for _ in rows])
    for axes in (left, right):
        axes.set_ylim(len(rows) - 0.4, -0.6)
        axes.grid(True, axis="x", color=pale, linewidth=1.0)
        axes.set_axisbelow(True)
    unit = sizing.currency or f"{length_unit(units).symbol} of metal"
    left.set_xlabel(f"Costs more [{unit}]")
    left.xaxis.set_major_formatter(lambda value, _: f"{value:,.0f}".replace("-", "−"))
    left.tick_params(axis="x", labelsize=12)
    right.set_xlabel(f"Takes [%], now {share_text(now / 100)}")
