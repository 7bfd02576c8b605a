"""Plan maps of the surface: potential, touch voltage on each metal, step voltage."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from scipy.spatial import Delaunay

from ..solver.model import Floats, Integers
from ..solver.places import TouchableMetal
from ..solver.result import Result
from ..solver.worst import WorstVoltage
from .frame import Frame, draw_scale_bar
from .legend import (
    draw_bands,
    draw_group_key,
    draw_heading,
    draw_key_line,
    draw_outline,
    draw_posts,
    draw_target,
    group_dash,
)
from .levels import Levels, band_colours, contour_levels
from .offscreen import graphics
from .sheet import Box, Sheet, grey
from .wording import footer, length_unit, place_text, scaled_unit, with_unit

page_size = (2000, 1500)
_room = Box(150, 160, 1450, 1290)
_panel = Box(1510, 160, 1960, 1290)
_type = 24
_fewest = 60  # samples across a view; a coarser map is sampled anew


@dataclass(frozen=True)
class PlanMap:
    """One quantity on the surface, and how to name it.

    Attributes
    ----------
    heading : tuple of str
        What it is, then between which points it is.
    legend : str
        Name in the legend.
    low, high : tuple of float, length 2
        Corners of the view. [m]
    places : ndarray of float, shape (n, 2)
        [m]
    triangles : ndarray of int, shape (m, 3)
    values : ndarray of float, shape (n,)
        [V]
    worst : WorstVoltage or None
        Marked with its value.
    metal : TouchableMetal or None
        Outlined; the map is blank out of its reach.
    """

    heading: tuple[str, ...]
    legend: str
    low: tuple[float, float]
    high: tuple[float, float]
    places: Floats
    triangles: Integers
    values: Floats
    worst: WorstVoltage | None = None
    metal: TouchableMetal | None = None


def potential_map(result: Result) -> PlanMap:
    """Map of the surface potential."""
    surface, area = result.surface, result.area
    return PlanMap(
        heading=(
            "Surface potential",
            "Between each point of the soil surface and remote earth.",
        ),
        legend="Surface potential",
        low=area.low,
        high=area.high,
        places=surface.places,
        triangles=surface.triangles,
        values=surface.potential,
    )


def step_map(result: Result) -> PlanMap:
    """Map of the largest step voltage from each place."""
    pace = _length(result.surface.pace, result=result)
    worst = next((item for item in result.worst if item.kind == "step"), None)
    return replace(
        potential_map(result),
        heading=(
            "Step voltage",
            f"Between a foot at each point and a foot {pace} away, in the worst direction; "
            "prospective.",
        ),
        legend="Step voltage",
        values=result.surface.step,
        worst=worst,
    )


def touch_map(result: Result, *, metal: TouchableMetal) -> PlanMap | None:
    """Map of the touch voltage on one metal; None where nobody in the area can reach it."""
    low, high = _view(result, metal=metal)
    if not (np.array(high) > low).all():
        return None
    places, triangles, potential = _samples(result, low=low, high=high)
    places, triangles, potential = _finer(
        places, triangles=triangles, values=potential, metal=metal
    )
    if not metal.within_reach(places).any():
        return None
    owner = result.group_names[metal.group]
    reach = _length(metal.reach, result=result)
    worst = [w for w in result.worst if w.kind == "touch" and w.name == metal.name]
    return PlanMap(
        heading=(
            f"Touch voltage: {metal.name}",
            f"Between '{metal.name}', at the potential of electrode '{owner}', and a foot at "
            f"each point within {reach} of it; prospective. Blank: out of reach.",
        ),
        legend="Touch voltage",
        low=low,
        high=high,
        places=places,
        triangles=triangles,
        values=np.abs(result.operating.voltage[metal.group] - potential),
        worst=worst[0] if worst else None,
        metal=metal,
    )


def draw_map(result: Result, *, plan: PlanMap, path: Path) -> Path:
    """Draw one map as a PNG picture.

    Parameters
    ----------
    result : Result
        For the electrodes and units.
    plan : PlanMap
        What to draw.
    path : Path
        File to write.

    Returns
    -------
    path : Path
    """
    sheet = Sheet(page_size)
    length = length_unit(result.units)
    low, high = (tuple(np.multiply(corner, length.factor)) for corner in (plan.low, plan.high))
    frame = Frame.equal_scale(_room, low=low, high=high)
    mesh, shown, weights = _flat_mesh(plan, frame=frame, factor=length.factor)
    levels = contour_levels(shown, weights=weights)
    if plan.worst is not None:  # found by refinement, so it may lie above every sample
        levels = replace(levels, high=max(levels.high, plan.worst.voltage))
    unit = scaled_unit(max(abs(levels.low), abs(levels.high)), symbol="V")
    colours = band_colours(levels.bands)
    draw_heading(sheet, title=result.title, lines=plan.heading, left=60)
    bands, edges = banded(mesh, levels=levels)
    sheet.polygons(bands, colours=colours[bands.cell_data["Scalars"].astype(int)])
    contours = polylines(edges)
    pieces = [np.stack([line[:-1], line[1:]], axis=1) for line, _ in contours]
    sheet.lines(np.concatenate([np.zeros((0, 2, 2)), *pieces]), width=2)
    rods = _draw_electrodes(sheet, result=result, frame=frame, factor=length.factor)
    _draw_metal(sheet, plan=plan, frame=frame, factor=length.factor)
    frame.draw_axes(sheet, names=(f"x [{length.symbol}]", f"y [{length.symbol}]"))
    _draw_worst(sheet, plan=plan, frame=frame, factor=length.factor)
    narrow = plan.metal is not None and plan.metal.kind != "polygon"
    label_contours(
        sheet, contours=contours, frame=frame, factor=unit.factor, most=1 if narrow else 3
    )
    _draw_panel(
        sheet, result=result, plan=plan, levels=levels, colours=colours, rods=rods, frame=frame
    )
    sheet.text((60, 24), footer, size=20, colour=grey)
    return sheet.save(path)


def _length(value: float, *, result: Result) -> str:
    unit = length_unit(result.units)
    return f"{value * unit.factor:.3g} {unit.symbol}"


def _view(
    result: Result, *, metal: TouchableMetal
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Corners of the mapped area round a metal and its reach."""
    low, high = metal.vertices.min(axis=0), metal.vertices.max(axis=0)
    margin = metal.reach + 0.15 * (float((high - low).max()) + 2 * metal.reach)
    first = np.maximum(low - margin, result.area.low)
    last = np.minimum(high + margin, result.area.high)
    return (float(first[0]), float(first[1])), (float(last[0]), float(last[1]))


