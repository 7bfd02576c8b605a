"""Balls of source that a mesh will feel in place of metal, and what bodies add to them."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_matrix
from scipy.spatial import cKDTree

from ..meshes import MeshPlan
from ..meshes.sizing import SizeField
from ..solver.field.across_faces import reaches_faces
from ..solver.field.clouds import Clouds, gaps_of
from ..solver.field.element_fields import cut, of_far_image
from ..solver.field.images import rays_into_layers
from ..solver.field.media import conductivities
from ..solver.field.split_elements import parts_at, points_of_part, stays_whole
from ..solver.model import Conductors, Flags, Floats, Integers, Soil

_balls, _about = 60, 300  # that stand for all, and places about each that stand for all
# Elements near faces in the cube of the size asked for, their width and radius in that size: of
# the three shipped cases with bodies, 5 to 25 of the first.
_in_cube, _wide, _round = 9.2, 1.45, 1.1
_digits = 7  # to which places are compared


@dataclass(frozen=True)
class Stretches:
    """What of pieces of metal lies in each layer, n of them.

    Attributes
    ----------
    piece, layer : ndarray of int, shape (n,)
        That each is part of, and that it lies in.
    start, end : ndarray of float, shape (n, 3)
        Its ends, the lower one first. [m]
    """

    piece: Integers
    layer: Integers
    start: Floats
    end: Floats

    @property
    def length(self) -> Floats:
        """Of each. [m]"""
        return np.asarray(np.linalg.norm(self.end - self.start, axis=1))


def in_layers(conductors: Conductors, *, soil: Soil) -> Stretches:
    """Pieces of metal cut at the planes between layers."""
    rises = (conductors.start[:, 2] <= conductors.end[:, 2])[:, None]
    bottom = np.where(rises, conductors.start, conductors.end)
    top = np.where(rises, conductors.end, conductors.start)
    low, high = bottom[:, 2], top[:, 2]
    planes = np.concatenate([[0.0], -soil.interface_depth, [-np.inf]])
    upper = np.minimum(high[:, None], planes[:-1])
    lower = np.maximum(low[:, None], planes[1:])
    level = low == high
    own = soil.layer_at(-low)[:, None] == np.arange(len(planes) - 1)
    piece, layer = np.nonzero(np.where(level[:, None], own, upper > lower))
    rise = np.where(level, 1.0, high - low)[piece]
    ends = []
    for heights, alone in ((lower, 0.0), (upper, 1.0)):
        share = (heights[piece, layer] - low[piece]) / rise
        share = np.where(level[piece], alone, share)[:, None]
        ends.append(bottom[piece] + share * (top - bottom)[piece])
    return Stretches(piece, layer, *ends)


def expected_balls(
    planned: MeshPlan, *, conductors: Conductors, soil: Soil, spread: Floats
) -> Clouds:
    """Balls of source, without shares in the line elements, which are not there yet.

    Parameters
    ----------
    conductors : Conductors
        Laid out as planned.
    spread : ndarray of float, shape (number of pieces,)
        Standard deviation of their balls. [m]
    """
    metal = in_layers(conductors, soil=soil)
    spread = spread[metal.piece]
    apart = spread
    if planned.cut is not None:
        apart = np.minimum(planned.cut.apart[metal.piece], spread)
    gaps = gaps_of(metal.length / apart)
    row = np.repeat(np.arange(len(gaps)), gaps + 1)
    number = np.arange(len(row)) - np.repeat(np.cumsum(gaps + 1) - (gaps + 1), gaps + 1)
    share = np.where(gaps[row] == 0, 0.5, number / np.maximum(gaps[row], 1))
    place = metal.start[row] + share[:, None] * (metal.end - metal.start)[row]
    medium = metal.layer
    if soil.bodies:
        middle = 0.5 * (metal.start + metal.end)
        inside = soil.material_at(middle)
        medium = np.where(inside < len(soil.resistivity), metal.layer, inside)
    keys = np.column_stack([place, spread[row], medium[row]]).round(_digits)
    _, kept = np.unique(keys, axis=0, return_index=True)  # those of a joint are one
    row = row[kept]
    return Clouds(
        place=place[kept],
        spread=spread[row],
        layer=medium[row],
        gap=(metal.length / np.maximum(gaps, 1))[row],
        shares=csr_matrix((0, len(kept))),
    )


def across_faces(planned: MeshPlan, *, balls: Clouds, soil: Soil) -> float:
    """Images of balls at points of elements that are not as the background of the ball is.

    By the size that elements are asked to have at some places about some of the balls.
    """
    if not soil.bodies:
        return 0.0
    seen = np.flatnonzero(reaches_faces(balls, soil=soil))
    if not len(seen):
        return 0.0
    some = np.repeat(seen[np.linspace(0, len(seen) - 1, _balls).astype(int)], _about)
    width = cut * balls.spread[some] + planned.element_size.max()
    around = np.random.default_rng(1).uniform(-1.0, 1.0, (len(some), 3)) * width[:, None]
    places = balls.place[some] + around
    differs = _differs(places, medium=balls.layer[some], soil=soil)
    some, width, places = some[differs], width[differs], places[differs]
    field = SizeField.of(
        planned.start, end=planned.end, element_size=planned.element_size, growth=planned.growth
    )
    size = field(places)
    nearest = np.asarray(cKDTree(balls.place[seen]).query(places)[0])
    shape = {"width": _wide * size, "radius": _round * size}
    parts = parts_at(nearest, **shape)
    points = np.zeros(len(places))
    layer = soil.layer_at(-places[:, 2])
    for ray in rays_into_layers(balls, soil=soil, reach=cut * float(balls.spread.max())):
        off = np.linalg.norm(places - ray.image(balls.place[some]), axis=1)
        acts = (balls.layer[some] == ray.source_layer) & (layer == ray.target_layer)
        acts &= off < cut * balls.spread[some] + shape["radius"]
        far = (parts > 1) & stays_whole(off, **shape)
        points += acts * np.where(far, of_far_image, parts * points_of_part)
    each = (2 * width) ** 3 * (_in_cube / size**3) * points
    return float(each.sum() / (_balls * _about) * len(seen))


def _differs(places: Floats, *, medium: Integers, soil: Soil) -> Flags:
    """Whether places in the soil conduct otherwise than the background of metal in a medium."""
    sigma, count = conductivities(soil), len(soil.resistivity)
    there = soil.material_at(places)
    usual = np.where(medium < count, soil.layer_at(-places[:, 2]), medium)
    return np.asarray((places[:, 2] < 0) & (sigma[there] != sigma[usual]))
