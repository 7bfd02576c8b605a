"""Boxes of the structured mesh bulged to half spheroids, with layer planes kept level."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from ..errors import CaseError
from ..model import Floats, Soil
from ..wording import percent_text
from .bodies import Fill, HalfSpheroid
from .lattice import Lattice

_clear = 0.05  # of the depth of a spheroid, between its lowest point and a layer plane
_blend = 3.0  # in sizes of the outermost spheroid: where the mesh is straight again


@dataclass(frozen=True)
class Shape:
    """A half spheroid and the shoulder where the side of its box meets the bottom."""

    spheroid: HalfSpheroid  # the curve
    radius: float  # the shoulder: a place on the curve [m]
    depth: float


def shapes_of(metal: HalfSpheroid, *, fill: Fill | None, soil: Soil) -> list[Shape]:
    """The metal and its fill, a half spheroid as well, as bulged boxes.

    `CaseError` if a layer plane passes too near a lowest point, or the fill's shoulder is not
    outside the metal's.
    """
    shapes = [_shape(metal, soil=soil, name="metal")]
    if fill is not None:
        around = HalfSpheroid(radius=fill.radius, bottom_depth=metal.bottom_depth + fill.cover)
        shapes.append(_shape(around, soil=soil, name="fill"))
        inner, outer = shapes
        if outer.depth <= inner.depth or outer.radius <= inner.radius:
            msg = (
                f"fill of {fill.radius:g} m radius with {fill.cover:g} m cover is too flat or "
                "too thin below the metal for this mesh; give it more cover"
            )
            raise CaseError(msg)
    return shapes


def _shape(spheroid: HalfSpheroid, *, soil: Soil, name: str) -> Shape:
    """Shoulder where the curve falls at 45 degrees, or deeper at the last plane it cuts."""
    a, c = spheroid.radius, spheroid.bottom_depth
    planes = soil.interface_depth
    near = planes[np.abs(planes - c) < _clear * c]
    if len(near):
        msg = (
            f"a layer plane at {near[0]:g} m passes within {percent_text(_clear)} of the "
            f"lowest point of the {name} at {c:g} m; move one of them"
        )
        raise CaseError(msg)
    depth = max(c**2 / np.hypot(a, c), planes[planes < c].max(initial=0.0))
    return Shape(spheroid, float(spheroid.radius_at(np.array(depth))), float(depth))


def bulged(mesh: Lattice, *, shapes: Sequence[Shape], planes: Floats) -> Lattice:
    """The mesh with the box of each shape, from the inside out, bulged to its curve.

    The mesh has lines that hit the shoulder of each shape; the depths of `planes` stay level.
    """
    if not shapes:
        return mesh
    r, depth = mesh.nodes.T
    outermost = shapes[-1].spheroid
    sideways = [
        (s.radius, np.where(depth < s.depth, s.spheroid.radius_at(depth) - s.radius, 0.0))
        for s in shapes
    ]
    downwards = [
        (s.depth, np.where(r < s.radius, s.spheroid.depth_at(r) - s.depth, 0.0)) for s in shapes
    ]
    still = np.zeros_like(r)
    taken = {s.depth for s in shapes}
    free = [(float(p), still) for p in planes if float(p) not in taken]
    end_r, end_depth = _blend * outermost.radius, _blend * outermost.bottom_depth
    moved = np.column_stack(
        [
            r + _between(r, [(0.0, still), *sideways, (end_r, still)]),
            depth + _between(depth, [(0.0, still), *downwards, *free, (end_depth, still)]),
        ]
    )
    return replace(mesh, nodes=moved)


def _between(x: Floats, knots: list[tuple[float, Floats]]) -> Floats:
    """Displacement interpolated linearly between knots that each have their own."""
    ordered = sorted(knots, key=lambda knot: knot[0])
    total = np.zeros_like(x)
    for (low, at_low), (high, at_high) in pairwise(ordered):
        inside = (x >= low) & (x < high)
        share = (x - low) / (high - low)
        total += np.where(inside, (1 - share) * at_low + share * at_high, 0.0)
    return total
