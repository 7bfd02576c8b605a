"""Pictures of plan maps: bands, contours, electrodes, the worst place, legend and scale."""

from collections.abc import Callable
from itertools import groupby

import numpy as np

from ...solver.exposure.places import TouchableMetal
from ...solver.ground_picture import GroundPicture
from ...solver.model import Floats
from ...solver.polygons import nearest_on_segments
from ...solver.results.result import Result
from ..canvas.boxes import Box
from ..canvas.contours import label_contours, label_line
from ..canvas.figures import Target
from ..canvas.frame import Frame
from ..canvas.hatching import draw_body, draw_layer, draw_underlay, draw_unsafe, light_left
from ..canvas.legend import (
    draw_above,
    draw_heading,
    draw_level,
    draw_outline,
    draw_posts,
    draw_raised,
    draw_target,
    group_dash,
)
from ..canvas.sheet import Sheet, grey, small_type, title_type, white
from ..cautions import BELOW_PICTURES
from ..plates import as_lines
from ..raised import raised_plan
from ..wording import length_unit
from .buried import bodies_in_view, name_body
from .contoured import MapContours
from .map_panel import draw_panel, map_room, value_unit
from .plans import PlanMap

page_size = (2000, 1500)


def draw_map(result: Result, *, plan: PlanMap, path: Target) -> Target:
    """Draw one map as a PNG picture.

    Parameters
    ----------
    result : Result
        For the electrodes and units.
    """
    sheet = Sheet(page_size)
    length = length_unit(result.units)
    low, high = (tuple(np.multiply(corner, length.factor)) for corner in (plan.low, plan.high))
    frame = Frame.equal_scale(map_room, low=low, high=high)
    drawn = plan.contours
    levels, colours = drawn.levels, drawn.colours
    unit = value_unit(plan, levels=levels)

    def on_page(places: Floats) -> Floats:
        """Pixels of places on the surface."""
        return frame.page(places * length.factor)

    draw_heading(sheet, title=result.title, lines=plan.heading, left=60)
    lines = [(value, on_page(line)) for value, line in drawn.lines()]
    _draw_bands(sheet, drawn, on_page=on_page, box=frame.box)
    if result.ground_picture is not None:
        _draw_ground(sheet, result.ground_picture, frame=frame, factor=length.factor)
    if result.underlay is not None:
        draw_underlay(sheet, frame.page(frame.clipped(result.underlay * length.factor)))
    sheet.polylines([line for _, line in lines])
    bodies = [
        (number, body, frame.page(outline * length.factor))
        for number, body, outline in bodies_in_view(result, plan=plan)
    ]
    for number, body, outline in bodies:
        draw_body(sheet, outline, body=body, number=number)
    if drawn.unsafe:
        draw_unsafe(
            sheet,
            [on_page(ring.points) for ring in drawn.unsafe],
            limit=[line for value, line in lines if value == plan.limit],
        )
    for outline in plan.outlines:
        ends = np.stack([outline, np.roll(outline, -1, axis=0)], axis=1) * length.factor
        draw_layer(sheet, frame.page(frame.clipped(ends)))
    if plan.curve is not None:
        draw_outline(sheet, frame.page(frame.clipped(plan.curve * length.factor)))
    for number, line in enumerate(plan.levels):
        pieces = frame.clipped(line.segments * length.factor)
        draw_level(sheet, frame.page(pieces), number=number)
    if plan.above is not None:
        draw_above(sheet, frame.page(frame.clipped(plan.above.line * length.factor)))
    _draw_electrodes(sheet, result=result, frame=frame, factor=length.factor)
    raised = _draw_raised(sheet, result=result, frame=frame, factor=length.factor)
    _draw_metal(sheet, plan=plan, frame=frame, factor=length.factor)
    rods = _draw_rods(sheet, result=result, frame=frame, factor=length.factor)
    frame.draw_axes(sheet, names=(f"x [{length.symbol}]", f"y [{length.symbol}]"))
    _draw_worst(sheet, plan=plan, frame=frame, factor=length.factor)
    _name_levels(sheet, plan=plan, frame=frame, factor=length.factor)
    for _, body, outline in bodies:
        name_body(sheet, body=body, outline=outline, frame=frame)
    narrow = plan.metal is not None and not plan.metal.closed
    # The limit has a line of its own that needs no number.
    lines = sorted(
        (item for item in lines if item[0] != plan.limit), key=lambda item: -_length(item[1])
    )
    label_contours(
        sheet,
        contours=[(line, value) for value, line in lines],
        frame=frame,
        factor=unit.factor,
        most=1 if narrow else 3,
    )
    draw_panel(
        sheet, result=result, plan=plan, levels=levels, colours=colours, rods=rods,
        raised=raised, frame=frame,
    )  # fmt: skip
    sheet.text((60, 24), BELOW_PICTURES, size=small_type, colour=grey)
    return sheet.save(path)