def _samples(
    result: Result, *, low: tuple[float, float], high: tuple[float, float]
) -> tuple[Floats, Integers, Floats]:
    """Samples of the surface potential in a view, taken anew if the map is coarse there."""
    surface = result.surface
    span = np.subtract(high, low)
    if span.max() / result.area.spacing >= _fewest:
        return surface.places, surface.triangles, surface.potential
    count = np.maximum(2, np.round(span / span.max() * 2 * _fewest)).astype(int)
    axes = [np.linspace(a, b, n + 1) for a, b, n in zip(low, high, count, strict=True)]
    places = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 2)
    triangles = Delaunay(places).simplices.astype(np.int64)
    return places, triangles, result.field.surface_potential(places)


def _finer(
    places: Floats, *, triangles: Integers, values: Floats, metal: TouchableMetal
) -> tuple[Floats, Integers, Floats]:
    """Triangles near the edge of the reach cut in 16, so that the edge is drawn smoothly."""
    for _ in range(2):
        gap = metal.distance(places)[triangles]
        sides = places[triangles] - np.roll(places[triangles], 1, axis=1)
        longest = np.linalg.norm(sides, axis=2).max(axis=1)
        edge = (gap.min(axis=1) - longest < metal.reach) & (
            gap.max(axis=1) + longest > metal.reach
        )
        cut = triangles[edge]
        pairs = np.sort(
            np.concatenate([cut[:, [0, 1]], cut[:, [1, 2]], cut[:, [2, 0]]]), axis=1
        )
        unique, row = np.unique(pairs, axis=0, return_inverse=True)
        middle = len(places) + row.reshape(3, -1)
        a, b, c = cut.T
        ab, bc, ca = middle
        smaller = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
        places = np.concatenate([places, places[unique].mean(axis=1)])
        values = np.concatenate([values, values[unique].mean(axis=1)])
        cells = [np.column_stack(corners) for corners in smaller]
        triangles = np.concatenate([triangles[~edge], *cells])
    return places, triangles, values


