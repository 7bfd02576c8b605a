"""Outlines of bodies in the soil for pictures: seen from above, cut by a plane, as edges."""

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from ...solver.bodies import Ball, Body, Cylinder, HalfSpace, Prism, Shape
from ...solver.model import Floats
from .dashing import dashes
from .painting import Colour

_Corners = tuple[float, float] | Floats
# Unlike metal, which is black, and unlike the bands, which run from dark to light.
body_colour: Colour = (0.36, 0.14, 0.42)
body_colour_name = "#5c246b"
body_dash = dashes[3]
# For plots; a void is crossed, whatever its number.
_hatches = ("\\\\", "--", "||", "++")
# Directions of the lines of a hatching, in degrees, for sheets: none is that of what is unsafe.
_angles = (-60.0, 0.0, 90.0, -30.0)
_hatched = 36  # lines that hatch a body as large as a map
_sides = 72  # of what is drawn for a circle


def hatch_of(body: Body, *, number: int) -> str:
    """Hatching of a body in a plot."""
    return "xx" if body.void else _hatches[number % len(_hatches)]


def angles_of(body: Body, *, number: int) -> tuple[float, ...]:
    """Directions of the lines that hatch a body on a sheet. [°]"""
    return (45.0, -45.0) if body.void else (_angles[number % len(_angles)],)


def plan_outline(shape: Shape, *, low: _Corners, high: _Corners) -> Floats:
    """Corners of a body seen from above within a rectangle, shape (n, 2); none outside. [m]"""
    if isinstance(shape, Prism):
        outline = shape.corners
    elif isinstance(shape, HalfSpace):
        (a, b), (c, d) = low, high
        outline = _beyond(np.array([(a, b), (c, b), (c, d), (a, d)]), shape)
    else:
        deepest = 0.0 if isinstance(shape, Cylinder) else shape.centre[2]
        radius = shape.radius if deepest >= 0 or isinstance(shape, Cylinder) else shape.rim
        outline = _circle(shape.centre[:2], radius)
    return within(outline, low=low, high=high)


def drawn_in_plan(
    bodies: Sequence[Body], *, low: _Corners, high: _Corners
) -> list[tuple[Body, dict[str, Any]]]:
    """Bodies within a rectangle, each with what a page draws in plan, in metres.

    That is its ``name``, its ``outline``, the lines that ``hatch`` it, and where ``at`` its
    name stands.
    """
    gap = float(np.subtract(high, low).max()) / _hatched
    found = []
    for number, body in enumerate(bodies):
        outline = plan_outline(body.shape, low=low, high=high)
        if not len(outline):
            continue
        lines = [hatching(outline, gap=gap, angle=a) for a in angles_of(body, number=number)]
        drawn = {
            "name": body.name,
            "outline": outline.tolist(),
            "hatch": np.concatenate(lines).tolist(),
            "at": inner_place(outline).tolist(),
        }
        found.append((body, drawn))
    return found


def side_outline(shape: Shape, outline: Floats) -> list[tuple[float, float | None]]:
    """What is seen of a body from the south: (x, depth), None where that has no end. [m]

    Parameters
    ----------
    outline : array of shape (n, 2)
        As `plan_outline` gives it.
    """
    west, east = float(outline[:, 0].min()), float(outline[:, 0].max())
    if isinstance(shape, Ball):
        x, _, depth = shape.centre
        seen = within(
            _circle((x, depth), shape.radius), low=(west, 0.0), high=(east, shape.bottom)
        )
        return [(one, other) for one, other in seen.tolist()]
    bottom = None if np.isinf(shape.bottom) else float(shape.bottom)
    return [(west, shape.top), (east, shape.top), (east, bottom), (west, bottom)]


def cut_outlines(
    shape: Shape, *, origin: Floats, direction: Floats, start: float, end: float, depth: float
) -> list[Floats]:
    """Corners of what a vertical plane cuts out of a body, (distance along it, depth). [m]

    The plane goes through a plan place in a direction; it is shown from one distance to
    another and down to a depth.
    """
    if isinstance(shape, Ball):
        centre = np.array(shape.centre[:2]) - origin
        off = float(centre @ [-direction[1], direction[0]])
        if abs(off) >= shape.radius:
            return []
        circle = _circle(
            (float(centre @ direction), shape.centre[2]),
            float(np.sqrt(shape.radius**2 - off**2)),
        )
        found = [circle]
    else:
        a, b = origin + start * direction, origin + end * direction
        cuts = shape.wall_candidates(a, end=b)
        stops = np.array([0.0, *np.sort(cuts[(cuts > 0) & (cuts < 1)]), 1.0])
        middles = a + ((stops[:-1] + stops[1:]) / 2)[:, None] * (b - a)
        held = shape.beyond(middles) < 0
        bottom = min(shape.bottom, depth)
        found = [
            np.array([(low, shape.top), (high, shape.top), (high, bottom), (low, bottom)])
            for low, high in _runs(start + stops * (end - start), held)
        ]
    cut = (within(each, low=(start, 0.0), high=(end, depth)) for each in found)
    return [each for each in cut if len(each) > 2]


