"""Picture of a simulated survey: where it runs, what it reads, and sections along lines."""

from typing import Any

import numpy as np

from ...solver.model import Conductors, Floats
from ...solver.soil_survey import Survey
from ...solver.soil_survey.planned import PlannedTraverse
from ...solver.soil_survey.simulated import SimulatedSurvey
from ...solver.wording import percent_text
from ..canvas.bodies import body_colour, hatch_of, inner_place, plan_outline
from ..canvas.figures import page_width
from ..canvas.strips import Heading, Strip, axes_in, figure_of
from ..cautions import BELOW_SIMULATED
from ..wording import Unit, length_unit, short, significant
from .curves import curve_of
from .panels import grey, line_of, log_ticks, mark_of, pale

_left = 1.3  # of plots [inch]
_margin = 0.06  # round the pins, of their extent
_fewest_middles = 3  # of a section


def simulated_figure(
    survey: SimulatedSurvey, *, conductors: Conductors, title: str, units: str
) -> Any:
    """Figure of a simulated survey, for files.

    Parameters
    ----------
    conductors : Conductors
        Metal of the case, to be shown in plan.
    units : {"SI", "US"}
        Lengths in metres or feet.
    """
    unit = length_unit(units)
    missed = [
        f"{percent_text(float(error), signed=True)} ({answer.traverse or 'all traverses'})"
        for answer, error in zip(survey.answers, survey.errors(0), strict=True)
    ]
    note = (
        f"Layers fitted to it miss the resistance of '{survey.electrodes[0]}' by "
        f"{', '.join(missed)}."
    )
    strips = [_plan(survey, conductors, unit), _curves(survey, unit)]
    strips += [
        _section(each, values, unit)
        for each, values in zip(survey.traverses, survey.apparent_resistivity, strict=True)
        if len(each.midpoints) >= _fewest_middles
    ]
    heading = Heading(title, "Simulated soil survey", note, BELOW_SIMULATED)
    return figure_of(strips, heading=heading)


def _plan(survey: SimulatedSurvey, conductors: Conductors, unit: Unit) -> Strip:
    """Traverses, bodies and metal from above."""
    pins = np.concatenate([each.places.reshape(-1, 2) for each in survey.traverses])
    metal = np.concatenate([conductors.start, conductors.end])[:, :2]
    every = np.concatenate([pins, metal])
    room = _margin * float(np.ptp(every, axis=0).max())
    low, high = every.min(axis=0) - room, every.max(axis=0) + room
    wide = page_width - _left - 0.5
    tall = float(np.clip(wide * (high - low)[1] / (high - low)[0], 2.5, 5.5))
    # Paper and ground have one shape: what is short is shown farther.
    metres = float(((high - low) / [wide, tall]).max())
    low, high = 0.5 * (low + high) + 0.5 * metres * np.outer([-1, 1], [wide, tall])

    def draw(part: Any) -> None:
        axes = axes_in(part, above=0.2, tall=tall, left=_left, right=0.5)
        _draw_bodies(axes, survey, low=low, high=high, unit=unit)
        for a, b in zip(conductors.start, conductors.end, strict=True):
            axes.plot(*(np.array([a, b])[:, :2].T * unit.factor), color="black", linewidth=1.5)
        for number, each in enumerate(survey.traverses):
            _draw_line(axes, each, number=number, unit=unit)
        axes.set_xlim(low[0] * unit.factor, high[0] * unit.factor)
        axes.set_ylim(low[1] * unit.factor, high[1] * unit.factor)
        axes.set_xlabel(f"x [{unit.symbol}]")
        axes.set_ylabel(f"y [{unit.symbol}]")

    return Strip(0.2 + tall + 0.9, draw)


def _draw_bodies(
    axes: Any, survey: SimulatedSurvey, *, low: Floats, high: Floats, unit: Unit
) -> None:
    for number, body in enumerate(survey.soil.bodies):
        outline = plan_outline(body.shape, low=low, high=high)
        if not len(outline):
            continue
        axes.fill(
            *(outline.T * unit.factor), facecolor="none", edgecolor=body_colour, linewidth=2,
            hatch=hatch_of(body, number=number), zorder=1,
        )  # fmt: skip
        value = "void" if body.void else f"{significant(body.resistivity)} Ω·m"
        axes.text(
            *(inner_place(outline) * unit.factor), f"{body.name}\n{value}", fontsize=14,
            ha="center", va="center", color=body_colour, zorder=4,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 2},
        )  # fmt: skip


def _draw_line(axes: Any, traverse: PlannedTraverse, *, number: int, unit: Unit) -> None:
    """A traverse from its first to its last pin, its middles marked."""
    places = traverse.places.reshape(-1, 2)
    along = (places - places[0]) @ traverse.direction
    ends = places[[along.argmin(), along.argmax()]] * unit.factor
    axes.plot(*ends.T, color="black", linewidth=3, linestyle=(0, (4, 2)), zorder=3)
    axes.plot(
        *(np.array(traverse.midpoints).T * unit.factor), zorder=5, **mark_of(number, False)
    )