def _flat_mesh(plan: PlanMap, *, frame: Frame, factor: float) -> tuple[Any, Floats, Floats]:
    """Triangles in pixels, cut at the reach and the frame; their values and weights."""
    pv = graphics()
    points = np.column_stack([frame.page(plan.places * factor), np.zeros(len(plan.places))])
    cells = np.column_stack([np.full(len(plan.triangles), 3), plan.triangles])
    mesh = pv.PolyData(points, faces=cells.ravel())
    mesh.point_data["value"] = plan.values
    if plan.metal is not None:
        mesh.point_data["gap"] = plan.metal.distance(plan.places) - plan.metal.reach
        mesh = mesh.clip_scalar(scalars="gap", value=1e-9 * plan.metal.reach)
        for axis, normal in enumerate(("x", "y")):
            for side, invert in (("low", False), ("high", True)):
                at = frame.page(np.array(getattr(frame, side)))
                origin = [0.0, 0.0, 0.0]
                origin[axis] = float(at[axis])
                mesh = mesh.clip(normal=normal, origin=origin, invert=invert)
    mesh = mesh.extract_surface(algorithm="dataset_surface").triangulate()
    values = np.asarray(mesh.point_data["value"])
    faces = mesh.regular_faces
    sizes = mesh.compute_cell_sizes(length=False, volume=False)["Area"]
    weights = np.bincount(faces.ravel(), weights=np.repeat(sizes, 3), minlength=len(values))
    mesh.point_data.clear()
    mesh.point_data["value"] = values
    return mesh, values, weights


def banded(mesh: Any, *, levels: Levels) -> tuple[Any, Any]:
    """Mesh cut along the levels, its cells numbered by band, and the lines between them."""
    from vtkmodules.vtkFiltersModeling import vtkBandedPolyDataContourFilter

    pv = graphics()
    mesh.set_active_scalars("value")
    cutter = vtkBandedPolyDataContourFilter()
    cutter.SetInputData(mesh)
    edge = 1e-6 * max(levels.high - levels.low, abs(levels.high), 1e-30)
    bounds = [levels.low - edge, *levels.inner, levels.high + edge]
    cutter.SetNumberOfContours(len(bounds))
    for k, value in enumerate(bounds):
        cutter.SetValue(k, float(value))
    cutter.SetScalarModeToIndex()
    cutter.Update()
    bands = pv.wrap(cutter.GetOutput())
    lines = mesh.contour(levels.inner, scalars="value") if len(levels.inner) else pv.PolyData()
    return bands, lines


def polylines(edges: Any) -> list[tuple[Floats, float]]:
    """Contours as polylines in pixels with their value, the longest first."""
    if edges.n_points == 0:
        return []
    joined = edges.strip(join=True, max_length=100_000)
    values = np.asarray(joined.point_data["value"])
    found, at = [], 0
    cells = joined.lines
    while at < len(cells):
        rows = cells[at + 1 : at + 1 + cells[at]]
        found.append((np.asarray(joined.points[rows][:, :2], float), float(values[rows[0]])))
        at += 1 + cells[at]
    length = [float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum()) for line, _ in found]
    order = np.argsort(-np.array(length), kind="stable")
    return [found[k] for k in order if length[k] > 0]


def label_contours(
    sheet: Sheet,
    *,
    contours: list[tuple[Floats, float]],
    frame: Frame,
    factor: float,
    most: int = 3,
) -> None:
    """Write values on contours that have room, where they are straight and nothing else is."""
    size = 20
    per_level: dict[float, int] = {}
    for line, value in contours:
        text = f"{value * factor:.6g}".replace("-", "−")
        width = sheet.text_size(text, size=size)[0]
        steps = np.linalg.norm(np.diff(line, axis=0), axis=1)
        along = np.concatenate([[0.0], np.cumsum(steps)])
        if along[-1] < 3 * width or per_level.get(value, 0) >= most:
            continue
        for share in (0.5, 0.3, 0.7, 0.15, 0.85, 0.4, 0.6, 0.05, 0.95):
            at = [float(np.interp(share * along[-1], along, line[:, k])) for k in (0, 1)]
            box = sheet.text_box((at[0], at[1]), text, size=size, anchor=(0.5, 0.5))
            if sheet.is_free(box) and frame.box.holds(box.grown(6)):
                sheet.text((at[0], at[1]), text, size=size, anchor=(0.5, 0.5), backed=True)
                per_level[value] = per_level.get(value, 0) + 1
                break


