"""The block of soil in the 3-D view: how wide and deep, and where it is cut."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ...solver.model import Floats
from ...solver.results.result import Result
from ..canvas.bodies import plan_outline
from ..canvas.levels import round_step
from ..wording import short

_least_height = 0.25  # of the block, in its width, before depth is stretched


@dataclass(frozen=True)
class Block:
    """Block of soil that is shown, its front half cut away.

    Attributes
    ----------
    low, high : tuple of float, length 2
        Plan corners. [m]
    cut : float
        Place of the section along y. [m]
    depth : float
        Depth of its bottom. [m]
    stretch : float
        Depths are drawn this many times larger.
    """

    low: tuple[float, float]
    high: tuple[float, float]
    cut: float
    depth: float
    stretch: float

    @property
    def stretch_words(self) -> str:
        """What a caption says of it, after a word: ``, depth drawn 5 times larger``."""
        return f", depth drawn {short(self.stretch)} times larger" if self.stretch > 1 else ""

    def shown(self, points: Floats) -> Floats:
        """Points with their depth stretched."""
        return np.asarray(points, dtype=float) * [1.0, 1.0, self.stretch]


def shown_block(result: Result) -> Block:
    """Block that holds the mapped area and all metal, deep enough to show layers and bodies."""
    metal = result.solution.conductors
    corners = np.concatenate([metal.start, metal.end])
    deepest = -float(corners[:, 2].min())
    interfaces = result.solution.soil.interface_depth
    width = float(np.subtract(result.area.high, result.area.low).max())
    depth = 1.5 * deepest
    faces = [*interfaces, *_body_depths(result)]
    near = [face for face in faces if face < max(4 * deepest, 0.25 * width)]
    if near:
        depth = max(depth, 1.5 * float(max(near)))
    stretch = 1.0
    if depth < _least_height * width:
        # Rounded up to 1, 2, 2.5, 5, 10 … so that it can be named.
        stretch = round_step(_least_height * width / depth, parts=1)
    return Block(result.area.low, result.area.high, _section(result), depth, max(1.0, stretch))


def _body_depths(result: Result) -> list[float]:
    """Tops and bottoms of the bodies in the mapped area. [m]"""
    low, high = result.area.low, result.area.high
    shapes = [body.shape for body in result.solution.soil.bodies]
    seen = [each for each in shapes if len(plan_outline(each, low=low, high=high))]
    return [depth for each in seen for depth in (each.top, each.bottom)]


def _section(result: Result) -> float:
    """Place along y that has half of the metal in front, well inside the mapped area. [m]"""
    elements = result.elements
    y = np.round(elements.middle[:, 1], 6)
    order = np.argsort(y, kind="stable")
    share = np.cumsum(elements.length[order])
    median = y[order][np.searchsorted(share, 0.5 * share[-1] * (1 - 1e-9))]
    low, high = result.area.low[1], result.area.high[1]
    return float(np.clip(median, 0.75 * low + 0.25 * high, 0.25 * low + 0.75 * high))


def layer_bounds(result: Result, *, shape: Block) -> list[tuple[float, float]]:
    """Top and bottom of each layer that is in the block. [m]"""
    interfaces = result.solution.soil.interface_depth
    inside = [float(depth) for depth in interfaces if depth < shape.depth]
    edges = [0.0, *inside, shape.depth]
    return list(pairwise(edges))
