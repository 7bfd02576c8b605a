"""Whether the arrays of a result fit one another: files of early formats have no hashes."""

from collections.abc import Mapping
from operator import attrgetter
from typing import Any

import numpy as np

from ..field.solution import Solution
from ..model import Integers
from .result import Result

# Of each array its dimensions, numbers or names of numbers that the first array with them
# fixes; of integers that count something also what they count, after ``<``.
_metal = """
conductors.start pieces 3
conductors.end pieces 3
conductors.radius pieces
conductors.group pieces < groups
conductors.part pieces < parts
conductors.contact pieces
conductors.sheath_radius pieces
conductors.sheath_resistivity pieces
conductors.sheath_cover pieces
conductors.plate pieces
conductors.corners pieces 4 3
"""
_sources = """
{0}.start sources 3
{0}.end sources 3
{0}.series sources
{0}.layer sources < media
{0}.piece sources < pieces
{0}.group sources < groups
"""
_solution = f"""
{_metal}
mesh.points points 3
mesh.tetrahedra elements 4 < points
mesh.element_size pieces
mesh.spread pieces
{_sources.format("sources")}
sources.radius sources
sources.spread sources
sources.known_face sources
sources.stretch sources
sources.apart sources
sources.plate sources
sources.corners sources 4 3
unknowns groups unknowns
source_current groups sources
"""
_stretches = """
piece stretches < pieces
begin stretches
end stretches
element_size stretches
spread stretches
apart stretches
"""
_second = f"""
{_metal}
{_sources.format("wires")}
wires.face sources
wires.pair sources
current groups sources
"""
_point = """
bonded_set groups < sets
voltage groups
current groups
resistance sets sets
"""
_surface = """
places places 2
triangles triangles 3 < places
potential places
step places
step_direction places
touch metals places
"""
_judged = """
share places
step places
step_direction places
outline corners 2
"""
_model = """
resistivity_deviation layers
thickness_deviation planes
resistivity_range layers 2
thickness_range planes 2
resistivity_envelope layers 2
thickness_envelope planes 2
depth_envelope planes 2
resistivity_resolved layers
thickness_resolved planes
apparent_resistivity readings
residual readings
outlier readings
"""


def require_fitting(result: Result) -> None:
    """Raise `ValueError` on an array that does not fit the others of its result."""
    groups = len(result.group_names)
    point = result.operating
    sizes = {"groups": groups, "parts": len(result.solution.conductors.part_names)}
    for name, solution in (("solution", result.solution), ("coarse", result.coarse)):
        media = len(solution.soil.resistivity) + len(solution.soil.bodies)
        given = {**sizes, "media": media, "unknowns": _unknowns(solution)}
        _hold(solution, name, _solution, given)
        if solution.mesh.stretches is not None:
            pieces = {"pieces": len(solution.twin.piece)}
            _hold(solution.mesh.stretches, f"{name}.mesh.stretches", _stretches, pieces)
    _hold(point, "operating", _point, sizes | {"sets": len(point.resistance)})
    if result.operation is not None:
        own = {"sets": len(result.operation.point.resistance)}
        _hold(result.operation.point, "operation.point", _point, sizes | own)
        nodes = {"nodes": len(result.operation.nodes)}
        _hold(result.operation, "operation", "node_voltage nodes", nodes)
    places = {"places": len(result.surface.places), "metals": len(result.metals)}
    _hold(result.surface, "surface", _surface, places)
    for number, metal in enumerate(result.metals):
        _hold(metal, f"metals[{number}]", "vertices corners 2", {})
    for number, profile in enumerate(result.profiles):
        _hold(profile, f"profiles[{number}]", "points n 3\npotential n", {})
    for number, item in enumerate(result.verdict.judgements if result.verdict else ()):
        _hold(item, f"verdict.judgements[{number}]", _judged, places)
    if result.second_opinion is not None:
        layers = len(result.second_opinion.soil.resistivity)
        _hold(result.second_opinion, "second_opinion", _second, {**sizes, "media": layers})
    sets = {"sets": len(point.resistance)}
    if result.agreement is not None:
        _hold(result.agreement, "agreement", "resistance sets", sets)
    if result.without_bodies is not None:
        _hold(result.without_bodies, "without_bodies", "resistance sets", sets)
    if result.sounding is not None:
        for number, model in enumerate(result.sounding.models):
            known = {"layers": model.layers, "planes": model.layers - 1}
            known["readings"] = len(result.sounding.survey)
            _hold(model, f"sounding.models[{number}]", _model, known)


def _unknowns(solution: Solution) -> int:
    """Unknowns of the finite elements: at the points, of degree 2 at the edges too."""
    corners: Integers = np.asarray(solution.mesh.tetrahedra)
    points = len(solution.mesh.points)
    if solution.order == 1 or corners.ndim != 2 or corners.shape[1] != 4:
        return points
    pairs = [(i, j) for i in range(4) for j in range(i)]
    edges = np.concatenate([np.sort(corners[:, pair], axis=1) for pair in pairs])
    return points + len(np.unique(edges[:, 0] * points + edges[:, 1]))


def _hold(owner: Any, name: str, arrays: str, sizes: Mapping[str, int]) -> None:
    """Hold the arrays of one object against their dimensions; one that is None is not there."""
    known = dict(sizes)
    for line in filter(None, arrays.splitlines()):
        words, _, counted = line.partition(" < ")
        path, *dimensions = words.split()
        array = attrgetter(path)(owner)
        if array is None:
            continue
        shape = np.shape(array)
        if len(shape) == len(dimensions):
            for word, size in zip(dimensions, shape, strict=True):
                known.setdefault(word, int(word) if word.isdigit() else size)
        wanted = tuple(known.get(word, -1) for word in dimensions)
        if shape != wanted:
            msg = f"{name}.{path} has shape {shape}, which does not fit the rest"
            raise ValueError(msg)
        kind = np.asarray(array).dtype.kind
        if kind not in ("iu" if counted else "biufc"):
            msg = f"{name}.{path} holds no numbers of its kind"
            raise ValueError(msg)
        if counted and array.size and not 0 <= array.min() <= array.max() < known[counted]:
            msg = f"{name}.{path} counts beyond its {counted}"
            raise ValueError(msg)
