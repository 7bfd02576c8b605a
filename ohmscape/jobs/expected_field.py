"""What one finite-element solution will have to do, counted before: near pairs, images."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_matrix
from scipy.spatial import cKDTree

from ..meshes import MeshPlan
from ..meshes.near_faces import laid_out
from ..meshes.sizing import SizeField, points_along
from ..solver.anisotropy import twin_of
from ..solver.field.break_points import breaks_of_pieces
from ..solver.field.clouds import Clouds
from ..solver.field.images import rays, seen_from_surface
from ..solver.field.near_field import reach_of_pairs, rows_apart, rows_of_balls_do
from ..solver.model import Conductors, Floats, Soil
from .expected_balls import across_faces, expected_balls, in_layers

_centres = 500  # of places along the metal that stand for all
_balls, _within = 30, 100  # places on the metal, and about each, that stand for all
# Elements in the cube of the size asked for beside metal, where they are larger than that, and
# in its square at a plane: of ten cases drawn.
_in_volume, _at_plane = 4.6, 6.4
_alike = 7  # decimals to which heights are compared


@dataclass(frozen=True)
class FieldWork:
    """What one finite-element solution has to do.

    Attributes
    ----------
    planned : MeshPlan
        The mesh.
    lines : int
        Line elements of the metal.
    balls : int
        Of source in their place.
    pairs, touching : float
        Of line elements that act on one another beside the mesh, and of those so near that
        they do as wires.
    images, close : float
        Of one line element, itself included, that another may be near, on average, and of these
        so near that they act as wires.
    heights : int
        Different heights of its balls of source.
    seen, exact : float
        Images of one line element that points of the surface may be near, on average, and of
        these so near that they act as wires.
    reach : float
        How far it is from one to the other at most. [m]
    in_ball : float
        Elements that a ball reaches, on average.
    across_faces : float
        Images of balls at points of elements that are not as the background of the ball is.
    """

    planned: MeshPlan
    lines: int
    balls: int
    pairs: float
    touching: float
    images: float
    close: float
    heights: int
    seen: float
    exact: float
    reach: float
    in_ball: float
    across_faces: float

    @property
    def elements(self) -> int:
        """Of the mesh."""
        return self.planned.elements

    @property
    def of_planes(self) -> float:
        """More elements than are asked for, made by planes close together."""
        return max(0.0, float(self.planned.elements - self.planned.asked))

    @property
    def ball_pairs(self) -> float:
        """Pairs of balls that act on one another beside the mesh."""
        return self.pairs * (self.balls / self.lines) ** 2

    @property
    def at_surface(self) -> float:
        """Images that a point of the surface sees of one line element near it.

        Of its wire those that act as such; of its balls one value from a table.
        """
        return self.exact + self.balls / self.lines

    @property
    def about(self) -> float:
        """Images of line elements near one of them, as points of the surface see them."""
        return 2 * self.pairs / self.lines * self.at_surface

    @property
    def below(self) -> float:
        """The same as points in the soil see them, where no table helps."""
        return 2 * self.pairs / self.lines * (self.exact + self.balls / self.lines * self.seen)

    @property
    def tables(self) -> float:
        """Images in all tables of what balls do at the surface."""
        return self.heights * self.seen


def field_work(planned: MeshPlan, *, conductors: Conductors, soil: Soil) -> FieldWork:
    """What the solution on a planned mesh has to do.

    Raises
    ------
    MeshError
        If layers are so thin beside the elements that a solution would be refused.
    """
    twin = twin_of(conductors, soil=soil)
    conductors, soil = laid_out(twin.conductors, cut=planned.cut), twin.soil
    spread = np.maximum(planned.spread, 1.5 * conductors.sheath_radius)
    balls = expected_balls(planned, conductors=conductors, soil=soil, spread=spread)
    breaks = breaks_of_pieces(
        conductors, planes=-soil.interface_depth, element_size=planned.element_size
    )
    lines = np.array([len(each) - 1.0 for each in breaks])
    lines[conductors.flat] = 1.0  # a patch is one element
    reach = reach_of_pairs(float(spread.max()))
    images, close, seen, exact = _images(conductors, soil=soil, spread=spread, reach=reach)
    return FieldWork(
        planned=planned,
        lines=int(lines.sum()),
        balls=len(balls.place),
        pairs=_pairs(planned, lines=lines, reach=reach_of_pairs(spread)),
        touching=_pairs(planned, lines=lines, reach=rows_apart * spread),
        images=images,
        close=close,
        heights=_heights(balls),
        seen=seen,
        exact=exact,
        reach=reach,
        in_ball=_in_ball(planned, reach=0.5 * reach),
        across_faces=across_faces(planned, balls=balls, soil=soil),
    )


def _in_ball(planned: MeshPlan, *, reach: float) -> float:
    """Elements within reach of a place on the metal, with those between planes."""
    field = SizeField.of(
        planned.start,
        end=planned.end,
        element_size=planned.element_size,
        growth=planned.growth,
    )
    some = field.seeds[np.linspace(0, len(field.seeds) - 1, _balls).astype(int)]
    around = np.random.default_rng(1).uniform(-reach, reach, (_balls, _within, 3))
    places = (some[:, None] + around).reshape(-1, 3)
    near = (np.linalg.norm(around, axis=2).ravel() < reach) & (places[:, 2] < 0.0)
    volume = float((near / field(places) ** 3).mean()) * (2 * reach) ** 3
    count, above = _in_volume * volume, 0.0
    for depth, _ in planned.planes:
        beside = (np.abs(places[:, 2] + depth) < 0.25 * reach) & near
        size = field(places * [1.0, 1.0, 0.0] - [0.0, 0.0, depth])
        triangles = float((beside / size**2).mean()) * (2 * reach) ** 3 / (0.5 * reach)
        close = min(1.0, float(field(some).mean()) / (depth - above))
        count += _at_plane * triangles * close
        above = depth
    return count


def _heights(balls: Clouds) -> int:
    """Number of different heights of balls of one layer and spread."""
    key = np.column_stack([balls.place[:, 2], balls.layer, balls.spread]).round(_alike)
    return len(np.unique(key, axis=0))


def _pairs(planned: MeshPlan, *, lines: Floats, reach: Floats) -> float:
    """Number of pairs of line elements within reach, each once, from some of them."""
    seeds, _ = points_along(planned.start, end=planned.end, element_size=planned.element_size)
    count = np.maximum(1, np.round(planned.length / planned.element_size)).astype(int)
    piece = np.repeat(np.arange(len(count)), count)
    each = (lines / count)[piece]
    some = np.linspace(0, len(seeds) - 1, min(len(seeds), _centres)).astype(int)
    near = cKDTree(seeds).query_ball_point(seeds[some], reach[piece[some]], return_length=True)
    return float(0.5 * len(seeds) * np.mean(near * each[some]) * each.mean())


def _images(
    conductors: Conductors, *, soil: Soil, spread: Floats, reach: float
) -> tuple[float, float, float, float]:
    """Mean numbers of images of a line element: for another, close; for the surface, close."""
    metal = in_layers(conductors, soil=soil)
    share = np.bincount(metal.layer, weights=metal.length) / metal.length.sum()
    balls = Clouds(
        place=np.concatenate([metal.start, metal.end]),
        spread=np.tile(spread[metal.piece], 2),
        layer=np.tile(metal.layer, 2),
        gap=np.tile(spread[metal.piece], 2),
        shares=csr_matrix((0, 2 * len(metal.piece))),
    )
    paths = [
        ray for ray in rays(balls, soil=soil, reach=reach) if ray.target_layer < len(share)
    ]
    each = [float(share[ray.source_layer] * share[ray.target_layer]) for ray in paths]
    far = [rows_of_balls_do(ray, clouds=balls) for ray in paths]
    close = sum(value for value, away in zip(each, far, strict=True) if not away)
    above = [ray for ray in seen_from_surface(paths) if ray.target_layer == 0]
    seen = sum(share[ray.source_layer] for ray in above)
    exact = sum(
        share[ray.source_layer]
        for ray in above
        if not rows_of_balls_do(ray, clouds=balls, between=(0.0, 0.0))
    )
    return sum(each), close, float(seen), float(exact)
