"""Electrode layouts that the field tests share, built as bare straight pieces."""

from dataclasses import replace
from itertools import pairwise

import numpy as np

from ohmscape.solver.model import Conductors

FOOT = 0.3048
INCH = 0.0254
EIGHT_FOOT_ROD = {"length": 8 * FOOT, "radius": 5 / 16 * INCH}


def rods(plan, *, length, radius, top=0.0):
    """Equal vertical rods at plan places, all of one group."""
    plan = np.atleast_2d(np.asarray(plan, dtype=float))
    start = np.column_stack([plan, np.full(len(plan), -top)])
    return Conductors.bare(start, end=start - [0.0, 0.0, length], radius=radius)


def rod(*, length, radius):
    """One rod driven from the surface."""
    return rods([0.0, 0.0], length=length, radius=radius)


def rod_pair(*, length, radius, spacing):
    return rods([[0.0, 0.0], [spacing, 0.0]], length=length, radius=radius)


def encased_rod(*, length, radius, shell_radius, shell_resistivity, cover=0.0):
    """A rod in a shell of backfill or concrete that goes on below its tip."""
    bare = rod(length=length, radius=radius)
    return replace(
        bare,
        sheath_radius=np.array([shell_radius]),
        sheath_resistivity=np.array([shell_resistivity]),
        sheath_cover=np.array([cover]),
    )


def half_spheroid(*, depth, radius, pieces=48):
    """Slender half spheroid below the surface, of short pieces with its radius at mid-piece."""
    # Even steps of the angle make pieces short where the radius changes fast.
    breaks = depth * np.sin(np.linspace(0.0, np.pi / 2, pieces + 1))
    middle = 0.5 * (breaks[:-1] + breaks[1:])
    zero = np.zeros(pieces)
    return Conductors.bare(
        np.column_stack([zero, zero, -breaks[:-1]]),
        end=np.column_stack([zero, zero, -breaks[1:]]),
        radius=radius * np.sqrt(1 - (middle / depth) ** 2),
    )


def wire(*, length, radius, depth):
    """Straight horizontal wire."""
    return Conductors.bare([0.0, 0.0, -depth], end=[length, 0.0, -depth], radius=radius)


def star(*, arms, arm, radius, depth, spread=2 * np.pi):
    """Horizontal wires from one point, evenly over an angle (an open one for a bend)."""
    angle = spread * np.arange(arms) / arms
    tips = np.column_stack([arm * np.cos(angle), arm * np.sin(angle), np.full(arms, -depth)])
    return Conductors.bare([[0.0, 0.0, -depth]] * arms, end=tips, radius=radius)


def right_angle(*, arm, radius, depth):
    return star(arms=2, arm=arm, radius=radius, depth=depth, spread=np.pi)


def ring(*, diameter, radius, depth, sides=48):
    """Circle drawn as a polygon of the circle's own length round."""
    angle = 2 * np.pi * np.arange(sides + 1) / sides
    reach = 0.5 * diameter * (np.pi / sides) / np.sin(np.pi / sides)
    corners = np.column_stack(
        [reach * np.cos(angle), reach * np.sin(angle), np.full(sides + 1, -depth)]
    )
    return Conductors.bare(corners[:-1], end=corners[1:], radius=radius)


def line_places(count, *, spacing):
    return np.column_stack([spacing * np.arange(count), np.zeros(count)])


def circle_places(count, *, spacing):
    """Even places on a circle, the chord between neighbours being the spacing."""
    angle = 2 * np.pi * np.arange(count) / count
    return (
        spacing / (2 * np.sin(np.pi / count)) * np.column_stack([np.cos(angle), np.sin(angle)])
    )


def outline_places(corners, *, spacing):
    """Places along a closed polygon at the spacing, which must divide its sides."""
    places = []
    for here, ahead in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        steps = round(float(np.linalg.norm(ahead - here)) / spacing)
        places += [here + k / steps * (ahead - here) for k in range(steps)]
    return np.array(places)


def square_places(count, *, spacing):
    """Hollow square of rods."""
    unit = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    return outline_places(count / 4 * spacing * unit, spacing=spacing)


def triangle_places(count, *, spacing):
    """Hollow equilateral triangle of rods."""
    unit = np.array([[0.0, 0.0], [1.0, 0.0], [0.5, np.sqrt(0.75)]])
    return outline_places(count / 3 * spacing * unit, spacing=spacing)


def grid(*, sides, lines, radius, depth):
    """Rectangular grid from the origin, cut at every crossing.

    `sides` are its lengths along x and y; `lines[0]` wires stand along x, `lines[1]` wires
    cross them.
    """
    x = np.linspace(0.0, sides[0], lines[0])
    y = np.linspace(0.0, sides[1], lines[1])
    along = [((a, v), (b, v)) for v in y for a, b in pairwise(x)]
    along += [((u, a), (u, b)) for u in x for a, b in pairwise(y)]
    plan = np.array(along)
    level = np.full((len(plan), 1), -depth)
    return Conductors.bare(
        np.hstack([plan[:, 0], level]), end=np.hstack([plan[:, 1], level]), radius=radius
    )


def together(*parts):
    """All pieces as one bonded group."""
    return Conductors.bare(
        np.concatenate([part.start for part in parts]),
        end=np.concatenate([part.end for part in parts]),
        radius=np.concatenate([part.radius for part in parts]),
    )


def square_grid_with_rods(places, *, side, lines, depth, radius, rod_length, rod_radius):
    """Square grid with rods hanging from it."""
    return together(
        grid(sides=(side, side), lines=(lines, lines), radius=radius, depth=depth),
        rods(places, length=rod_length, radius=rod_radius, top=depth),
    )


def in_groups(*parts):
    """Each part as an electrode group of its own."""
    return Conductors.bare(
        np.concatenate([part.start for part in parts]),
        end=np.concatenate([part.end for part in parts]),
        radius=np.concatenate([part.radius for part in parts]),
        group=np.repeat(np.arange(len(parts)), [len(part.start) for part in parts]),
    )


def moved(conductors, *, turn=0.0, shift=(0.0, 0.0), mirrored=False, scale=1.0):
    """Same metal mirrored in x = 0, turned about the vertical, scaled and shifted."""
    c, s = np.cos(turn), np.sin(turn)
    matrix = scale * np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
    if mirrored:
        matrix = matrix @ np.diag([-1.0, 1.0, 1.0])
    offset = [*shift, 0.0]
    return replace(
        conductors,
        start=conductors.start @ matrix.T + offset,
        end=conductors.end @ matrix.T + offset,
        radius=scale * conductors.radius,
        sheath_radius=scale * conductors.sheath_radius,
    )
