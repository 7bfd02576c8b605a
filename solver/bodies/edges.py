r"""Edges of bodies, and how the field gets steep at them.

Where two faces meet at an angle :math:`\alpha`, the potential goes as the power
:math:`\lambda` of the distance, its gradient without bound where :math:`\lambda < 1`, with

.. math:: \sin \lambda \pi = \frac{|\sigma - \sigma'|}{\sigma + \sigma'}
          \sin \lambda |\pi - \alpha|

2 / 3 at the edge of a box of metal, or of an empty one, 1 where nothing is steep (the separated
solution in two wedges, even or odd about their middle; derived, and known since Kellogg 1974,
Applicable Analysis 4, 101-129; from memory). In the surface a face goes on in its image.
"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from ..arrays import Flags, Floats
from .ball import Ball
from .body import Shape
from .shapes import Cylinder, HalfSpace

_sides = 48  # straight pieces of a round edge
_smooth = 1e-3  # of a half turn: no edge is so blunt


@dataclass(frozen=True)
class Edges:
    """Straight pieces of the edges of a shape.

    Attributes
    ----------
    start, end : ndarray of float, shape (n, 3)
        z up. [m]
    angle : ndarray of float, shape (n,)
        Between the faces that meet, inside of the shape; in the surface, to the image. [rad]
    """

    start: Floats
    end: Floats
    angle: Floats

    def of(self, chosen: Flags) -> "Edges":
        """Some of the pieces."""
        return Edges(self.start[chosen], self.end[chosen], self.angle[chosen])

    def distance(self, points: Floats) -> Floats:
        """Distance of points, shape (n, 3), from the nearest edge; infinite without one. [m]"""
        least = np.full(len(points), np.inf)
        for a, b in zip(self.start, self.end, strict=True):
            along = b - a
            share = np.clip((points - a) @ along / (along @ along), 0.0, 1.0)
            off = points - a - share[:, None] * along
            least = np.minimum(least, np.einsum("ni,ni->n", off, off))
        return np.sqrt(least)


def edges_of(shape: Shape, *, middle: tuple[float, float], far: float) -> Edges:
    """Edges of a shape, of what goes on for ever as far as `far` from a plan place. [m]"""
    if isinstance(shape, Ball):
        angle = np.pi + 2 * np.arcsin(np.clip(shape.centre[2] / shape.radius, -1.0, 1.0))
        if shape.rim == 0 or abs(angle - np.pi) < _smooth * np.pi:
            return _joined([])
        return _joined([(*_ring(_circle(shape.centre[:2], shape.rim), 0.0), angle)])
    found: list[tuple[Floats, Floats, float]] = []
    levels = [shape.top] if shape.top > 0 else []
    levels += [shape.bottom] if np.isfinite(shape.bottom) else []
    if isinstance(shape, HalfSpace):
        across = np.array([-shape.direction[1], shape.direction[0]])
        foot = middle + float(shape.beyond(np.array([middle]))[0]) * shape.direction
        for level in levels:
            one, other = (np.array([[*(foot + k * far * across), -level]]) for k in (-1, 1))
            found.append((one, other, np.pi / 2))
        return _joined(found)
    if isinstance(shape, Cylinder):
        outline = _circle(shape.centre, shape.radius)
    else:
        outline, bottom = shape.corners, min(shape.bottom, far)
        before, after = (outline - np.roll(outline, k, axis=0) for k in (1, -1))
        turn = np.arctan2(-after[:, 1], -after[:, 0]) - np.arctan2(before[:, 1], before[:, 0])
        inner = np.pi - (np.mod(turn + np.pi, 2 * np.pi) - np.pi)
        for corner, angle in zip(outline, inner, strict=True):
            one, other = (np.array([[*corner, -depth]]) for depth in (shape.top, bottom))
            found.append((one, other, float(angle)))
    found += [(*_ring(outline, level), np.pi / 2) for level in levels]
    return _joined(found)


def steepness(angle: float, *, contrast: float) -> float:
    """Power of the distance from an edge with which the potential goes there, 0.5 to 1.

    Parameters
    ----------
    angle : float
        Between the faces, on either side. [rad]
    contrast : float
        Difference over sum of the conductivities of both sides, from -1 to 1.
    """
    turn, k = abs(np.pi - angle), abs(contrast)

    def excess(power: float) -> float:
        return float(np.sin(power * np.pi) - k * np.sin(power * turn))

    if k * np.sin(turn) <= 0.0 or excess(1.0) >= 0.0:
        return 1.0
    return float(brentq(excess, 0.5, 1.0)) if excess(0.5) > 0 else 0.5


def _ring(outline: Floats, level: float) -> tuple[Floats, Floats]:
    """Ends of the sides of an outline at a depth, shape (n, 3). [m]"""
    start = np.column_stack([outline, np.full(len(outline), -level)])
    return start, np.roll(start, -1, axis=0)


def _circle(centre: tuple[float, ...], radius: float) -> Floats:
    angle = 2 * np.pi * np.arange(_sides) / _sides
    return np.array(centre[:2]) + radius * np.column_stack([np.cos(angle), np.sin(angle)])


def _joined(parts: list[tuple[Floats, Floats, float]]) -> Edges:
    nothing = np.zeros((0, 3))
    return Edges(
        np.concatenate([nothing, *(start for start, _, _ in parts)]),
        np.concatenate([nothing, *(end for _, end, _ in parts)]),
        np.concatenate([np.zeros(0), *(np.full(len(s), a) for s, _, a in parts)]),
    )
