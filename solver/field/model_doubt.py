r"""What the model of fill and of inclined tips leaves open, which no mesh shows.

Level and inclined fill is a wire with a drop in it. Images in the surface and in planes near by
act on wide fill as a field E across it, and it bends that: each length has the dipole
:math:`\alpha b^2 E`, with :math:`\alpha = (\kappa - 1) / (\kappa + 1)` and :math:`\kappa =
(\sigma_f / \sigma) (b^2 + a^2) / (b^2 - a^2)`. At a depth d, current q per length has the image
field :math:`\rho q / 4 \pi d`, so that the surface above is off by
:math:`\alpha (b / d)^2 \rho q / 2 \pi`, and the metal by a quarter of that. Bare ends of metal
leak through what is left of ρ / 4 a (`shell_ends`).

Clouds of source that faces of bodies cut, or keep narrow, leave a thousandth of what they
carry: their width is that of no mesh, so that the coarser one carries them as well. The ends of
metal at faces that it goes through leave a share of their own drop: their images are left out.
Where that is a film with much poorer ground behind it, what the better side drives into that,
which should be nothing, is of the order of what the metal there does itself.

An inclined tip is a wire. Where it ends some radii beyond a plane in better soil, most of the
current may leave by that stub: as wires vertical rods were 1 to 5 % off so.

Plates leak evenly in each of their patches, which no mesh makes smaller.
"""

import numpy as np

from ..model import Conductors, Flags, Floats, Integers, Soil
from .across_faces import near_and_clear, reaches_faces
from .break_points import free_ends
from .clouds import Clouds, clouds_of
from .elements import WIRE, LineElements
from .media import conductivities, conductivity_beyond
from .shell_ends import bare_end_doubt

# Of rods 0.3 to 1 m from contacts, resistances were 0.01 to 0.09 % farther off than far from
# any; of rods through blocks a tenth of the drop at the face.
_of_cut, _of_drop, _touching = 1e-3, 0.2, 1e-6
_narrowed = 4.0  # spreads; the narrowest is a face's distance over 3.93 (`meshes.near_faces`)
_stub, _of_stub = 10.0, 0.05  # in radii; of the current that leaves by it
# Squares, rectangles and discs came out 0.06 to 0.08 % high for the patches of even current
# that they are cut into, against closed forms and boundary elements extrapolated.
_of_patches = 1e-3
# Of a rod through an insulating film below a slab 300 times poorer, potentials on the slab were
# 1.2 % of the rise off, 30 times poorer 0.1 %.
_of_contrast = 5e-5
_nearest = 2.0  # in outer radii: nearer planes act no more than they would there


def model_doubt(
    elements: LineElements, *, conductors: Conductors, soil: Soil, current: Floats
) -> tuple[float, float]:
    """What is left open of a resistance and of a voltage, as shares of it and of the rise.

    Parameters
    ----------
    current : ndarray of float, shape (g, n)
        Of each element with group k at 1 V. [A/V]

    Returns
    -------
    resistance, voltage : float
        Of the worst group; 0 where no metal is in fill or a coating or ends so.
    """
    total = np.diagonal(elements.by_group(current))
    faces = _at_faces(elements, soil=soil, current=current) if soil.bodies else 0.0
    behind = _behind_films(elements, soil=soil)
    stubs = _stubs(elements, conductors=conductors, soil=soil)
    size = np.abs(current)
    open_ = _of_stub * size[:, stubs].sum(axis=1) / total
    open_ += _of_patches * size[:, elements.flat].sum(axis=1) / size.sum(axis=1)
    tips = faces + float(open_.max())
    if not (conductors.sheath_radius > conductors.radius).any():
        return tips, tips + behind
    ends = bare_end_doubt(elements, conductors=conductors, soil=soil, current=current) / total
    bent = _bent(elements, conductors=conductors, soil=soil) * size / elements.length
    lifted = 0.25 * (bent * size).sum(axis=1) / total
    tips += float(ends.max())
    return tips + float(lifted.max()), tips + behind + float(bent.max())


def _behind_films(elements: LineElements, *, soil: Soil) -> float:
    """What is left open of voltages behind films that metal goes through, as a share."""
    sigma, count, most = conductivities(soil), len(soil.resistivity), 0.0
    ends = np.concatenate([elements.start, elements.end])
    for number, body in enumerate(soil.bodies):
        if body.film is None or body.shape.distance(ends).min() > _touching:
            continue
        medium = np.array([count + number])
        beyond = float(conductivity_beyond(soil, body=number, here=medium)[0])
        contrast = beyond / float(sigma[count + number])
        most = max(most, contrast, 1 / contrast)
    return _of_contrast * most


