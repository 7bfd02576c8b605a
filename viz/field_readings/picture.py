"""Picture of a comparison: readings over the simulated profile, and what explains the rest."""

from collections.abc import Sequence
from pathlib import Path
from textwrap import shorten
from typing import Any

import numpy as np

from ..canvas.figures import figure_style, page_width, save_figure
from ..canvas.strips import Heading, Strip, axes_in, figure_of, fitted
from ..cautions import BELOW_READINGS
from ..wording import significant
from .contents import Bar, ComparePicture, SeriesPanel

_grey, _pale = "0.45", "0.85"
_most_below = 2  # panels one below the other; of more, two stand side by side
_left, _names = 1.05, 3.3  # of plots; of the ranking, whose names stand before it [inch]


def draw_compare(picture: ComparePicture, *, path: Path) -> Path:
    """Draw readings over the model and the ranking of explanations.

    Parameters
    ----------
    path : Path
        File to write; its ending, .png or .svg, says which kind.
    """
    import matplotlib as mpl  # takes a tenth of a second

    heading = Heading(picture.title, picture.subtitle, "", BELOW_READINGS)
    with mpl.rc_context(figure_style):
        figure = figure_of(compare_strips(picture), heading=heading)
        save_figure(figure, path, ending=path.suffix[1:])
    return path


def compare_strips(picture: ComparePicture) -> list[Strip]:
    """Readings over the model, and the ranking of explanations."""
    return [*_series(picture), _ranking(picture)]


def series_figure(picture: ComparePicture) -> Any:
    """Figure of the readings over the model, for pages, which have the ranking as a table."""
    return figure_of(_series(picture))


def _series(picture: ComparePicture) -> list[Strip]:
    """A plot for each series, side by side where there are many, the key of all below."""
    columns = 1 if len(picture.panels) <= _most_below else 2
    above, plot, axis = 0.55, 3.2 if len(picture.panels) <= 2 * columns else 2.2, 0.85
    across = (page_width - columns * (_left + 0.3)) / columns

    def strip(row: Sequence[SeriesPanel]) -> Strip:
        def draw(part: Any) -> None:
            for column, series in enumerate(row):
                left = _left + column * (across + _left + 0.3)
                right = page_width - left - across
                axes = axes_in(part, above=above, tall=plot, left=left, right=right)
                _draw_series(axes, series, length=picture.length, room=across)

        return Strip(above + plot + axis, draw)

    rows = range(0, len(picture.panels), columns)
    strips = [strip(picture.panels[k : k + columns]) for k in rows]

    def draw_key(part: Any) -> None:
        part.legend(
            handles=_key_entries(), loc="center left", frameon=False, fontsize=14,
            bbox_to_anchor=(_left / page_width, 0.5), handlelength=2.6, borderaxespad=0,
            borderpad=0, ncols=3, columnspacing=2.5,
        )  # fmt: skip

    return [*strips, Strip(0.5, draw_key)]


def _ranking(picture: ComparePicture) -> Strip:
    tall = 0.62 * (len(picture.bars) + 2)

    def draw(part: Any) -> None:
        axes = axes_in(part, above=0.65, tall=tall, left=_names)
        _draw_ranking(axes, picture)

    return Strip(0.65 + tall + 0.95, draw)


def _draw_series(axes: Any, panel: SeriesPanel, *, length: str, room: float) -> None:
    """Readings with error bars of two deviations, dashed case, bold calibrated curve."""
    if panel.curve.shape[1]:
        distance, case, calibrated = panel.curve
        axes.plot(distance, case, color=_grey, linewidth=2, linestyle=(0, (6, 2.5)))
        axes.plot(distance, calibrated, color="black", linewidth=3)
    else:
        mark: dict[str, Any] = {"linestyle": "none", "markersize": 20, "markeredgewidth": 3}
        axes.plot(panel.distance, panel.case, marker="_", color=_grey, **mark)
        axes.plot(panel.distance, panel.fitted, marker="_", color="black", **mark)
    axes.errorbar(
        panel.distance, panel.value, yerr=2 * panel.deviation, linestyle="none", marker="o",
        markersize=10, markerfacecolor="white", markeredgecolor="black", markeredgewidth=2,
        ecolor="black", elinewidth=1.5, capsize=5, zorder=4,
    )  # fmt: skip
    axes.set_title(fitted(panel.name, size=17, room=room), loc="left", fontsize=17)
    axes.set_ylabel(panel.value_name)
    if panel.numbered:
        axes.set_xlabel("Number of the reading")
        axes.set_xticks(panel.distance)
        axes.set_xlim(panel.distance.min() - 0.5, panel.distance.max() + 0.5)
    else:
        axes.set_xlabel(f"Distance of the probe [{length}]")
        axes.set_xlim(0, 1.04 * float(np.max(panel.distance)))
    low = min(0.0, float((panel.value - 2 * panel.deviation).min()))
    axes.set_ylim(bottom=low)
    axes.grid(True, color=_pale, linewidth=1.0)
    axes.set_axisbelow(True)


def _key_entries() -> list[Any]:
    from matplotlib.lines import Line2D  # loads matplotlib

    return [
        Line2D([], [], color="black", linewidth=3, label="calibrated model"),
        Line2D(
            [], [], color=_grey, linewidth=2, linestyle=(0, (6, 2.5)),
            label="case as it stands",
        ),
        Line2D(
            [], [], color="black", linestyle="none", marker="o", markersize=10,
            markerfacecolor="white", markeredgewidth=2, label="measured, ± 2 s.d.",
        ),
    ]  # fmt: skip


def _draw_ranking(axes: Any, picture: ComparePicture) -> None:
    """Misfit left by each explanation alone, by the calibration, and now."""
    now = Bar("case as it stands", "", picture.misfit)
    bars = [now, *picture.bars, picture.calibrated]
    largest = max(bar.misfit for bar in bars) or 1.0
    for row, bar in enumerate(bars):
        last = row == len(bars) - 1
        axes.barh(
            row, bar.misfit, height=0.42, facecolor="black" if last else "white",
            edgecolor="black", linewidth=2, hatch=None if row else "///",
        )  # fmt: skip
        text = significant(bar.misfit) + (f": {bar.text}" if bar.text else "")
        axes.annotate(
            fitted(text, size=13, room=page_width - _names - 0.5),
            (0, row - 0.26),
            xytext=(4, 0),
            textcoords="offset points",
            fontsize=13,
            va="bottom",
            zorder=4,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
        )
    axes.axvline(1, color=_grey, linewidth=1.5, linestyle=(0, (1.5, 2)), zorder=3)
    axes.set_ylim(len(bars) - 0.4, -0.75)
    axes.set_xlim(0, 1.06 * max(largest, 1.2))
    axes.set_yticks(range(len(bars)))
    axes.set_yticklabels([shorten(bar.name, 28, placeholder=" …") for bar in bars])
    axes.tick_params(axis="y", length=0)
    axes.set_xlabel("Misfit left [standard deviations]; dotted: as good as they promise")
    axes.set_title("What would explain it", loc="left", fontsize=17)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
