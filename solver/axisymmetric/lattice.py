"""Structured mesh of the half-plane (r, depth) of quadratic triangles round one body.

Lines of constant radius and depth make cells, each split into two triangles of six nodes;
the nodes are the crossings of the lines and of the lines half-way between. Cells inside the
metal are left out. For half spheroids the box of left-out cells is bulged to the true curve;
lines of constant depth stay level beside it, so layer planes stay resolved.
"""

from dataclasses import dataclass

import numpy as np

from ..model import Floats, Integers

# Nodes of the two triangles in a cell of 3 x 3 lattice nodes: three corners, then the
# middles of the sides opposite to none: 0-1, 1-2, 2-0.
_triangles = (
    ((0, 0), (2, 0), (2, 2), (1, 0), (2, 1), (1, 1)),
    ((0, 0), (2, 2), (0, 2), (1, 1), (1, 2), (0, 1)),
)


@dataclass(frozen=True)
class Lattice:
    """Nodes, triangles and faces; r and depth in metres."""

    nodes: Floats  # (n, 2): radius and depth of each node [m]
    triangles: Integers  # (m, 6): corners, then middles of sides 0-1, 1-2, 2-0
    # (m, 2): radius and depth, before bulging, of the middle of each triangle's cell [m]
    centre: Floats
    metal_faces: Integers  # (k, 3): sides on the metal: ends, then middle
    outer_faces: Integers  # (l, 3): sides on the outer boundary
    outer_cells: Floats  # (l, 2): middle of the cell behind each outer face [m]
    surface: Integers  # (p,): nodes in the soil surface, by increasing radius


def lattice(
    radii: Floats, *, depths: Floats, metal_radius: float, metal_span: tuple[float, float]
) -> Lattice:
    """Mesh of the soil round a cylinder of metal.

    The lines increase from 0 and hit the metal's radius and ends. A plate of no thickness has
    an equal upper and lower end; metal that goes down to the last line has no face there.
    """
    r, d = _with_middles(radii), _with_middles(depths)
    number = np.arange(len(r) * len(d)).reshape(len(r), len(d))
    wide = int(np.searchsorted(radii, metal_radius))
    top, bottom = (int(np.searchsorted(depths, depth)) for depth in metal_span)
    soil = np.ones((len(radii) - 1, len(depths) - 1), dtype=bool)
    soil[:wide, top:bottom] = False
    column, row = np.nonzero(soil)
    shapes = [
        np.stack([number[2 * column + i, 2 * row + j] for i, j in shape], axis=1)
        for shape in _triangles
    ]
    middle = np.column_stack([r[2 * column + 1], d[2 * row + 1]])
    down = number[:, -1]  # nodes along the deepest line
    out = number[-1, :]
    outer = np.concatenate([_faces(down), _faces(out)])
    behind = np.concatenate(
        [
            np.column_stack([r[1::2], np.full(len(radii) - 1, d[-2])]),
            np.column_stack([np.full(len(depths) - 1, r[-2]), d[1::2]]),
        ]
    )
    side = _faces(number[2 * wide, 2 * top : 2 * bottom + 1])
    ends = {level for level in (top, bottom) if level > 0 or bottom == 0}
    caps = [_faces(number[: 2 * wide + 1, 2 * level]) for level in sorted(ends)]
    surface = number[2 * wide :, 0] if top == 0 else number[:, 0]
    whole = np.stack(np.broadcast_arrays(r[:, None], d[None, :]), axis=-1).reshape(-1, 2)
    return _numbered_anew(
        Lattice(
            nodes=whole,
            triangles=np.concatenate(shapes),
            centre=np.concatenate([middle, middle]),
            metal_faces=np.concatenate([side, *caps]),
            outer_faces=outer,
            outer_cells=behind,
            surface=surface,
        )
    )


def _with_middles(lines: Floats) -> Floats:
    both = np.empty(2 * len(lines) - 1)
    both[::2] = lines
    both[1::2] = 0.5 * (lines[:-1] + lines[1:])
    return both


def _faces(run: Integers) -> Integers:
    """Sides along a run of nodes: both ends, then the middle."""
    return np.column_stack([run[:-2:2], run[2::2], run[1:-1:2]])


def _numbered_anew(mesh: Lattice) -> Lattice:
    """The same mesh without the nodes inside the metal, and faces that lie there."""
    used = np.unique(mesh.triangles)
    new = np.full(len(mesh.nodes), -1)
    new[used] = np.arange(len(used))
    on_metal = (new[mesh.metal_faces] >= 0).all(axis=1)
    outside = (new[mesh.outer_faces] >= 0).all(axis=1)
    return Lattice(
        nodes=mesh.nodes[used],
        triangles=new[mesh.triangles],
        centre=mesh.centre,
        metal_faces=new[mesh.metal_faces[on_metal]],
        outer_faces=new[mesh.outer_faces[outside]],
        outer_cells=mesh.outer_cells[outside],
        surface=new[mesh.surface],
    )