def film_lines(body: Body, outline: Floats) -> list[Floats]:
    """Sides of a body cut by a vertical plane that have its film, each of shape (2, 2).

    `outline` as `cut_outlines` gives it; where the picture cuts it off there is none.
    """
    if body.film is None:
        return []
    found = []
    for side in np.stack([outline, np.roll(outline, -1, axis=0)], axis=1):
        (_, one), (_, other) = side
        level = abs(one - other) < 1e-9
        if isinstance(body.shape, Ball):
            on = not level or one > 0
        elif level:
            on = any(
                name in body.film.faces and abs(one - depth) < 1e-9
                for name, depth in (("top", body.shape.top), ("bottom", body.shape.bottom))
            )
        else:
            on = "walls" in body.film.faces
        if on:
            found.append(side)
    return found


def edges(shape: Shape, *, low: _Corners, high: _Corners, depth: float) -> list[Floats]:
    """Edges of a body in a block of soil as lines, each of shape (n, 3), z up. [m]"""
    outline = plan_outline(shape, low=low, high=high)
    if not len(outline) or shape.top >= depth:
        return []
    if isinstance(shape, Ball):
        level = float(np.clip(shape.centre[2], 0.0, depth))
        rings = [_at(outline, level)]
        for direction in (np.array([1.0, 0.0]), np.array([0.0, 1.0])):
            middle = np.array(shape.centre[:2])
            reach = 1.01 * shape.radius
            for cut in cut_outlines(
                shape, origin=middle, direction=direction, start=-reach, end=reach, depth=depth
            ):
                plan = middle + cut[:, :1] * direction
                rings.append(_closed(np.column_stack([plan, -cut[:, 1]])))
        return rings
    bottom = min(shape.bottom, depth)
    every = max(1, len(outline) // 8) if isinstance(shape, Cylinder) else 1
    upright = [
        np.array([(*corner, -shape.top), (*corner, -bottom)]) for corner in outline[::every]
    ]
    return [_at(outline, shape.top), _at(outline, bottom), *upright]


def within(outline: Floats, *, low: _Corners, high: _Corners) -> Floats:
    """Part of a polygon in a rectangle, by Sutherland and Hodgman (1974), shape (n, 2)."""
    for axis in (0, 1):
        for limit, sign in ((low[axis], 1.0), (high[axis], -1.0)):
            if not len(outline):
                return np.zeros((0, 2))
            inner = sign * (outline[:, axis] - limit)
            outline = _kept(outline, inner)
    return outline


def hatching(outline: Floats, *, gap: float, angle: float) -> Floats:
    """Even lines in one direction over a polygon, shape (n, 2, 2)."""
    turn = np.radians(angle)
    along, across = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    x, y = outline @ along, outline @ across
    found = []
    for level in gap * np.arange(np.ceil(y.min() / gap), np.floor(y.max() / gap) + 1):
        crosses = (y > level) != (np.roll(y, -1) > level)
        rise = np.where(crosses, np.roll(y, -1) - y, 1.0)
        at = np.sort((x + (level - y) / rise * (np.roll(x, -1) - x))[crosses])
        for one, other in zip(at[::2], at[1::2], strict=True):
            found.append([one * along + level * across, other * along + level * across])
    return np.array(found).reshape(-1, 2, 2)


def inner_place(outline: Floats) -> Floats:
    """A place well inside a polygon, for its name, shape (2,)."""
    rows = hatching(outline, gap=max(float(np.ptp(outline[:, 1])), 1e-9) / 7.5, angle=0.0)
    if not len(rows):
        return np.asarray(outline.mean(axis=0))
    # The middle of the widest row; of rows as wide, the one nearest to the middle of all.
    width = np.round(np.linalg.norm(rows[:, 1] - rows[:, 0], axis=1), 6)
    middle = rows.mean(axis=1)
    off = np.abs(middle[:, 1] - outline[:, 1].mean())
    return np.asarray(middle[np.lexsort((off, -width))[0]])


def _beyond(outline: Floats, shape: HalfSpace) -> Floats:
    return _kept(outline, -shape.beyond(outline))


def _kept(outline: Floats, inner: Floats) -> Floats:
    """Part of a polygon where a linear value at its corners is not below zero."""
    found = []
    ends = np.roll(outline, -1, axis=0)
    for a, b, one, other in zip(outline, ends, inner, np.roll(inner, -1), strict=True):
        if one >= 0:
            found.append(a)
        if (one >= 0) != (other >= 0):
            found.append(a + one / (one - other) * (b - a))
    return np.array(found).reshape(-1, 2)


def _circle(centre: tuple[float, float], radius: float) -> Floats:
    angle = 2 * np.pi * np.arange(_sides) / _sides
    return np.array(centre) + radius * np.column_stack([np.cos(angle), np.sin(angle)])


def _runs(stops: Floats, held: np.ndarray) -> list[tuple[float, float]]:
    """Stretches between stops that are held, those that touch joined."""
    found: list[tuple[float, float]] = []
    for (low, high), holds in zip(pairwise(stops.tolist()), held, strict=True):
        if not holds:
            continue
        if found and found[-1][1] == low:
            low = found.pop()[0]
        found.append((low, high))
    return found


def _at(outline: Floats, depth: float) -> Floats:
    """A closed line at one depth, shape (n + 1, 3)."""
    return _closed(np.column_stack([outline, np.full(len(outline), -depth)]))


def _closed(points: Floats) -> Floats:
    return np.concatenate([points, points[:1]])
