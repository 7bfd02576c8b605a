r"""Ends of sheaths: fill or coat round the end of a piece of metal and beyond it.

Along a piece the current passes its sheath straight outwards and the sheath is a resistance
in series with each element. At an end it spreads into the fill beyond, and where the fill
ends with the metal it leaves through the metal's own end too. There the sheath is a conductor
with one terminal on the metal and one on the face of each element, its end included. With
the current of each element spread evenly over its face, as in the rest of the method, the
mean drop from metal to face j is :math:`V - U_j = \sum_k Z_{jk} I_k`. Z is symmetric and
comes from quadratic triangles in the half-plane (radius, place along the axis).
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from scipy.sparse.linalg import splu

from ..axisymmetric.assembly import face_matrix, stiffness
from ..axisymmetric.lattice import Lattice, lattice
from ..axisymmetric.lines import graded_lines
from ..model import Conductors, Floats, Integers, Soil
from .break_points import free_ends
from .elements import LineElements

# In outer radii: how far from an end of the metal the current is taken to flow straight
# outwards again. What differs from that falls by e about every radius.
_zone = 4.0
_growth = 0.3
_at_edge = 0.05  # of the metal's radius
_at_face = 0.15  # of the outer radius


@dataclass(frozen=True, kw_only=True)
class Shell:
    """A sheath round the end of a piece, or round all of a short one.

    Attributes
    ----------
    radius, outer_radius : float
        Of the metal and of the sheath. [m]
    breaks : tuple of float, length n + 1
        Ends of the n elements along the axis, increasing. [m]
    metal : tuple of float, length 2
        Where the metal starts and ends along the axis, within the breaks. [m]
    contact : float
        Film on the metal over the resistivity of the sheath. [m]
    open_start : bool
        Whether the first end is in the soil like the last; if not, the sheath goes on there
        and no current passes.
    """

    radius: float
    outer_radius: float
    breaks: tuple[float, ...]
    metal: tuple[float, float]
    contact: float
    open_start: bool


def shell_resistance(shell: Shell) -> Floats:
    """Mean drop through the sheath to the face of each element, per current of each.

    Returns
    -------
    resistance : ndarray of float, shape (n, n)
        Symmetric, per resistivity of the sheath. [1/m]
    """
    mesh = _mesh(shell)
    nodes = mesh.nodes
    matrix = stiffness(
        nodes, triangles=mesh.triangles, conductivity=np.ones(len(mesh.triangles))
    )
    free = np.ones(len(nodes), dtype=bool)
    if shell.contact > 0:
        factor = np.full(len(mesh.metal_faces), 1 / shell.contact)
        matrix = matrix + face_matrix(nodes, faces=mesh.metal_faces, factor=factor)
    else:
        free[mesh.metal_faces] = False
    faces, element = _element_faces(mesh, shell=shell)
    count = len(shell.breaks) - 1
    # Current that enters each node for an even density of 1 A/m² on each element's face.
    load = np.stack(
        [
            face_matrix(nodes, faces=faces[element == k], factor=np.ones((element == k).sum()))
            @ np.ones(len(nodes))
            for k in range(count)
        ],
        axis=1,
    )
    area = load.sum(axis=0)
    inner = sparse.csc_matrix(matrix[free][:, free])
    drop = splu(inner, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0).solve(load[free])
    shared = load[free].T @ drop
    return np.asarray(0.5 * (shared + shared.T) / np.outer(area, area))


def with_bare_end(drops: Floats, *, element: int, resistance: float) -> Floats:
    """The same drops where the end of the metal is bare and leaks beside the sheath.

    Parameters
    ----------
    drops : ndarray of float, shape (n, n)
        Mean drop to the face of each element per current of each. [Ω]
    element : int
        Whose face the bare end is part of.
    resistance : float
        From the metal through its end to that face. [Ω]

    Returns
    -------
    drops : ndarray of float, shape (n, n)
        Symmetric. [Ω]

    Notes
    -----
    A conductance 1/R beside the sheath: the inverse of drops gains it on its diagonal.
    """
    column = drops[:, element]
    return drops - np.outer(column, column) / (resistance + column[element])


def _mesh(shell: Shell) -> Lattice:
    """Mesh of the sheath, the axis running down from depth 0 at the first break."""
    a, b, first = shell.radius, shell.outer_radius, shell.breaks[0]
    at_edge = min(_at_edge * a, 0.25 * (b - a))
    at_face = min(_at_face * b, 0.25 * (b - a))
    depths = {x - first: at_face for x in shell.breaks}
    ends = shell.metal if shell.open_start else shell.metal[1:]
    for end in ends:
        depths[end - first] = at_edge
    return lattice(
        graded_lines({0.0: 0.5 * a, a: at_edge, b: at_face}, growth=_growth),
        depths=graded_lines(depths, growth=_growth),
        metal_radius=a,
        metal_span=(shell.metal[0] - first, shell.metal[1] - first),
    )


def _element_faces(mesh: Lattice, *, shell: Shell) -> tuple[Integers, Integers]:
    """Sides of triangles on the outer face of the sheath, and the element of each."""
    faces = mesh.outer_faces
    if shell.open_start:
        row = mesh.surface
        top = np.column_stack([row[:-2:2], row[2::2], row[1:-1:2]])
        faces = np.concatenate([faces, top])
    depth = mesh.nodes[faces[:, 2], 1]
    inner_breaks = np.array(shell.breaks[1:-1]) - shell.breaks[0]
    return faces, np.searchsorted(inner_breaks, depth)


def shell_ends(
    elements: LineElements, *, conductors: Conductors, soil: Soil
) -> sparse.csc_matrix:
    """What the ends of sheaths add to the resistance of films and sheaths.

    Parameters
    ----------
    conductors : Conductors
        The pieces of metal they belong to.

    Returns
    -------
    matrix : csc_matrix, shape (n, n)
        Symmetric; zero but for elements near free ends with a sheath. To be added to the
        resistance of film and sheath of each element alone. [Ω]
    """
    known: dict[Shell, Floats] = {}
    resistivity = np.array(soil.resistivity)
    rows, columns, values = [], [], []
    for piece, index, shell in _shells(elements, conductors=conductors):
        if shell not in known:
            known[shell] = shell_resistance(shell)
        block = conductors.sheath_resistivity[piece] * known[shell]
        for end in (-1, 0) if shell.open_start else (-1,):
            if conductors.sheath_cover[piece] == 0:
                a = conductors.radius[piece]
                # Into the soil as from a disc in the flat end of the fill: ρ / 4 a.
                spreading = resistivity[elements.layer[index[end]]] / (4 * a)
                film = conductors.contact[piece] / (np.pi * a**2)
                block = with_bare_end(block, element=end, resistance=film + spreading)
        block = block - np.diag((elements.series / elements.length)[index])
        rows.append(np.repeat(index, len(index)))
        columns.append(np.tile(index, len(index)))
        values.append(block.ravel())
    shape = (len(elements), len(elements))
    if not values:
        return sparse.csc_matrix(shape)
    where = np.concatenate(rows), np.concatenate(columns)
    return sparse.csc_matrix((np.concatenate(values), where), shape=shape)


def _shells(
    elements: LineElements, *, conductors: Conductors
) -> Iterator[tuple[int, Integers, Shell]]:
    """Each sheathed end: piece, its elements in the order of the breaks, shell."""
    starts, ends = free_ends(conductors)
    sheathed = conductors.sheath_radius > conductors.radius
    first = np.searchsorted(elements.piece, np.arange(len(starts) + 1))
    for piece in np.flatnonzero(sheathed & (starts | ends)).tolist():
        index = np.arange(first[piece], first[piece + 1])
        length = float(conductors.length[piece])
        breaks = np.cumsum([0.0, *elements.length[index]])
        if starts[piece]:
            breaks -= conductors.sheath_cover[piece]
        zone = _zone * conductors.sheath_radius[piece]
        near = int((breaks[:-1] < zone).sum()), int((breaks[1:] > length - zone).sum())
        if starts[piece] and ends[piece] and sum(near) > len(index):
            yield piece, index, _shell(conductors, piece, breaks=breaks, open_start=True)
            continue
        if ends[piece]:
            chosen = slice(len(index) - near[1], None)
            shell = _shell(conductors, piece, breaks=breaks[chosen], open_start=False)
            yield piece, index[chosen], shell
        if starts[piece]:
            turned = (length - breaks[: near[0] + 1])[::-1]
            shell = _shell(conductors, piece, breaks=turned, open_start=False)
            yield piece, index[: near[0]][::-1], shell


def _shell(conductors: Conductors, piece: int, *, breaks: Floats, open_start: bool) -> Shell:
    """Sheath round some elements of a piece, the metal ending at its length."""
    length, cover = float(conductors.length[piece]), float(conductors.sheath_cover[piece])
    places = [*breaks[:-1].tolist(), length + cover]
    if open_start:
        places[0] = -cover
    # Rounded so that ends that are equal but for round-off are solved once.
    unit = float(conductors.sheath_radius[piece])
    *places, start, end = (
        unit * round(x / unit, 9) for x in (*places, 0.0 if open_start else places[0], length)
    )
    return Shell(
        radius=float(conductors.radius[piece]),
        outer_radius=unit,
        breaks=tuple(places),
        metal=(start, end),
        contact=float(conductors.contact[piece] / conductors.sheath_resistivity[piece]),
        open_start=open_start,
    )
