"""Picture of a comparison: readings over the simulated profile, and what explains the rest."""

from pathlib import Path
from textwrap import shorten
from typing import Any

import numpy as np

from .figures import figure_style, save_figure
from .measured_picture import Bar, ComparePicture, SeriesPanel
from .wording import significant

_grey, _pale = "0.45", "0.85"
_dots = 100
_width, _panel, _above, _below = 20.0, 5.2, 1.6, 1.6  # inches
_cautions = (
    "Calibrated on readings of one day; agreement with readings does not prove a design safe. "
    "Test leads can rise to kilovolts during a system fault.\nFor a qualified engineer to "
    "check; local codes and licensed practice decide."
)


def draw_compare(picture: ComparePicture, *, path: Path) -> Path:
    """Draw readings over the model and the ranking of explanations.

    Parameters
    ----------
    picture : ComparePicture
        What to show.
    path : Path
        File to write; its ending, .png or .svg, says which kind.

    Returns
    -------
    path : Path
    """
    import matplotlib as mpl
    from matplotlib.figure import Figure  # no pyplot: nothing global, no window

    count = max(len(picture.panels), 1)
    height = _above + _below + _panel * count + 0.9 * (count - 1)
    with mpl.rc_context(figure_style):
        figure = Figure(figsize=(_width, height), dpi=_dots, facecolor="white")
        figure.text(0.035, 1 - 0.5 / height, picture.title, fontsize=20, color=_grey)
        figure.text(0.035, 1 - 1.0 / height, picture.subtitle, fontsize=24, fontweight="bold")
        figure.text(0.035, 0.2 / height, _cautions, fontsize=13, color=_grey, linespacing=1.4)
        for number, panel in enumerate(picture.panels):
            bottom = height - _above - (number + 1) * _panel - 0.9 * number
            axes = figure.add_axes((0.075, bottom / height, 0.5, (_panel - 0.7) / height))
            _draw_series(axes, panel, length=picture.length)
        tall = min(0.62 * (len(picture.bars) + 2), height - _above - _below - 1.9)
        where = (0.73, (height - _above - tall - 0.4) / height, 0.24, tall / height)
        ranking = figure.add_axes(where)
        _draw_ranking(ranking, picture)
        # Below the ranking, where it hides nothing.
        _draw_key(figure.add_axes((where[0], where[1] - 1.1 / height, where[2], 0.01)))
        save_figure(figure, path, ending=path.suffix[1:])
    return path


def series_figure(picture: ComparePicture, *, width: float) -> Any:
    """Figure of the readings over the model, for pages, which have the ranking as a table.

    Parameters
    ----------
    picture : ComparePicture
        What to show.
    width : float
        [inch]
    """
    from matplotlib.figure import Figure  # no pyplot: nothing global, no window

    panel, key = 4.6, 1.2
    height = panel * len(picture.panels) + key
    figure = Figure(figsize=(width, height), dpi=_dots, facecolor="white")
    for number, series in enumerate(picture.panels):
        bottom = height - panel * (number + 1) + 0.85
        where = (1.05 / width, bottom / height, 1 - 1.35 / width, (panel - 1.4) / height)
        _draw_series(figure.add_axes(where), series, length=picture.length)
    figure.legend(
        handles=_key_entries(), loc="lower left", bbox_to_anchor=(1.05 / width, 0.1 / height),
        frameon=False, fontsize=14, handlelength=2.6, borderaxespad=0, labelspacing=0.5,
    )  # fmt: skip
    return figure


def _draw_series(axes: Any, panel: SeriesPanel, *, length: str) -> None:
    """Readings with error bars of two deviations, dashed case, bold calibrated curve."""
    if panel.curve.shape[1]:
        distance, case, fitted = panel.curve
        axes.plot(distance, case, color=_grey, linewidth=2, linestyle=(0, (6, 2.5)))
        axes.plot(distance, fitted, color="black", linewidth=3)
    else:
        mark: dict[str, Any] = {"linestyle": "none", "markersize": 20, "markeredgewidth": 3}
        axes.plot(panel.distance, panel.case, marker="_", color=_grey, **mark)
        axes.plot(panel.distance, panel.fitted, marker="_", color="black", **mark)
    axes.errorbar(
        panel.distance, panel.value, yerr=2 * panel.deviation, linestyle="none", marker="o",
        markersize=10, markerfacecolor="white", markeredgecolor="black", markeredgewidth=2,
        ecolor="black", elinewidth=1.5, capsize=5, zorder=4,
    )  # fmt: skip
    axes.set_title(shorten(panel.name, 70, placeholder=" …"), loc="left", fontsize=17)
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


def _draw_key(axes: Any) -> None:
    axes.set_axis_off()
    axes.legend(
        handles=_key_entries(), loc="upper left", bbox_to_anchor=(-0.6, 0.0), frameon=False,
        fontsize=14, handlelength=2.6, borderaxespad=0, labelspacing=0.5,
    )  # fmt: skip


def _key_entries() -> list[Any]:
    from matplotlib.lines import Line2D

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
            shorten(text, 46, placeholder=" …"),
            (0, row - 0.26),
            xytext=(4, 0),
            textcoords="offset points",
            fontsize=12.5,
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
    axes.set_xlabel("Misfit left [standard deviations];\ndotted: as good as they promise")
    axes.set_title("What would explain it", loc="left", fontsize=17, x=-0.6)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
