r"""Ends of sheaths: fill or coat round the end of a piece of metal and beyond it.

Along a piece the current passes its sheath straight outwards and the sheath is a resistance
in series with each element. At an end it spreads into the fill beyond, and where the fill
ends with the metal it leaves through the metal's own end too. There the sheath is a conductor
with one terminal on the metal and one on the face of each element, its end included. With
the current of each element spread evenly over its face, as in the rest of the method, the
mean drop from metal to face j is :math:`V - U_j = \sum_k Z_{jk} I_k`. Z is symmetric and
comes from quadratic triangles in the half-plane (radius, place along the axis).
"""

from dataclasses import dataclass, replace

import numpy as np
import scipy.sparse as sparse
from scipy.sparse.linalg import splu

from ..axisymmetric.assembly import face_matrix, stiffness
from ..axisymmetric.lattice import Lattice, lattice
from ..axisymmetric.lines import graded_lines
from ..model import Floats, Integers

_growth = 0.3
_at_edge = 0.05  # of the metal's radius
_at_face = 0.15  # of the outer radius
_like_soil = 1e-6  # share of the conductance below which sheath and soil are not told apart


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
    discs : tuple of (bool, float), default ()
        Flat ends with a current of their own: whether at the start, and the power of
        (1 - r²/b²) with which that falls short of all of it towards the rim. A flat end
        without one belongs to the last element of the side.
    """

    radius: float
    outer_radius: float
    breaks: tuple[float, ...]
    metal: tuple[float, float]
    contact: float
    open_start: bool
    discs: tuple[tuple[bool, float], ...] = ()

    def shrunk(self, *, longer: float, wider: float) -> "Shell":
        """The same but so many times shorter and narrower, itself where that is 1."""
        if longer == wider == 1.0:
            return self
        return replace(
            self,
            radius=self.radius / wider,
            outer_radius=self.outer_radius / wider,
            breaks=tuple(place / longer for place in self.breaks),
            metal=(self.metal[0] / longer, self.metal[1] / longer),
            contact=self.contact / wider,
        )


def shell_resistance(shell: Shell) -> Floats:
    """Mean drop through the sheath to the face of each element, per current of each.

    Returns
    -------
    resistance : ndarray of float, shape (n, n)
        Symmetric, per resistivity of the sheath; elements of the side, then discs. [1/m]
    """
    mesh = _mesh(shell, metal_radius=shell.radius)
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
    load = _loads(mesh, shell=shell)
    inner = sparse.csc_matrix(matrix[free][:, free])
    drop = splu(inner, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0).solve(load[free])
    shared = load[free].T @ drop
    return np.asarray(0.5 * (shared + shared.T))


def soil_conductance(shell: Shell, *, resistivity: tuple[float, ...]) -> Floats:
    r"""Current between the faces of each element through soil in place of metal and sheath.

    Parameters
    ----------
    resistivity : tuple of float, length n
        Of the soil between the breaks. [Ω·m]

    Returns
    -------
    conductance : ndarray of float, shape (n, n)
        Symmetric, rows sum to zero: current out of each face per its potential. [S]
    """
    mesh = _mesh(shell, metal_radius=0.0)
    inner_breaks = np.array(shell.breaks[1:-1]) - shell.breaks[0]
    layer = np.searchsorted(inner_breaks, mesh.centre[:, 1])
    matrix = stiffness(
        mesh.nodes, triangles=mesh.triangles, conductivity=1 / np.array(resistivity)[layer]
    )
    load = _loads(mesh, shell=shell)
    count = load.shape[1]
    between = np.vstack([-np.ones(count - 1), np.eye(count - 1)])  # currents that sum to zero
    drop = splu(matrix[1:, 1:].tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0)
    load = load @ between
    shared = load[1:].T @ drop.solve(load[1:])
    return np.asarray(between @ np.linalg.solve(0.5 * (shared + shared.T), between.T))


def in_place_of_soil(drops: Floats, *, soil: Floats) -> Floats:
    r"""Drops for what currents on the faces are to the soil, which is inside them too.

    Parameters
    ----------
    drops : ndarray of float, shape (n, n)
        Mean drop to the face of each element per current of each. [Ω]
    soil : ndarray of float, shape (n, n)
        Its `soil_conductance`. [S]

    Returns
    -------
    drops : ndarray of float, shape (n, n)
        Symmetric, not positive where the sheath is worse than the soil. [Ω]

    Notes
    -----
    Currents on a face in whole soil pass outwards and inwards. Outwards goes what comes
    through the sheath, :math:`Z^{-1} (V - U)`; inwards :math:`\Lambda U`. So they are
    :math:`(Z^{-1} - \Lambda) (V - U)`, as one voltage sends nothing inwards.
    """
    root = np.linalg.cholesky(drops)
    share, modes = np.linalg.eigh(root.T @ soil @ root)
    rest = 1 - share
    rest = np.where(np.abs(rest) < _like_soil, _like_soil, rest)  # nothing to be told apart
    modes = root @ modes
    return np.asarray(modes / rest @ modes.T)


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


def _mesh(shell: Shell, *, metal_radius: float) -> Lattice:
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
        metal_radius=metal_radius,
        metal_span=(shell.metal[0] - first, shell.metal[1] - first),
    )


def _loads(mesh: Lattice, *, shell: Shell) -> Floats:
    """Current that enters each node per current of each element, shape (nodes, n)."""
    nodes, down, count = mesh.nodes, mesh.outer_faces, len(shell.breaks) - 1
    row = mesh.surface
    top = np.column_stack([row[:-2:2], row[2::2], row[1:-1:2]])
    inner_breaks = np.array(shell.breaks[1:-1]) - shell.breaks[0]
    at_side = nodes[down[:, 2], 0] == shell.outer_radius
    flat = {False: down[~at_side], True: top if shell.open_start else top[:0]}
    faces = [down[at_side], flat[False], flat[True]]
    with_disc = {start for start, _ in shell.discs}
    element = np.concatenate(
        [
            np.searchsorted(inner_breaks, nodes[faces[0][:, 2], 1]),
            np.full(len(faces[1]), -1 if False in with_disc else count - 1),
            np.full(len(faces[2]), -1 if True in with_disc else 0),
        ]
    )
    even = np.concatenate(faces)
    loads = [_load(nodes, faces=even[element == k]) for k in range(count)]
    for start, order in shell.discs:
        own = flat[start]
        rim = 1 - (nodes[own[:, :2], 0] / shell.outer_radius) ** 2
        within = np.abs(np.diff(np.maximum(rim, 0.0) ** order, axis=1))[:, 0]
        loads.append(_load(nodes, faces=own, current=within))
    return np.stack(loads, axis=1)


def _load(nodes: Floats, *, faces: Integers, current: Floats | None = None) -> Floats:
    """Current that enters each node for 1 A through these faces, evenly if not told. [1]"""
    area = np.pi * np.abs(np.diff(nodes[faces[:, :2], 0] ** 2, axis=1))[:, 0]
    area += 2 * np.pi * nodes[faces[:, 2], 0] * np.abs(np.diff(nodes[faces[:, :2], 1]))[:, 0]
    density = np.ones(len(area)) if current is None else current / area
    total = face_matrix(nodes, faces=faces, factor=density) @ np.ones(len(nodes))
    return np.asarray(total / total.sum())
