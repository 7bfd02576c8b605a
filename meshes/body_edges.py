"""Smaller elements at edges of bodies, where the field gets steep (`bodies.edges`)."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..solver.bodies.edges import Edges, edges_of, steepness
from ..solver.field.at_edges import contrast_of
from ..solver.model import Floats, Soil

growth_at_edges = 0.3
"""Of the size of elements over the distance from an edge."""
# Size at an edge of metal or of a void, over what the distance from metal asks for.
_smaller = 0.3
_steepest = 2 / 3  # power of the distance there
_hardly = 0.95  # powers above this are left alone
# Edges at which elements are this many times as large as at metal or at the nearest edge do not
# matter.
_nearest = 16.0
_most_halvings = 24
# Elements that each place adds: 43 to 85 beside prisms, 21 and 75 under cylinders.
_elements_each = 60


@dataclass(frozen=True)
class EdgeSizes:
    """Places on edges about an element apart, n of them, and the size of elements there.

    Attributes
    ----------
    places : ndarray of float, shape (n, 3)
        [m]
    size : ndarray of float, shape (n,)
        [m]
    """

    places: Floats
    size: Floats

    @property
    def elements(self) -> int:
        """Number of elements that are made for them, good to a half."""
        return _elements_each * len(self.size)


def sizes_at_edges(
    soil: Soil,
    *,
    size: Callable[[Floats], Floats],
    usual: float,
    centre: tuple[float, float],
    far: float,
) -> EdgeSizes:
    """Sizes at the edges of all bodies of a soil.

    Parameters
    ----------
    size : callable
        What the distance from metal asks for at points, shape (n, 3). [m]
    usual : float
        Largest size asked for at metal where no face is near. [m]
    centre, far
        Plan centre and radius of the mesh. [m]
    """
    places, sizes = [np.zeros((0, 3))], [np.zeros(0)]
    for number, body in enumerate(soil.bodies):
        edges = edges_of(body.shape, middle=centre, far=far)
        contrast, deep = contrast_of(soil, body=number), _depth_of_step(soil, body=number)
        for angle in np.unique(edges.angle):
            power = steepness(float(angle), contrast=contrast)
            if power > _hardly:
                continue
            share = 1 - (1 - _smaller) * min((1 - power) / (1 - _steepest), 1.0)
            found, wanted = _places_on(edges.of(edges.angle == angle), size=size)
            matter = wanted <= deep
            places.append(found[matter])
            sizes.append(share * wanted[matter])
    every, wanted = np.concatenate(places), np.concatenate(sizes)
    kept = wanted <= _nearest * min(usual, wanted.min(initial=np.inf))
    return EdgeSizes(every[kept], wanted[kept])


def _depth_of_step(soil: Soil, *, body: int) -> float:
    """How far the steep field at edges of a body reaches, infinite where it has no bound. [m]

    A poorer body in the surface is a step of it that shuts current out: from farther than the
    step is deep the surface looks flat. Edges of a thin sheet of better ground do not fade so,
    nor do those of a buried one.
    """
    one = soil.bodies[body]
    low, high = one.shape.bounds()
    if high[2] < 0.0 or one.within is not None:
        return np.inf
    top, bottom = (int(soil.layer_at(-z)) for z in (high[2], low[2]))
    poorer = one.void or one.resistivity >= max(soil.resistivity[top : bottom + 1])
    return float(-low[2]) if poorer else np.inf


def _places_on(edges: Edges, *, size: Callable[[Floats], Floats]) -> tuple[Floats, Floats]:
    """Middles of pieces of edges no longer than half of an element there, and its size."""
    start, end = edges.start, edges.end
    for _ in range(_most_halvings):
        middle = 0.5 * (start + end)
        wanted = size(middle)
        long = np.linalg.norm(end - start, axis=1) > 0.5 * wanted
        if not long.any():
            break
        start, end = (
            np.concatenate([start[~long], start[long], middle[long]]),
            np.concatenate([end[~long], middle[long], end[long]]),
        )
    return middle, wanted
