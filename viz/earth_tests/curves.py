"""Panels of the picture of a fall-of-potential test."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from ...solver.earth_tests import FallOfPotential, golden
from ...solver.model import Floats
from ...solver.wording import percent_text
from ..soil_survey.panels import grey, pale
from ..wording import Unit, short, with_unit

_dashes: tuple[Any, ...] = ("-", (0, (6, 2.5)), (0, (1.5, 2)), (0, (7, 2, 1.5, 2)), (0, (3, 2)))
_early = 0.4  # of the lead: names of crossings before it go to the right


def error_text(value: float) -> str:
    """Signed percentage, a tenth where it is small: −15 %, +0.3 %."""
    digits = 1 if abs(value) < 0.0995 else 0
    return percent_text(value, decimals=digits, signed=True)


def draw_readings(axes: Any, test: FallOfPotential, *, unit: Unit, covered: float) -> None:
    """Reading against the place of the potential probe, with the true value."""
    end = float(test.curve_distance[-1]) * unit.factor
    true, far = test.true_resistance, test.leads.distance * unit.factor
    top = max(1.75 * true, 1.25 * test.usual_reading)
    if not test.leads.in_line:
        top = 1.25 * max(true, float(test.curve.max()))
    axes.set_xlim(0, max(far, end))
    axes.set_ylim(0, top)
    axes.axhline(true, color="black", linewidth=2, linestyle=(0, (8, 3)), zorder=2)
    axes.plot(
        test.curve_distance * unit.factor, test.curve, color="black", linewidth=3, zorder=4
    )
    shown = test.reading <= top
    axes.plot(
        test.distance[shown] * unit.factor, test.reading[shown], label="readings planned",
        marker="o", markersize=9, zorder=5, **_open_mark,
    )  # fmt: skip
    early = bool(test.best) and test.best[0] < _early * test.leads.distance
    axes.text(
        0.988 if early else 0.012, true + 0.02 * top * (-1 if early else 1),
        f"true resistance {with_unit(true, symbol='Ω')}", fontsize=15, bbox=_behind, zorder=3,
        transform=axes.get_yaxis_transform(), va="top" if early else "bottom",
        ha="right" if early else "left",
    )  # fmt: skip
    _mark(
        axes, golden * far, test.usual_reading, marker="s", below=True,
        text=f"at 61.8 % reads {with_unit(test.usual_reading, symbol='Ω')} "
        f"({error_text(test.usual_error)})",
    )  # fmt: skip
    for at in test.best:
        _mark(
            axes, at * unit.factor, true, marker="D", below=early,
            text=f"reads true at {short(round(at * unit.factor, 1))} {unit.symbol} "
            f"({percent_text(at / test.leads.distance, decimals=1)})",
        )  # fmt: skip
    if test.slope is not None and test.slope.place is not None:
        axes.plot(
            [test.slope.place * far], [test.slope.resistance],
            marker="^", markersize=14, zorder=6,
            label=f"slope method ({error_text(test.slope_error or 0.0)})", **_open_mark,
        )  # fmt: skip
    if covered * unit.factor > 0.01 * max(far, end) and test.leads.in_line:
        axes.axvspan(0, covered * unit.factor, **_band)
        axes.text(
            0.5 * covered * unit.factor, 0.97 * top, "electrode", fontsize=14, ha="center",
            va="top", bbox=_behind,
        )  # fmt: skip
    axes.set_ylabel("Reading [Ω]")
    axes.grid(True, color=pale, linewidth=1.0)
    axes.set_axisbelow(True)
    axes.tick_params(labelbottom=False)
    axes.legend(loc="lower right", frameon=True, edgecolor="none", framealpha=1, fontsize=14)
    functions = (lambda at: 100 * at / far, lambda share: share * far / 100)
    shares = axes.secondary_xaxis("top", functions=functions)
    shares.set_xlabel("Potential probe, % of the distance of the current probe", labelpad=10)


_band: dict[str, Any] = {
    "facecolor": "0.93", "edgecolor": "0.75", "hatch": "///", "linewidth": 0,
}  # fmt: skip
_behind = {"facecolor": "white", "edgecolor": "none", "pad": 2, "alpha": 0.9}
_open_mark: dict[str, Any] = {
    "linestyle": "none", "markerfacecolor": "white", "markeredgecolor": "black",
    "markeredgewidth": 2,
}  # fmt: skip


def _mark(axes: Any, x: float, y: float, *, marker: str, below: bool, text: str) -> None:
    """Place on the curve with a line down to the axis and its words beside it."""
    axes.plot([x, x], [0, y], color=grey, linewidth=1.5, linestyle=(0, (2, 2)), zorder=3)
    axes.plot(
        [x], [y], marker=marker, markersize=13, markerfacecolor="black",
        markeredgecolor="white", markeredgewidth=1.5, linestyle="none", zorder=7,
    )  # fmt: skip
    axes.annotate(
        text, (x, y), xytext=(16, -30) if below else (-16, 26), textcoords="offset points",
        ha="left" if below else "right", va="center", fontsize=15, zorder=8,
        bbox=_behind,
    )  # fmt: skip


def draw_parts(axes: Any, test: FallOfPotential, *, unit: Unit) -> None:
    """What pulls the reading off the true value: three parts and their sum."""
    x = test.curve_distance * unit.factor
    constant = np.full(len(x), -test.taken_off)
    rows: tuple[tuple[Floats, str, Any], ...] = (
        (-test.raised, "soil at P raised by the electrode", _dashes[1]),
        (constant, "electrode lowered by the current probe", _dashes[2]),
        (test.lowered, "soil at P lowered by the current probe", _dashes[3]),
    )
    axes.axhline(0, color="black", linewidth=1.5, zorder=2)
    for values, label, dash in rows:
        axes.plot(x, values, color="0.35", linewidth=2.2, linestyle=dash, label=label, zorder=3)
    total = test.curve - test.true_resistance
    axes.plot(
        x, total, color="black", linewidth=3, label="sum: reading less true value", zorder=4
    )
    axes.axvline(golden * test.leads.distance * unit.factor, color=grey, linewidth=1.5,
                 linestyle=(0, (2, 2)))  # fmt: skip
    reach = 1.02 * test.true_resistance
    axes.set_ylim(-reach, 0.75 * reach)
    axes.set_xlim(0, max(test.leads.distance * unit.factor, float(x[-1])))
    axes.set_xlabel(f"Potential probe P, distance from where the leads start [{unit.symbol}]")
    axes.set_ylabel("Off the true\nvalue [Ω]")
    axes.yaxis.set_major_formatter(lambda value, _: short(round(value, 6)))
    axes.grid(True, color=pale, linewidth=1.0)
    axes.set_axisbelow(True)
    axes.legend(
        loc="upper left", bbox_to_anchor=(-0.01, -0.29), frameon=False, fontsize=14, ncols=2,
        columnspacing=1.6, handlelength=3.0, borderaxespad=0, labelspacing=0.4,
    )  # fmt: skip


def draw_comparison(
    axes: Any, tests: Sequence[tuple[str, FallOfPotential]], *, leads: int
) -> None:
    """Reading over true value against the share of the lead: leads and soils side by side.

    Parameters
    ----------
    tests : sequence of (str, FallOfPotential)
        Names for the key, and tests.
    leads : int
        How many of them, from the first, differ in the leads only; the others in soil.
    """
    axes.axhline(1.0, color="black", linewidth=1.5, zorder=2)
    axes.axvline(100 * golden, color=grey, linewidth=1.5, linestyle=(0, (2, 2)), zorder=2)
    for number, (name, test) in enumerate(tests):
        axes.plot(
            100 * test.curve_distance / test.leads.distance,
            test.curve / test.true_resistance,
            label=name,
            zorder=5 if number == 0 else 4,
            **_look(number, variants=number >= leads),
        )
    axes.set_xlim(0, 100)
    axes.set_ylim(0, 2 if any(test.leads.in_line for _, test in tests) else 1.3)
    axes.set_xlabel("Potential probe, % of the lead")
    axes.set_ylabel("Reading over true value")
    axes.grid(True, color=pale, linewidth=1.0)
    axes.set_axisbelow(True)
    axes.legend(
        loc="upper left", bbox_to_anchor=(-0.01, -0.22), frameon=False, fontsize=14,
        handlelength=3.0, borderaxespad=0, labelspacing=0.45,
    )  # fmt: skip


def _look(number: int, *, variants: bool) -> dict[str, Any]:
    """Look of a compared curve: dashed for other leads, pale and wide for other soils."""
    if number == 0:
        return {"color": "black", "linewidth": 3}
    if variants:
        dash = _dashes[(0, 4, 3)[number % 3]]
        return {"color": "0.68", "linewidth": 4, "linestyle": dash}
    return {"color": "0.4", "linewidth": 2, "linestyle": _dashes[1 + (number - 1) % 4]}
