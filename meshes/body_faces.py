"""Bodies in the mesh: solids of which the faces are faces of elements."""

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from ..solver.bodies import Ball, Cylinder, HalfSpace, Shape
from ..solver.model import Floats
from .body_edges import growth_at_edges
from .plan import MeshPlan

# Elements on a round face, in its radius: a half ball of such flat facets is 0.02 % of the
# resistance of a rod beside it off.
_round = 1 / 5
_beyond = 1.5  # how far out what goes on for ever is drawn, in radii of the mesh


def solids_of(shapes: Any, plan: MeshPlan, *, ball: int) -> list[tuple[int, int]]:
    """Solids of the bodies of a plan, each cut to the half-ball of soil."""
    found: list[tuple[int, int]] = []
    for body in plan.bodies:
        solid = _solid(shapes, body.shape, far=_beyond * plan.outer_radius, centre=plan.centre)
        found += shapes.intersect([(3, solid)], [(3, ball)], removeTool=False)[0]
    return found


def _solid(shapes: Any, shape: Shape, *, far: float, centre: tuple[float, float]) -> int:
    """Solid of a shape, no farther than `far`. [m]"""
    if isinstance(shape, Ball):
        x, y, depth = shape.centre
        return int(shapes.addSphere(x, y, -depth, shape.radius))
    bottom = min(shape.bottom, far)
    if isinstance(shape, Cylinder):
        x, y = shape.centre
        return int(shapes.addCylinder(x, y, -bottom, 0, 0, bottom - shape.top, shape.radius))
    corners = (
        _half_plane(shape, far=far, centre=centre)
        if isinstance(shape, HalfSpace)
        else shape.corners
    )
    points = [shapes.addPoint(x, y, -bottom) for x, y in corners]
    sides = [
        shapes.addLine(a, b) for a, b in zip(points, [*points[1:], points[0]], strict=True)
    ]
    face = shapes.addPlaneSurface([shapes.addCurveLoop(sides)])
    made = shapes.extrude([(2, face)], 0, 0, bottom - shape.top)
    return int(next(tag for dimension, tag in made if dimension == 3))


def _half_plane(shape: HalfSpace, *, far: float, centre: tuple[float, float]) -> Floats:
    """Corners of a rectangle that covers all of a half-plane near the centre, shape (4, 2)."""
    normal = shape.direction
    along = np.array([-normal[1], normal[0]])
    middle = np.asarray(centre) + float(shape.beyond(np.array([centre]))[0]) * normal
    right, left = middle - 2 * far * along, middle + 2 * far * along
    deep = 4 * far * normal
    return np.array([right, right + deep, left + deep, left])


def seeds_by_volume(
    gmsh: Any, seeds: Floats, volumes: Sequence[tuple[int, int]]
) -> Iterator[tuple[tuple[int, int], Floats]]:
    """Seeds of each volume that holds some."""
    left = seeds
    for dimension, tag in volumes:
        low, high = np.reshape(gmsh.model.getBoundingBox(dimension, tag), (2, 3))
        maybe = ((left >= low) & (left <= high)).all(axis=1)
        inside = np.array(
            [
                could and gmsh.model.isInside(dimension, tag, place) > 0
                for could, place in zip(maybe.tolist(), left.tolist(), strict=True)
            ],
            dtype=bool,
        )
        if inside.any():
            yield (dimension, tag), left[inside]
        left = left[~inside]


def sizes_of_curved(gmsh: Any, plan: MeshPlan) -> list[int]:
    """Fields that keep elements small on round faces, so that these stay round."""
    field, found = gmsh.model.mesh.field, []
    for body in plan.bodies:
        shape = body.shape
        if not isinstance(shape, Ball | Cylinder):
            continue
        size = _round * shape.radius
        faces = _round_faces(gmsh, shape)
        distance = field.add("Distance")
        field.setNumbers(distance, "SurfacesList", faces)
        field.setNumber(distance, "Sampling", 20)
        found.append(_growing(gmsh, distance, size=size, growth=plan.growth, plan=plan))
    return found


def sizes_on_edges(gmsh: Any, plan: MeshPlan) -> list[int]:
    """Fields that keep elements small at edges; edges of about the same size share one."""
    if plan.edges is None or not len(plan.edges.size):
        return []
    field, found = gmsh.model.mesh.field, []
    tags = np.array([gmsh.model.occ.addPoint(*place) for place in plan.edges.places])
    gmsh.model.occ.synchronize()
    size_class = np.round(4 * np.log2(plan.edges.size)).astype(int)
    for key in np.unique(size_class):
        chosen = size_class == key
        size = float(plan.edges.size[chosen].min())
        distance = field.add("Distance")
        field.setNumbers(distance, "PointsList", tags[chosen])
        found.append(_growing(gmsh, distance, size=size, growth=growth_at_edges, plan=plan))
    return found


def _growing(gmsh: Any, distance: int, *, size: float, growth: float, plan: MeshPlan) -> int:
    """Field of a size that grows with a field of distances."""
    field, far = gmsh.model.mesh.field, 4 * plan.outer_radius
    growing = field.add("Threshold")
    field.setNumber(growing, "InField", distance)
    field.setNumber(growing, "SizeMin", size)
    field.setNumber(growing, "DistMin", 0.5 * size)
    field.setNumber(growing, "SizeMax", size + growth * far)
    field.setNumber(growing, "DistMax", 0.5 * size + far)
    return int(growing)


def _round_faces(gmsh: Any, shape: Ball | Cylinder) -> list[int]:
    """Faces of the mesh that lie in the round face of a shape."""
    kind = "Sphere" if isinstance(shape, Ball) else "Cylinder"
    low, high = shape.bounds()
    found = []
    for dimension, tag in gmsh.model.getEntities(2):
        if gmsh.model.getType(dimension, tag) != kind:
            continue
        box = np.reshape(gmsh.model.getBoundingBox(dimension, tag), (2, 3))
        margin = 1e-3 * shape.radius
        if (box[0] >= low - margin).all() and (box[1] <= high + margin).all():
            found.append(tag)
    return found
