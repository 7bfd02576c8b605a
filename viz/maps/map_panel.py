"""What stands beside a plan map: levels, key of lines and marks, scale bar, north."""

from collections.abc import Sequence

from ...solver.model import Floats
from ...solver.results.result import Result
from ..canvas.boxes import Box
from ..canvas.frame import Frame, draw_scale_bar
from ..canvas.legend import (
    draw_bands,
    draw_group_key,
    draw_key_line,
    group_key_height,
    key_line_height,
)
from ..canvas.levels import Levels
from ..canvas.north import draw_north
from ..canvas.sheet import Sheet
from ..plates import has_plates
from ..wording import Unit, length_unit, place_text, scaled_unit
from ..words.bodies import made_of
from .buried import bodies_in_view
from .plans import PlanMap

map_room = Box(180, 160, 1410, 1270)
_right = 1970
# Heights of scale bar and north arrow, and of the legend of the bands. [pixel]
_scale_bar, _north = 80, 140
_usual, _least = 510, 280
_most_bodies = 4  # named beside a map; their names stand on it too


def value_unit(plan: PlanMap, *, levels: Levels) -> Unit:
    """Unit of the values of a map, with the prefix that suits the largest."""
    if plan.symbol == "%":
        return Unit(1.0, "%")
    return scaled_unit(max(abs(levels.low), abs(levels.high)), symbol=plan.symbol)


def draw_panel(
    sheet: Sheet,
    *,
    result: Result,
    plan: PlanMap,
    levels: Levels,
    colours: Floats,
    rods: bool,
    raised: bool,
    frame: Frame,
) -> None:
    """Draw what stands right of a map.

    Parameters
    ----------
    result : Result
        For electrodes, units and north.
    colours : ndarray of float, shape (bands, 3)
        Of the bands, 0 to 1.
    frame : Frame
        Of the map; the panel begins right of it.
    """
    length = length_unit(result.units)
    left = frame.box.right + 60
    width = _right - left
    entries = list(_entries(result, plan=plan, rods=rods, raised=raised))
    below = (
        map_room.bottom
        + (_scale_bar if result.north is None else _north)
        + group_key_height(sheet, result=result, width=width)
    )
    below += sum(key_line_height(sheet, text=text, width=width) for _, text in entries)
    tall = min(_usual, max(_least, map_room.top - below))
    y = draw_bands(
        sheet,
        box=Box(left, map_room.top - tall, _right, map_room.top),
        title=plan.legend,
        levels=levels,
        colours=colours,
        unit=value_unit(plan, levels=levels),
    )
    y = draw_group_key(sheet, box=Box(left, 0, _right, y), result=result)
    for kind, text in entries:
        y = draw_key_line(
            sheet,
            at=(left, y),
            text=text,
            width=width,
            kind=kind,
            bodies=result.solution.soil.bodies,
        )
    draw_scale_bar(
        sheet,
        at=(left, map_room.bottom),
        pixels_per_unit=float(frame.scale[0]),
        symbol=length.symbol,
        room=350,
    )
    if result.north is not None:
        corner = (_right - 70, map_room.bottom + 60)
        draw_north(sheet, at=corner, north=result.north, size=34)


def _entries(
    result: Result, *, plan: PlanMap, rods: bool, raised: bool
) -> Sequence[tuple[str, str]]:
    """Kinds of lines and marks of a map, and what they mean."""
    length = length_unit(result.units)
    found = [("rod", "rod, or steep conductor, from above")] if rods else []
    if raised:
        found.append(("raised", "above ground or insulated; rings: joined to metal there"))
    if has_plates(result):
        found.append(("words", "hatched: plates"))
    if plan.metal is not None:
        kind = "post" if plan.metal.kind == "points" else "metal"
        found.append((kind, f"{plan.metal.name} (touched)"))
    if plan.contours.unsafe:
        along = result.one_potential
        uneven = along is not None and along.doubt > 0
        more = "numerical error and voltage along the metal" if uneven else "numerical error"
        text = f"the limit, 100 %; hatched: not kept with the {more}, unsafe"
        found.append(("limit", text))
    if plan.above is not None:
        kind = "above" if len(plan.above.line) else "words"
        found.append((kind, plan.above.words))
    if plan.curve is not None:
        found.append(("curve", plan.curve_name))
    found += [(f"level {number}", line.words) for number, line in enumerate(plan.levels)]
    if plan.worst is not None:
        feet = plan.worst.feet
        places = [place_text(foot, unit=length, step=0.1) for foot in feet]
        at = " and ".join(map(_unbroken, places))
        value = plan.value_text(plan.worst.value)
        feet_or_foot = "feet" if len(feet) > 1 else "foot"
        found.append(("worst", f"worst: {value}, {feet_or_foot} at {at}"))
    ground = _of_ground(result, plan=plan)
    return [*found, *([("heading", "Ground")] if ground else []), *ground]


def _of_ground(result: Result, *, plan: PlanMap) -> list[tuple[str, str]]:
    """What lies on the ground of a map, and in it."""
    found = [("layer", "edge of a surface layer")] if plan.outlines else []
    if result.underlay is not None and len(result.underlay):
        found.append(("underlay", "lines of the drawing"))
    if result.ground_picture is not None:
        found.append(("words", f"light and dark: {result.ground_picture.file}"))
    found += [
        (
            f"body {number}",
            f"{body.name}, in the soil: {made_of(body)}".replace(" Ω", "\u00a0Ω"),
        )
        for number, body, _ in bodies_in_view(result, plan=plan)[:_most_bodies]
    ]
    return found


def _unbroken(text: str) -> str:
    """A place or an amount, which no line breaks."""
    return text.replace(" ", "\u00a0")
