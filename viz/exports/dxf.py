"""A result as a drawing (DXF): metal, contours with values, unsafe areas, worst places."""

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from ezdxf.document import Drawing as Dxf
from ezdxf.enums import TextEntityAlignment
from ezdxf.tools.standards import setup_linetypes

from ...solver.model import Floats
from ...solver.plan_place import UNITS, PlanPlace
from ...solver.results.result import Result
from ..cautions import BELOW_PICTURES
from ..wording import length_unit
from .about import what_it_is
from .features import (
    BODIES,
    GROUND,
    LEVELS,
    LIMIT,
    METAL,
    POTENTIAL,
    REACHED,
    RODS,
    SHARE,
    STEP,
    TOUCH,
    UNSAFE,
    WORST,
    Feature,
    plan_features,
)

plan_name = "plan.dxf"
_application = "OHMSCAPE"  # under which values stand beside what is drawn
_refused = re.compile(r'[<>/\\":;?*|=`,\x00-\x1f]')  # in names of layers
_text_share = 1 / 160  # height of text over the longer side of the map
_labels = 2  # values written on contours of one level


@dataclass(frozen=True)
class _Style:
    """How a theme is drawn: colour, kind of line, what its layer says."""

    colour: int
    linetype: str
    what: str
    shown: bool = True  # as the drawing opens


# Kinds of line differ where colours do: a plot may be grey.
_styles = {
    METAL: _Style(1, "Continuous", "buried conductors, at their depth"),
    RODS: _Style(1, "Continuous", "rods, from top to tip"),
    REACHED: _Style(6, "DASHDOT", "metal that can be touched"),
    BODIES: _Style(8, "DIVIDE", "bodies in the soil"),
    GROUND: _Style(9, "DOT", "surface layers of the limits"),
    POTENTIAL: _Style(5, "Continuous", "surface potential to remote earth"),
    TOUCH: _Style(4, "DASHED", "prospective touch voltage", shown=False),
    STEP: _Style(3, "DOT2", "prospective step voltage", shown=False),
    SHARE: _Style(30, "DASHED2", "share of the limit", shown=False),
    LIMIT: _Style(1, "PHANTOM", "line of the limit"),
    UNSAFE: _Style(1, "Continuous", "not within the limit, error included"),
    LEVELS: _Style(140, "CENTER", "outlines of levels asked for"),
    WORST: _Style(1, "Continuous", "worst places"),
}


def write_dxf(result: Result, folder: Path) -> Path:
    """Write ``plan.dxf`` of a result.

    Notes
    -----
    It is in the coordinates and the unit of the drawing that the metal came from, where there
    is one; else in those of the case, in metres or feet as it prints. Each theme has a layer
    for each electrode, metal or exposure. Values stand as text beside contours, and as a
    number with words (application data) on every line and place.
    """
    unit = length_unit(result.units)
    plan = result.placed or PlanPlace((0.0, 0.0), metres=1.0 / unit.factor)
    sheet = _Sheet(result, plan)
    by_level: dict[tuple[str, str, float], list[Feature]] = defaultdict(list)
    for feature in plan_features(result):
        sheet.add(feature)
        if feature.kind == "line" and feature.value is not None:
            by_level[feature.theme, feature.name, feature.value].append(feature)
    for lines in by_level.values():
        longest = sorted(lines, key=lambda one: -_length(one.points))[:_labels]
        for one in longest:
            sheet.label(one)
    sheet.title(_told(result))
    path = folder / plan_name
    sheet.dxf.saveas(path)
    return path