def _draw_electrodes(sheet: Sheet, *, result: Result, frame: Frame, factor: float) -> bool:
    """Draw the metal as lines by group and rods as dots; gives whether there are rods."""
    metal = result.solution.conductors
    ends = np.stack([metal.start[:, :2], metal.end[:, :2]], axis=1) * factor
    plan_length = np.linalg.norm(metal.end[:, :2] - metal.start[:, :2], axis=1)
    flat = plan_length > 1e-6 * metal.length
    for group in range(len(result.group_names)):
        chosen = ends[flat & (metal.group == group)]
        segments = frame.page(frame.clipped(chosen))
        sheet.lines(segments, width=4, dash=group_dash(group), casing=2.5)
    steep = plan_length < 0.5 * metal.length
    tops = np.where((metal.start[:, 2] > metal.end[:, 2])[:, None], ends[:, 0], ends[:, 1])
    dots = np.unique(np.round(tops[steep], 9), axis=0)
    dots = dots[frame.holds(dots)]
    sheet.dots(frame.page(dots), radius=7 if len(dots) < 200 else 4, colour=(0.0, 0.0, 0.0))
    return bool(len(dots))


def _draw_metal(sheet: Sheet, *, plan: PlanMap, frame: Frame, factor: float) -> None:
    if plan.metal is None:
        return
    corners = plan.metal.vertices * factor
    if plan.metal.kind == "points":
        draw_posts(sheet, frame.page(corners[frame.holds(corners)]))
        return
    last = None if plan.metal.kind == "polygon" else -1
    segments = np.stack([corners, np.roll(corners, -1, axis=0)], axis=1)[:last]
    draw_outline(sheet, frame.page(frame.clipped(segments)))


def _draw_worst(sheet: Sheet, *, plan: PlanMap, frame: Frame, factor: float) -> None:
    """Mark the worst place, and write its value where there is room beside it."""
    worst = plan.worst
    if worst is None:
        return
    centre = frame.page(np.multiply(worst.foot, factor))
    if worst.other_foot is not None:
        other = frame.page(np.multiply(worst.other_foot, factor))
        middle = 0.5 * (centre + other)
        sheet.lines(frame_clip(frame, np.stack([centre, other])), width=5, casing=3)
        centre = np.clip(middle, frame.page(frame.low), frame.page(frame.high))
    draw_target(sheet, centre)
    sheet.reserve(Box(*(centre - 26), *(centre + 26)))
    text = with_unit(worst.voltage, symbol="V")
    sides = [(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, 1), (1, -1), (-1, -1)]
    if plan.metal is not None:  # away from the metal, off the coloured part
        corners = frame.page(plan.metal.vertices * factor)
        away = centre - corners[np.linalg.norm(corners - centre, axis=1).argmin()]
        sides.sort(key=lambda side: -float(np.dot(side, away)) / np.hypot(*side))
    for across, up in sides:
        at = (float(centre[0] + 36 * across), float(centre[1] + 36 * up))
        anchor = (0.5 - 0.5 * across, 0.5 - 0.5 * up)
        box = sheet.text_box(at, text, size=28, bold=True, anchor=anchor)
        if frame.box.holds(box.grown(6)) and sheet.is_free(box, margin=2):
            sheet.text(at, text, size=28, bold=True, anchor=anchor, backed=True)
            return


def frame_clip(frame: Frame, segment: Floats) -> Floats:
    """Part of a segment in pixels that lies in the frame."""
    box = frame.box
    return Frame(box, (box.left, box.bottom), (box.right, box.top)).clipped(segment)


def _draw_panel(
    sheet: Sheet,
    *,
    result: Result,
    plan: PlanMap,
    levels: Levels,
    colours: Floats,
    rods: bool,
    frame: Frame,
) -> None:
    """Legend, key and scale bar right of the map."""
    length = length_unit(result.units)
    unit = scaled_unit(max(abs(levels.low), abs(levels.high)), symbol="V")
    left = frame.box.right + 60
    room = Box(left, 660, _panel.right, _panel.top)
    y = draw_bands(
        sheet, box=room, title=plan.legend, levels=levels, colours=colours, unit=unit
    )
    y = draw_group_key(sheet, box=Box(left, 0, _panel.right, y), result=result)
    entries = [("rod", "rod, or steep conductor, from above")] if rods else []
    if plan.metal is not None:
        kind = "post" if plan.metal.kind == "points" else "metal"
        entries.append((kind, f"{plan.metal.name} (touched)"))
    if plan.worst is not None:
        place = place_text(plan.worst.foot, unit=length, step=0.1)
        volts = with_unit(plan.worst.voltage, symbol="V")
        entries.append(("worst", f"worst: {volts}, foot at {place}"))
    for kind, text in entries:
        y = draw_key_line(sheet, at=(left, y), text=text, width=_panel.right - left, kind=kind)
    draw_scale_bar(
        sheet,
        at=(left, _room.bottom),
        pixels_per_unit=float(frame.scale[0]),
        symbol=length.symbol,
        room=350,
    )
