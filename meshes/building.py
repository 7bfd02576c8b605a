"""The mesh itself, made by gmsh."""

from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock
from typing import Any

import numpy as np
from scipy.spatial import cKDTree

from ..solver.errors import MeshError, MissingLibraryError
from ..solver.model import Floats, Integers, Mesh
from .body_faces import seeds_by_volume, sizes_of_curved, sizes_on_edges, solids_of
from .plan import Background, MeshPlan, Stack, widest_plane
from .sizing import points_along, slopes

_apt = "apt-get install -y libglu1-mesa libgl1 libxrender1 libxcursor1 libxft2 libxinerama1"
# Elements of a lower quality than this are improved. Flat ones between planes are bad and
# cannot get better, which gmsh tries for minutes: below a share of their flatness are others
# only. Four corners of the same triangles in two planes may lie in one plane; more effort takes
# such away.
_usual_threshold, _thresholds, _no_volume = 0.3, (0.5, 1.0, 2.0, 4.0), 1e-8
_one_at_a_time = Lock()  # gmsh knows one model for all threads
_hxt = 10  # the frontal algorithm loses embedded lines, Delaunay is slower


@contextmanager
def _generator() -> Iterator[Any]:
    """Give gmsh, initialised and quiet; finalised whatever happens."""
    try:
        import gmsh
    except OSError as error:
        msg = f"gmsh cannot load a system library ({error}); on Debian or Ubuntu: {_apt}"
        raise MissingLibraryError(msg) from error
    if gmsh.isInitialized():
        msg = "gmsh is already in use in this process; finalise it before meshing a case"
        raise MeshError(msg)
    gmsh.initialize(interruptible=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        # More than one thread gives another mesh at each run.
        gmsh.option.setNumber("General.NumThreads", 1)
        yield gmsh
    except MeshError:
        raise
    except Exception as error:
        msg = f"the mesh generator failed: {error}; change the element size a little"
        raise MeshError(msg) from error
    finally:
        gmsh.finalize()


def mesh_here(plan: MeshPlan) -> Mesh:
    """Mesh of a half-ball of soil after a plan, made in this process; the same each time.

    Raises
    ------
    MeshError
        If gmsh fails or is in use.
    MissingLibraryError
        If gmsh cannot load a system library.
    """
    with _one_at_a_time, _generator() as gmsh:
        _half_ball(gmsh, plan)
        _seed(gmsh, plan)
        _size_field(gmsh, plan)
        for name, value in {
            "MeshSizeExtendFromBoundary": 0,
            "MeshSizeFromPoints": 0,
            "MeshSizeFromCurvature": 0,
            "Algorithm3D": _hxt,
            "Optimize": 1,
            "RandomSeed": 1,
        }.items():
            gmsh.option.setNumber(f"Mesh.{name}", value)
        for more in _thresholds:
            threshold = min(_usual_threshold, more * plan.flat)
            gmsh.option.setNumber("Mesh.OptimizeThreshold", threshold)
            gmsh.model.mesh.generate(3)
            points, tetrahedra = _collect(gmsh)
            if _all_have_volume(points[tetrahedra]):
                break
            gmsh.model.mesh.clear()
    # The surface must be exactly z = 0: gmsh leaves it off by round-off.
    points[np.abs(points[:, 2]) < 1e-9 * plan.outer_radius, 2] = 0.0
    return plan.mesh(points, tetrahedra=tetrahedra)


def _all_have_volume(corners: Floats) -> bool:
    """Whether no element, shape (m, 4, 3), has its corners in a plane, as in a flat layer."""
    edges = corners[:, 1:] - corners[:, :1]
    size = np.linalg.norm(edges, axis=2).max(axis=1)
    return bool((np.abs(np.linalg.det(edges)) > _no_volume * size**3).all())


def _half_ball(gmsh: Any, plan: MeshPlan) -> None:
    """Lower half of a ball, cut by the planes and the faces of bodies.

    Planes of a stack get the same triangles. Of those that differ, edges of one plane would
    pass over those of the next closer than any element is wide, and no flat element would fit.
    """
    shapes = gmsh.model.occ
    x, y = plan.centre
    ball = shapes.addSphere(x, y, 0.0, plan.outer_radius, angle1=-np.pi / 2, angle2=0.0)
    outermost = widest_plane * plan.outer_radius
    flat = any(len(stack.planes) > 1 for stack in plan.stacks)
    stacked = [(stack, ring) for stack in plan.stacks for ring in _rings(stack, outermost)]
    discs = [(2, shapes.addDisk(x, y, -d, r, r)) for _, (ds, _, r) in stacked for d in ds]
    solids = solids_of(shapes, plan, ball=ball)
    tools = [*solids, *discs]
    made = iter(shapes.fragment([(3, ball)], tools)[1][1 + len(solids) :] if tools else [])
    shapes.synchronize()
    if solids:
        return
    taken: set[int] = set()
    for stack, (depths, least, far) in stacked:
        # What is left of each disc beside the smaller ones in its plane.
        faces = [({tag for _, tag in next(made)} - taken).pop() for _ in depths]
        taken |= set(faces)
        if flat:
            places = _crossings(plan, stack, least=least, far=far)
            for depth, face in zip(depths, faces, strict=True):
                _embed(gmsh, np.column_stack([places, np.full(len(places), -depth)]), 2, face)
        for depth, face in zip(depths[1:], faces[1:], strict=True):
            down = np.eye(4)
            down[2, 3] = depths[0] - depth
            gmsh.model.mesh.setPeriodic(2, [face], faces[:1], down.ravel())


def _rings(stack: Stack, outermost: float) -> list[tuple[list[float], float, float]]:
    """Depths that go beyond a radius, that radius, and the next, from the nearest in. [m]"""
    reach = [(depth, min(radius, outermost)) for depth, radius in stack.planes]
    found, least = [], 0.0
    for far in sorted({radius for _, radius in reach}):
        found.append(([depth for depth, radius in reach if radius >= far], least, far))
        least = far
    return found


def _crossings(plan: MeshPlan, stack: Stack, *, least: float, far: float) -> Floats:
    """Places in plan of metal in or beside a stack, in a ring of its planes, shape (n, 2)."""
    seeds, size = points_along(plan.start, end=plan.end, element_size=plan.element_size)
    depths = np.array([depth for depth, _ in stack.planes])
    beside = np.abs(seeds[:, 2:] + depths).min(axis=1) <= 0.5 * size
    distance = np.linalg.norm(seeds[:, :2] - plan.centre, axis=1)
    inside = (distance < far - 0.5 * size) & ((distance > least + 0.5 * size) | (least == 0.0))
    seeds, size = seeds[beside & inside], size[beside & inside]
    return _apart(seeds * [1.0, 1.0, 0.0], size)[:, :2]


def _seed(gmsh: Any, plan: MeshPlan) -> None:
    """Vertices on the metal, so that gmsh, which samples the size field, cannot miss it."""
    volumes, seeds = gmsh.model.getEntities(3), _seeds(plan)
    if len(volumes) == 1:
        _embed(gmsh, seeds, *volumes[0])
        return
    for volume, places in seeds_by_volume(gmsh, seeds, volumes):
        _embed(gmsh, places, *volume)


def _embed(gmsh: Any, places: Floats, dimension: int, tag: int) -> None:
    """Make places vertices of the mesh of a face or volume."""
    if len(places):
        tags = [gmsh.model.occ.addPoint(*place) for place in places]
        gmsh.model.occ.synchronize()
        gmsh.model.mesh.embed(0, tags, dimension, tag)


def _seeds(plan: MeshPlan) -> Floats:
    """Places on the metal an element apart, clear of each other and of every plane."""
    seeds, size = points_along(plan.start, end=plan.end, element_size=plan.element_size)
    for plane in (0.0, *(-depth for depth, _ in plan.planes)):
        clear = np.abs(seeds[:, 2] - plane) > 0.5 * size
        seeds, size = seeds[clear], size[clear]
    for body in plan.bodies:
        clear = body.shape.distance(seeds) > 0.5 * size
        seeds, size = seeds[clear], size[clear]
    return _apart(seeds, size)


def _apart(seeds: Floats, size: Floats) -> Floats:
    """Those of places that are not much closer to one before them than an element."""
    kept = np.ones(len(seeds), dtype=bool)
    close = cKDTree(seeds).query_pairs(float(size.max(initial=0.0)), output_type="ndarray")
    for first, second in close[np.lexsort(close.T[::-1])]:
        gap = np.linalg.norm(seeds[first] - seeds[second])
        if kept[first] and gap < 0.7 * max(size[first], size[second]):
            kept[second] = False
    return seeds[kept]


def _size_field(gmsh: Any, plan: MeshPlan) -> None:
    """Size that grows with distance from the metal.

    Pieces of about the same size share one distance field, sampled about once an element;
    the pieces are free curves that the mesh does not contain.
    """
    shapes, field = gmsh.model.occ, gmsh.model.mesh.field
    length = plan.length
    size_class = np.round(4 * np.log2(plan.element_size)).astype(int)
    samples = np.clip(np.ceil(1.5 * length / plan.element_size) + 1, 3, 2000).astype(int)
    sample_class = np.ceil(2 * np.log2(samples)).astype(int)
    curves = [
        shapes.addLine(shapes.addPoint(*a), shapes.addPoint(*b))
        for a, b in zip(plan.start, plan.end, strict=True)
    ]
    shapes.synchronize()
    tags = np.array(curves)
    far = 4 * plan.outer_radius
    fields = []
    for key in sorted(set(zip(size_class.tolist(), sample_class.tolist(), strict=True))):
        chosen = (size_class == key[0]) & (sample_class == key[1])
        size = float(plan.element_size[chosen].min())
        distance = field.add("Distance")
        field.setNumbers(distance, "CurvesList", tags[chosen])
        field.setNumber(distance, "Sampling", int(samples[chosen].max()))
        for first, level, growth in slopes(plan.growth):
            growing = field.add("Threshold")
            field.setNumber(growing, "InField", distance)
            field.setNumber(growing, "SizeMin", first * size)
            field.setNumber(growing, "DistMin", level * size)
            field.setNumber(growing, "SizeMax", first * size + growth * far)
            field.setNumber(growing, "DistMax", level * size + far)
            fields.append(growing)
    fields += sizes_of_curved(gmsh, plan)
    fields += sizes_on_edges(gmsh, plan)
    if plan.background is not None:
        fields.append(_background_field(gmsh, plan.background))
    smallest = field.add("Min")
    field.setNumbers(smallest, "FieldsList", fields)
    field.setAsBackgroundMesh(smallest)


def _background_field(gmsh: Any, background: Background) -> int:
    """Field of the sizes of a background; gmsh takes the nearest where it ends."""
    corners = background.mesh.tetrahedra
    places = np.swapaxes(background.mesh.points[corners], 1, 2).reshape(-1, 12)
    data = np.concatenate([places, background.size[corners]], axis=1)
    view = gmsh.view.add("size")
    gmsh.view.addListData(view, "SS", len(corners), data.ravel())
    field = gmsh.model.mesh.field
    sizes = field.add("PostView")
    field.setNumber(sizes, "ViewTag", view)
    field.setNumber(sizes, "UseClosest", 1)
    return int(sizes)


def _collect(gmsh: Any) -> tuple[Floats, Integers]:
    """Vertices and tetrahedra, without the nodes on the free curves."""
    tags, coordinates, _ = gmsh.model.mesh.getNodes()
    kinds, _, nodes = gmsh.model.mesh.getElements(3)
    if 4 not in kinds:
        msg = "the mesh generator made no tetrahedra; change the element size a little"
        raise MeshError(msg)
    corners = nodes[list(kinds).index(4)].astype(np.int64).reshape(-1, 4)
    used, tetrahedra = np.unique(corners, return_inverse=True)
    row = np.full(int(tags.max()) + 1, -1, dtype=np.int64)
    row[tags.astype(np.int64)] = np.arange(len(tags))
    points = coordinates.reshape(-1, 3)[row[used]]
    return np.ascontiguousarray(points), tetrahedra.reshape(-1, 4)