class _Sheet:
    """The drawing being made."""

    def __init__(self, result: Result, place: PlanPlace) -> None:
        self.dxf = Dxf.new("R2010")
        setup_linetypes(self.dxf)
        self.dxf.units = _code(place.metres)
        self.dxf.appids.add(_application)
        self.space = self.dxf.modelspace()
        self.place = place
        size = float(np.subtract(result.area.high, result.area.low).max()) / place.metres
        self.height = size * _text_share
        self.low = place.other(np.array([result.area.low]))[0]
        # Patterns of lines as long as text is high.
        self.dxf.header["$LTSCALE"] = self.height
        cross = self.dxf.blocks.new("WORST PLACE")
        half = 0.7 * self.height
        cross.add_circle((0, 0), half)
        cross.add_line((-half, -half), (half, half))
        cross.add_line((-half, half), (half, -half))
        self._layers: dict[tuple[str, str], str] = {}

    def add(self, feature: Feature) -> None:
        """Draw one feature with its value and words."""
        points = self.place.other(feature.points)
        look = {"layer": self.layer(feature.theme, feature.name)}
        closed = feature.kind == "outline"
        drawn: Any
        if feature.kind == "place":
            if feature.theme == WORST:
                drawn = self.space.add_blockref("WORST PLACE", points[0], dxfattribs=look)
                self._text(feature.text, points[0] + 1.2 * self.height, look["layer"])
            else:
                drawn = self.space.add_point(points[0], dxfattribs=look)
        elif points.shape[1] == 3 and len(points) == 2:
            drawn = self.space.add_line(points[0], points[1], dxfattribs=look)
        else:
            drawn = self.space.add_lwpolyline(points[:, :2], close=closed, dxfattribs=look)
        if feature.theme == UNSAFE:
            hatch = self.space.add_hatch(color=1, dxfattribs=look)
            hatch.set_pattern_fill("ANSI31", scale=self.height)
            hatch.paths.add_polyline_path(points[:, :2], is_closed=True)
        value = [] if feature.value is None else [(1040, feature.value), (1000, feature.unit)]
        drawn.set_xdata(_application, [(1000, _plain(feature.words)), *value])

    def label(self, feature: Feature) -> None:
        """Write the value of a contour at its middle."""
        points = self.place.other(feature.points)[:, :2]
        steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
        if steps.sum() < 6 * self.height:
            return
        along = np.concatenate([[0.0], np.cumsum(steps)])
        middle = 0.5 * along[-1]
        at = np.array([np.interp(middle, along, points[:, k]) for k in (0, 1)])
        self._text(feature.text, at, self.layer(feature.theme, feature.name))

    def title(self, lines: Sequence[str]) -> None:
        """Write what this is below the map."""
        style = {"layer": self._own_layer("ABOUT", 7, "Continuous", "what this is")}
        style["char_height"] = 1.5 * self.height  # type: ignore[assignment]
        text = self.space.add_mtext("\\P".join(map(_plain, lines)), dxfattribs=style)
        text.set_location((*(self.low - (0.0, 3 * self.height)),))

    def layer(self, theme: str, name: str) -> str:
        """Name of the layer of a theme, and of a metal or an exposure."""
        if (theme, name) not in self._layers:
            style = _styles[theme]
            wanted = f"{theme} {name}".strip()
            what = style.what + (f": {name}" if name else "")
            given = self._own_layer(wanted, style.colour, style.linetype, what)
            if not style.shown:
                self.dxf.layers.get(given).off()
            self._layers[theme, name] = given
        return self._layers[theme, name]

    def _own_layer(self, wanted: str, colour: int, linetype: str, what: str) -> str:
        """A new layer by a name that the format takes and no other has."""
        name = (
            re.sub(r'[<>/\\":;?*|=`,\x00-\x1f]', " ", wanted.upper())[:200].strip() or "LAYER"
        )
        number, given = 1, name
        while given in self.dxf.layers:
            number += 1
            given = f"{name} {number}"
        layer = self.dxf.layers.add(given, color=colour, linetype=linetype)
        layer.description = _plain(what)
        return given

    def _text(self, words: str, at: Floats, layer: str) -> None:
        text = self.space.add_text(
            _plain(words), height=self.height, dxfattribs={"layer": layer}
        )
        text.set_placement(tuple(at[:2]), align=TextEntityAlignment.MIDDLE_CENTER)


def _code(metres: float) -> int:
    """Code of a unit in the head of a drawing; 0 where it has none."""
    return next((one.code for one in UNITS if abs(metres / one.metres - 1) < 1e-9), 0)


def _told(result: Result) -> Sequence[str]:
    return [
        *what_it_is(result),
        "Each layer says in its description what it holds; contours of touch, step and share "
        "of the limit are on layers that are off.",
        BELOW_PICTURES,
    ]


def _plain(words: str) -> str:
    """Words on one line, as far as a line of the format goes."""
    return " ".join(words.split()).replace("\\", "/")[:250]


def _length(points: Floats) -> float:
    return float(np.linalg.norm(np.diff(points[:, :2], axis=0), axis=1).sum())
