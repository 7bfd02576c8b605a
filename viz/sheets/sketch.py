"""Plans on the sheets: where leads and probes go, and where feet stand."""

from typing import Any

import numpy as np

from ...solver.earth_tests import FieldSheets
from ...solver.model import Floats
from ...solver.results.result import Result
from ..report.contents import Picture
from ..report.pictures import draw_layout, draw_touchable, drawing
from ..wording import length_unit
from ..words.text import Units

_beside = 0.22  # of the picture, round what is shown
_size = (7.0, 2.3)  # inches
_turns = (1.0, -1.0, 2.8, -2.8)  # of names, above and below
_ink = "#1b4f8a"


def leads_picture(sheets: FieldSheets, result: Result) -> Picture:
    """Metal with the leads, the current probe and all places of the potential probe."""
    names = [name for name, _ in sheets.named_places]
    places = np.array([one.place for _, one in sheets.named_places])
    start, end = np.array(sheets.leads.start), np.array(sheets.probe.place)

    def draw(figure: Any, units: Units) -> None:
        factor = length_unit(units).factor
        axes = figure.add_subplot()
        draw_layout(axes, result=result, units=units, lean=True)
        for corner in (end, *_ends_of_leads(sheets, start, places)):
            axes.plot(*np.array([start, corner]).T * factor, color=_ink, linewidth=0.8)
        axes.plot(*end * factor, "v", color=_ink, markersize=7)
        axes.plot(*places.T * factor, "o", color=_ink, markerfacecolor="white", markersize=5)
        _name(axes, ["C", *names], np.vstack([end[None], places]) * factor)
        metal = result.solution.conductors
        _frame(axes, [places, end[None], start[None], metal.start[:, :2]], factor)

    caption = (
        "Plan of the leads. Triangle C: current probe; circles: places of the potential probe."
    )
    return Picture(drawing(draw, size=_size), caption, type_size=8.0)


def _ends_of_leads(sheets: FieldSheets, start: Floats, places: Floats) -> list[Floats]:
    """The farthest place on the lead that goes off."""
    off = [k for k, one in enumerate(sheets.places) if not one.leads.in_line]
    if not off:
        return []
    far = np.linalg.norm(places[off] - start, axis=1).argmax()
    return [places[off[int(far)]]]


def points_picture(sheets: FieldSheets, result: Result) -> Picture:
    """Metal and what can be touched, with the places of feet."""
    feet = [(one.name, one.foot) for one in sheets.points]
    pairs = [(one.foot, one.other_foot) for one in sheets.points if one.other_foot is not None]

    def draw(figure: Any, units: Units) -> None:
        factor = length_unit(units).factor
        axes = figure.add_subplot()
        draw_layout(axes, result=result, units=units, lean=True)
        for number, metal in enumerate(result.metals):
            draw_touchable(axes, metal, factor=factor, number=number)
        for pair in pairs:
            axes.plot(*np.array(pair).T * factor, "-s", color=_ink, markersize=3, linewidth=1)
        places = np.array([foot for _, foot in feet]).reshape(-1, 2)
        axes.plot(*places.T * factor, "o", color=_ink, markerfacecolor="white", markersize=4)
        _name(axes, [name for name, _ in feet], places * factor)
        conductors = result.solution.conductors
        others = np.array([other for _, other in pairs]).reshape(-1, 2)
        near = np.vstack([conductors.start[:, :2], conductors.end[:, :2], others])
        _frame(axes, [places, near], factor)

    caption = "Plan of the places of feet: T touch, S step with both feet."
    return Picture(drawing(draw, size=_size), caption, type_size=8.0)


def _name(axes: Any, names: list[str], places: Floats) -> None:
    """Names beside places, away from the middle of all; above, below, farther by turns."""
    middle = places.mean(axis=0)
    for number, (name, at) in enumerate(zip(names, places, strict=True)):
        side = np.array([1.0 if at[0] >= middle[0] else -1.0, _turns[number % len(_turns)]])
        axes.annotate(
            name,
            at,
            5 * side,
            textcoords="offset points",
            ha="left" if side[0] > 0 else "right",
            va="bottom" if side[1] > 0 else "top",
            fontsize=8,
            color=_ink,
            fontweight="bold",
            bbox={"boxstyle": "square,pad=0.1", "facecolor": "white", "edgecolor": "none"},
        )


def _frame(axes: Any, shown: list[Floats], factor: float) -> None:
    """Limits round what is shown, with room for names."""
    every = np.vstack(shown) * factor
    low, high = every.min(axis=0), every.max(axis=0)
    room = _beside * float((high - low).max()) + 0.5 * factor
    axes.set_xlim(low[0] - room, high[0] + room)
    axes.set_ylim(low[1] - room, high[1] + room)
