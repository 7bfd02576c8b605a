"""Metal with impedance on meshes of its own, for tests: solved once for each question."""

import numpy as np

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.solver.field.along_metal import solve_along
from ohmscape.solver.metal.internal import Bar
from ohmscape.solver.metal.places import Feed
from ohmscape.solver.metal.wiring import Port, Wiring

_meshes = {}


def mesh_of(conductors, soil, *, fineness=0.8):
    """The mesh of some metal, made once."""
    key = (conductors.start.tobytes(), conductors.end.tobytes(), soil, fineness)
    if key not in _meshes:
        _meshes[key] = build_mesh(mesh_plan(conductors, soil=soil, fineness=fineness))
    return _meshes[key]


def bars_of(material, conductors):
    """All parts of one material."""
    return (Bar(material, material.permeability[1]),) * len(conductors.part_names)


def feed_at(conductors, x, y):
    """The end of a piece at a place in plan."""
    for along, ends in ((0.0, conductors.start), (None, conductors.end)):
        near = np.flatnonzero(np.linalg.norm(ends[:, :2] - [x, y], axis=1) < 1e-6)
        if len(near):
            piece = int(near[0])
            return Feed(piece, conductors.length[piece] if along is None else along)
    msg = f"no metal ends at ({x}, {y})"
    raise ValueError(msg)


def solved(conductors, soil, *, material, frequency, feeds, fineness=0.8, **wiring):
    """Solution with a port at each feed."""
    ports = tuple(Port(f"port {k}", feed) for k, feed in enumerate(feeds))
    given = Wiring(bars_of(material, conductors), float(frequency), ports, **wiring)
    mesh = mesh_of(conductors, soil, fineness=fineness)
    return solve_along(mesh, soil=soil, conductors=conductors, wiring=given)


def polar(value):
    """Size, and angle in degrees."""
    return abs(value), np.degrees(np.angle(value))