def _draw_bands(
    sheet: Sheet, drawn: MapContours, *, on_page: Callable[[Floats], Floats], box: Box
) -> None:
    """Fill the bands, each on top of all below it, and with white what no band is in.

    Bands end at the edge of the map one upon the other: were each of them to end in part of a
    pixel, all would show through there. So they go on over it, and white ends them all.
    """
    first = drawn.rings[0].band
    for band, same in groupby(drawn.rings, key=lambda ring: ring.band):
        rings, colour = list(same), tuple(drawn.colours[band - first])
        sheet.areas([on_page(ring.points) for ring in rings], colour=colour)
        edges = [on_page(line) for ring in rings for line in ring.edges()]
        sheet.polylines(edges, colour=colour, width=2)
    shown = [on_page(ring.points)[::-1] for ring in drawn.rings if ring.band == first]
    sheet.areas([box.grown(2).corners()[:4], *shown], colour=white)


def _draw_ground(sheet: Sheet, picture: GroundPicture, *, frame: Frame, factor: float) -> None:
    """Lay the picture of the ground over the bands, faintly."""
    x = (np.arange(round(frame.box.width)) + 0.5) / frame.scale[0] + frame.low[0]
    y = frame.high[1] - (np.arange(round(frame.box.height)) + 0.5) / frame.scale[1]
    left = light_left(picture, picture.at(x / factor, y / factor))
    sheet.darken(left, box=frame.box)


def _name_levels(sheet: Sheet, *, plan: PlanMap, frame: Frame, factor: float) -> None:
    """Write the name of each level on its outline, where there is room."""
    for line in plan.levels:
        for corners in sorted(line.polygons, key=len, reverse=True)[:1]:
            closed = np.concatenate([corners, corners[:1]])
            name = sheet.fit(line.name, size=small_type, width=400)
            label_line(sheet, line=frame.page(closed * factor), text=name, frame=frame)


def _length(line: Floats) -> float:
    """Length of a polyline."""
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())


def _draw_electrodes(sheet: Sheet, *, result: Result, frame: Frame, factor: float) -> None:
    """Draw the metal as lines by group."""
    metal = as_lines(result.solution.conductors)
    ends = np.stack([metal.start[:, :2], metal.end[:, :2]], axis=1) * factor
    plan_length = np.linalg.norm(metal.end[:, :2] - metal.start[:, :2], axis=1)
    flat = plan_length > 1e-6 * metal.length
    for group in range(len(result.group_names)):
        chosen = ends[flat & (metal.group == group)]
        segments = frame.page(frame.clipped(chosen))
        sheet.lines(segments, width=4, dash=group_dash(group), casing=2.5)


def _draw_rods(sheet: Sheet, *, result: Result, frame: Frame, factor: float) -> bool:
    """Draw rods as dots, on the outline of what they hold down; gives whether there are any."""
    metal = as_lines(result.solution.conductors)
    ends = np.stack([metal.start[:, :2], metal.end[:, :2]], axis=1) * factor
    plan_length = np.linalg.norm(metal.end[:, :2] - metal.start[:, :2], axis=1)
    steep = (plan_length < 0.5 * metal.length) & ~metal.flat
    tops = np.where((metal.start[:, 2] > metal.end[:, 2])[:, None], ends[:, 0], ends[:, 1])
    dots = np.unique(np.round(tops[steep], 9), axis=0)
    dots = dots[frame.holds(dots)]
    sheet.dots(frame.page(dots), radius=7 if len(dots) < 200 else 4, colour=(0.0, 0.0, 0.0))
    return bool(len(dots))