def _curves(survey: SimulatedSurvey, unit: Unit) -> Strip:
    """Apparent resistivity against spacing, and what the fitted layers give."""
    above, tall = 0.2, 4.2
    count = len(survey.traverses) + len(survey.answers)

    def draw(part: Any) -> None:
        axes = axes_in(part, above=above, tall=tall, left=_left)
        axes.set_xscale("log")
        axes.set_yscale("log")
        low, high = np.inf, 0.0
        whole = survey.answers[-1].sounding.survey
        for number, answer in enumerate(survey.answers):
            readings = answer.sounding.survey
            curve = curve_of(readings, soil=answer.sounding.chosen.soil, name="")
            label = f"layers fitted to {answer.traverse or 'all traverses'}"
            look = line_of(number) | {"color": "black" if answer.traverse else grey}
            axes.plot(
                curve.spacing * unit.factor, curve.apparent_resistivity, label=label, **look
            )
            if answer.traverse:
                _draw_readings(axes, readings, number=number, name=answer.traverse, unit=unit)
            values = readings.apparent_resistivity
            low, high = min(low, values.min()), max(high, values.max())
        x = whole.spacing * unit.factor
        axes.set_xlim(x.min() / 1.35, x.max() * 1.35)
        axes.set_ylim(low / 1.5, high * 1.5)
        log_ticks(axes.xaxis, x.min() / 1.35, x.max() * 1.35)
        log_ticks(axes.yaxis, low / 1.5, high * 1.5)
        axes.set_xlabel(f"Spacing of the pins [{unit.symbol}]")
        axes.set_ylabel("Apparent resistivity [Ω·m]")
        axes.grid(True, color=pale, linewidth=1.0)
        axes.set_axisbelow(True)
        axes.legend(
            loc="upper left", bbox_to_anchor=(-0.06, -0.17), frameon=False, fontsize=14,
            ncols=2, borderaxespad=0, handlelength=2.6,
        )  # fmt: skip

    return Strip(above + tall + 0.95 + 0.3 * -(-count // 2), draw)


def _draw_readings(axes: Any, readings: Survey, *, number: int, name: str, unit: Unit) -> None:
    axes.plot(
        readings.spacing * unit.factor, readings.apparent_resistivity, zorder=4,
        label=f"readings, {name}", **mark_of(number, False),
    )  # fmt: skip


def _section(traverse: PlannedTraverse, values: Floats, unit: Unit) -> Strip:
    """Apparent resistivity by place along a line and by spacing, the value in each cell."""
    tall = 0.6 + 0.42 * values.shape[1]
    along = (np.array(traverse.midpoints) - traverse.midpoints[0]) @ traverse.direction
    order = np.argsort(along)
    along, values = along[order] * unit.factor, values[order]
    spacing = np.ptp(traverse.pins, axis=1) / 3 * unit.factor
    rows = np.argsort(spacing)
    edges = np.concatenate([[0.0], 0.5 * (along[1:] + along[:-1]), [0.0]])
    edges[0], edges[-1] = 2 * along[0] - edges[1], 2 * along[-1] - edges[-2]
    scale = np.log(values.max() / values.min()) or 1.0

    def draw(part: Any) -> None:
        axes = axes_in(part, above=0.6, tall=tall, left=_left)
        axes.set_title(f"{traverse.name}: apparent resistivity [Ω·m]", loc="left")
        # Dark enough cells have white type.
        size = min(14.0, 72 * 9.5 / len(along) / 3.4)
        for row, k in enumerate(rows):
            for column, value in enumerate(values[:, k]):
                shade = 1.0 - 0.75 * float(np.log(value / values.min())) / scale
                left, right = edges[column], edges[column + 1]
                axes.fill(
                    [left, right, right, left], [row, row, row + 1, row + 1],
                    facecolor=str(shade), edgecolor="white", linewidth=1,
                )  # fmt: skip
                axes.text(
                    0.5 * (left + right), row + 0.5, significant(float(value)), ha="center",
                    va="center", fontsize=size, color="black" if shade > 0.55 else "white",
                )  # fmt: skip
        axes.set_xlim(edges[0], edges[-1])
        axes.set_ylim(len(rows), 0)
        axes.set_yticks(np.arange(len(rows)) + 0.5, [short(round(spacing[k], 3)) for k in rows])
        axes.set_ylabel(f"Spacing [{unit.symbol}]")
        axes.set_xlabel(f"Middle along the line from the first one [{unit.symbol}]")

    return Strip(0.6 + tall + 0.9, draw)
