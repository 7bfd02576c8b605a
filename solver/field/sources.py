"""The elements of all metal on a mesh: lengths of round metal and patches of plates."""

from dataclasses import fields, replace

import numpy as np

from ..model import Conductors, Floats, Integers, Mesh, Soil, some_of
from ..patch_cuts import cut_at_heights, finer_towards_better, no_larger
from ..patches import areas
from .break_points import Marks
from .elements import PATCH, WIRE, LineElements, line_elements

_sizes_apart = 1.4  # of a patch, in distances of balls
# Of its end from better soil, in distances of the nearer one. A plate that slopes to within
# 0.001 of its size of soil 100 times better was 2 % high without, 0.2 % with it.
_farther, _contrast = 1.3, 3.0  # resistivities less apart do little


def elements_on(
    mesh: Mesh,
    *,
    soil: Soil,
    conductors: Conductors,
    longest: Floats | None = None,
    marks: Marks | None = None,
) -> LineElements:
    """Elements as a mesh wants them, by stretches where it has such; patches last.

    Parameters
    ----------
    longest : ndarray of float, shape (pieces,), optional
        Of an element of each piece, where the mesh would take longer ones. [m]
    marks : Marks, optional
        Where elements have to be short besides.
    """
    most = np.full(len(mesh.element_size), np.inf) if longest is None else longest
    cut = mesh.stretches
    flat = conductors.flat
    if cut is None:
        piece = np.arange(len(flat))
        element_size, spread, apart = mesh.element_size, mesh.spread, mesh.spread
        laid = conductors
    else:
        piece, element_size, spread, apart = cut.piece, cut.element_size, cut.spread, cut.apart
        laid = conductors.cut(piece, begin=cut.begin, end=cut.end)
    element_size = np.minimum(element_size, most[piece])
    parts = []
    wires, sheets = np.flatnonzero(~flat[piece]), np.flatnonzero(flat[piece])
    if len(wires):
        made = line_elements(
            some_of(laid, piece=wires),
            soil=soil,
            element_size=element_size[wires],
            spread=spread[wires],
            marks=marks,
        )
        if cut is not None:
            stretch = wires[made.piece]
            made = replace(made, stretch=stretch, apart=np.minimum(apart[stretch], made.spread))
        parts.append(replace(made, piece=piece[wires][made.piece]))
    if len(sheets):
        own = piece[sheets]
        made = patch_elements(
            some_of(conductors, piece=own),
            soil=soil,
            spread=spread[sheets],
            apart=apart[sheets],
        )
        at = made.piece
        made = replace(made, piece=own[at])
        parts.append(made if cut is None else replace(made, stretch=sheets[at]))
    return parts[0] if len(parts) == 1 else _joined(*parts)


def patch_elements(
    conductors: Conductors, *, soil: Soil, spread: Floats, apart: Floats
) -> LineElements:
    """Elements of plates: their patches, cut at the planes between layers.

    Parameters
    ----------
    conductors : Conductors
        Patches alone, n of them.
    spread, apart : ndarray of float, shape (n,)
        Standard deviation of the cloud of each, and how far apart its balls may be at most;
        of a plate the least holds. [m]
    """
    assert conductors.plate is not None
    assert conductors.corners is not None
    corners, piece = cut_at_heights(conductors.corners, heights=-soil.interface_depth)
    corners, parent = finer_towards_better(
        corners, plate=conductors.plate[piece], soil=soil, most=_farther, contrast=_contrast
    )
    piece = piece[parent]
    # A patch must be as good as its balls where these are the nearest to a face.
    corners, parent = no_larger(corners, most=_sizes_apart * apart[piece])
    piece = piece[parent]
    plate = conductors.plate[piece]
    start = 0.5 * (corners[:, 0] + corners[:, 3])
    end = 0.5 * (corners[:, 1] + corners[:, 2])
    length = np.linalg.norm(end - start, axis=1)
    # At the surface only the lower side meets soil.
    faces = np.where((corners[:, :, 2] == 0).all(axis=1), 1.0, 2.0)
    return LineElements(
        start=start,
        end=end,
        radius=conductors.radius[piece],
        spread=_least(spread[piece], plate),
        series=conductors.contact[piece] * length / (faces * areas(corners)),
        layer=soil.material_at(corners.mean(axis=1)),
        piece=piece,
        group=conductors.group[piece],
        known_face=np.full(len(piece), PATCH),
        apart=_least(np.minimum(apart, spread)[piece], plate),
        plate=plate,
        corners=corners,
    )


def _least(values: Floats, plate: Integers) -> Floats:
    """Least of the values of each plate, at all of its patches."""
    least = np.full(int(plate.max()) + 1, np.inf)
    np.minimum.at(least, plate, values)
    return least[plate]


def _joined(wires: LineElements, patches: LineElements) -> LineElements:
    """Both in one."""
    count = len(wires)
    missing = {
        "known_face": np.full(count, WIRE),
        "apart": wires.spread,
        "plate": np.full(count, -1),
        "corners": np.stack([wires.start, wires.start, wires.end, wires.end], axis=1),
    }
    joined = {}
    for field in fields(LineElements):
        one, other = getattr(wires, field.name), getattr(patches, field.name)
        one = missing.get(field.name) if one is None else one
        if one is not None and other is not None:
            joined[field.name] = np.concatenate([one, other])
    return LineElements(**joined)