def _draw_raised(sheet: Sheet, *, result: Result, frame: Frame, factor: float) -> bool:
    """Draw what is above ground or insulated; gives whether there is any in view."""
    plan = raised_plan(result)
    segments, joins = frame.clipped(plan.segments * factor), plan.joins * factor
    joins = joins[frame.holds(joins)]
    if not len(segments) + len(joins):
        return False
    draw_raised(sheet, frame.page(segments), joins=frame.page(joins))
    return True


def _draw_metal(sheet: Sheet, *, plan: PlanMap, frame: Frame, factor: float) -> None:
    if plan.metal is None:
        return
    corners = plan.metal.vertices * factor
    if plan.metal.kind == "points":
        draw_posts(sheet, frame.page(corners[frame.holds(corners)]))
        return
    last = None if plan.metal.closed else -1
    segments = np.stack([corners, np.roll(corners, -1, axis=0)], axis=1)[:last]
    draw_outline(sheet, frame.page(frame.clipped(segments)))


def _draw_worst(sheet: Sheet, *, plan: PlanMap, frame: Frame, factor: float) -> None:
    """Mark the worst place, and write its value where there is room beside it."""
    worst = plan.worst
    if worst is None:
        return
    feet = frame.page(np.multiply(worst.feet, factor))
    centre = feet.mean(axis=0)
    if len(feet) > 1:
        sheet.lines(frame_clip(frame, feet), width=5, casing=3)
        centre = np.clip(centre, frame.page(frame.low), frame.page(frame.high))
    draw_target(sheet, centre)
    sheet.reserve(Box(*(centre - 26), *(centre + 26)))
    text = plan.value_text(worst.value)
    sides = [(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, 1), (1, -1), (-1, -1)]
    if plan.metal is not None:
        away = _away(centre, corners=frame.page(plan.metal.vertices * factor), metal=plan.metal)
        sides.sort(key=lambda side: -float(np.dot(side, away)) / np.hypot(*side))
    free = []
    for across, up in sides:
        at = (float(centre[0] + 36 * across), float(centre[1] + 36 * up))
        anchor = (0.5 - 0.5 * across, 0.5 - 0.5 * up)
        box = sheet.text_box(at, text, size=title_type, bold=True, anchor=anchor)
        if frame.box.holds(box.grown(6)) and sheet.is_free(box, margin=2):
            free.append((at, anchor, box))
    clear = [
        item for item in free if not _crossed(item[2], plan=plan, frame=frame, factor=factor)
    ]
    for at, anchor, _ in (clear or free)[:1]:
        sheet.text(at, text, size=title_type, bold=True, anchor=anchor, backed=True)


def _away(centre: Floats, *, corners: Floats, metal: TouchableMetal) -> Floats:
    """Direction away from metal with corners in pixels, off its lines and the coloured part."""
    if metal.kind == "points":
        return centre - corners[np.linalg.norm(corners - centre, axis=1).argmin()]
    if metal.closed:  # the place may be on the outline itself
        return np.asarray(centre - corners.mean(axis=0))
    nearest = nearest_on_segments(centre[None], start=corners[:-1], end=corners[1:])
    return np.asarray(centre - nearest[0])


def _crossed(box: Box, *, plan: PlanMap, frame: Frame, factor: float) -> bool:
    """Whether the metal that is outlined runs through a box."""
    if plan.metal is None or plan.metal.kind == "points":
        return False
    corners = frame.page(plan.metal.vertices * factor)
    ends = np.stack([corners, np.roll(corners, -1, axis=0)], axis=1)
    inner = box.grown(8)
    page = Frame(inner, (inner.left, inner.bottom), (inner.right, inner.top))
    return bool(len(page.clipped(ends if plan.metal.closed else ends[:-1])))


def frame_clip(frame: Frame, segment: Floats) -> Floats:
    """Part of a segment in pixels that lies in the frame."""
    box = frame.box
    return Frame(box, (box.left, box.bottom), (box.right, box.top)).clipped(segment)