def _at_faces(elements: LineElements, *, soil: Soil, current: Floats) -> float:
    """What faces of bodies leave open of the resistance of the worst group, as a share."""
    clouds, total = clouds_of(elements), np.diagonal(elements.by_group(current))
    cut = _at_better_ground(clouds, soil=soil) | reaches_faces(clouds, soil=soil)
    shares = np.abs(current @ clouds.shares[:, cut]).sum(axis=1) / np.abs(current).sum(axis=1)
    stretch = np.unique(elements.row, return_inverse=True)[1].ravel()
    ends = np.concatenate([elements.start, elements.end])
    gap = np.min([body.shape.distance(ends) for body in soil.bodies], axis=0)
    through = np.zeros(stretch.max() + 1, dtype=bool)
    through[np.tile(stretch, 2)[gap < _touching]] = True
    drop = 1 / (4 * np.pi * conductivities(soil)[elements.layer] * elements.spread)
    parts = [np.bincount(stretch, np.sqrt(drop) * one)[through] for one in current]
    power = (np.array(parts) ** 2).sum(axis=1)
    return float((_of_cut * shares + _of_drop * power / total).max())


def _at_better_ground(clouds: Clouds, *, soil: Soil) -> Flags:
    """Whether a cloud is narrow for better ground beyond a face, and clear of that."""
    near = np.zeros(len(clouds.place), dtype=bool)
    own = conductivities(soil)[clouds.layer]
    for number, body in enumerate(soil.bodies):
        better = conductivity_beyond(soil, body=number, here=clouds.layer) > 1.5 * own
        near |= better & (body.shape.distance(clouds.place) < _narrowed * clouds.spread)
    return near & near_and_clear(clouds, soil=soil)[1]


def _stubs(elements: LineElements, *, conductors: Conductors, soil: Soil) -> Integers:
    """Elements from a plane to a free end that is a wire a few radii beyond, in better soil."""
    found = [np.zeros(0, dtype=np.int64)]
    sigma = conductivities(soil)
    if len(sigma) == 1:
        return found[0]
    length, wire = elements.length, elements.face == WIRE
    for free, tips in zip(
        free_ends(conductors), (conductors.start, conductors.end), strict=True
    ):
        for piece in np.flatnonzero(free & (conductors.direction[:, 2] != 0)).tolist():
            own = np.flatnonzero((elements.piece == piece) & wire)
            if not len(own):
                continue
            gap = np.linalg.norm(elements.middle[own] - tips[piece], axis=1)
            layer = elements.layer[own]
            there = layer == layer[gap.argmin()]
            if there.all() or length[own[there]].sum() > _stub * elements.radius[own[0]]:
                continue
            before = layer[~there][gap[~there].argmin()]
            if sigma[layer[there][0]] > sigma[before]:
                found.append(own[there])
    return np.concatenate(found)


def _bent(elements: LineElements, *, conductors: Conductors, soil: Soil) -> Floats:
    """Volts at the surface or plane near by per leakage of each element, shape (n,). [Ω·m]"""
    piece, outer = elements.piece, elements.radius
    inner, fill = conductors.radius[piece], conductors.sheath_resistivity[piece]
    rho = 1 / conductivities(soil)[elements.layer]
    sheathed = (outer > inner) & (elements.face == WIRE)
    square = np.where(sheathed, outer**2 - inner**2, 1.0)
    better = np.where(sheathed, rho / np.where(sheathed, fill, 1.0), 1.0)
    better *= np.where(sheathed, (outer**2 + inner**2) / square, 1.0)
    across = 1 - conductors.direction[piece, 2] ** 2  # a field along it does not bend it
    depth = -elements.middle[:, 2]
    planes = [0.0, *soil.interface_depth.tolist()]
    sigma = soil.conductivity
    mirrors = [1.0, *(np.abs(np.diff(sigma)) / (sigma[1:] + sigma[:-1])).tolist()]
    near = np.zeros(len(depth))
    for plane, mirror in zip(planes, mirrors, strict=True):
        gap = np.maximum(np.abs(depth - plane), _nearest * outer)
        near += mirror * (outer / gap) ** 2
    bends = np.abs(better - 1) / (better + 1)
    return np.asarray(np.where(sheathed, bends * across * near * rho / (2 * np.pi), 0.0))
