r"""Coupling of metal to the mesh: Gaussian balls of source, and what line elements give them.

Row i of the matrix holds :math:`\int w_i N_k`, the average of every basis function under the
unit ball :math:`w_i`, a Gaussian of standard deviation s in all three directions. Read along a
row it averages the potential for the ball; its transpose spreads the ball's current into the
soil. The balls are integrated over the mesh elements by quadrature, so the finite-element
solution is the true Galerkin solution for them and approaches it from below in energy.
"""

import numpy as np
import scipy.sparse as sparse
from scipy.spatial import cKDTree
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTet

from ..errors import MeshError
from ..model import Floats, Integers, Soil
from ..threads import in_threads
from .clouds import Clouds
from .images import Ray, rays_into_layers
from .space import Space

_cut = 3.4  # standard deviations; 0.3 % of the cloud lies beyond and is scaled back in
# Elements much smaller than a ball would end it there, larger ones reach beyond.
_covered = 4.2
_worst_cloud = 0.3  # quadrature on a proper mesh misses at most 0.1 of a cloud
# Between heights in a table, in standard deviations: linear between them to 2e-6 of a ball.
_step = 0.004
_batch = 64  # balls at once, of some thousand quadrature points each


def heights_of(
    clouds: Clouds, *, index: Integers, z: Floats, layer: Integers, soil: Soil, paths: list[Ray]
) -> Floats:
    """What stands above or below each ball at heights, its images in the planes included.

    Parameters
    ----------
    index : ndarray of int, shape (n,)
        Ball for each row.
    z : ndarray of float, shape (n, q)
        Heights. [m]
    layer : ndarray of int, shape (n,)
        Soil layer of each row.

    Returns
    -------
    density : ndarray of float, shape (n, q)
        Of the ball straight above and below its centre; off it by r the density is less by
        :math:`e^{-r^2 / 2 s^2}`. [1/m³]
    """
    density = np.zeros(z.shape)
    s = clouds.spread[index]
    for ray in paths:
        acts = (clouds.layer[index] == ray.source_layer) & (layer == ray.target_layer)
        if not acts.any():
            continue
        image = ray.sign * clouds.place[index[acts], 2] + ray.shift
        off = (z[acts] - image[:, None]) / s[acts, None]
        ratio = 1.0  # in a body: its background goes on everywhere
        if ray.source_layer < len(soil.conductivity):
            ratio = soil.conductivity[ray.target_layer] / soil.conductivity[ray.source_layer]
        density[acts] += (ray.strength * ratio) * np.exp(-0.5 * off**2)
    return density / (s**3 * (2 * np.pi) ** 1.5)[:, None]


def ball_reach(clouds: Clouds) -> float:
    """How far from a ball or its images it still gives the mesh something. [m]"""
    return _cut * float(clouds.spread.max())


def coupling(space: Space, *, clouds: Clouds, soil: Soil) -> sparse.csr_matrix:
    """Average of each basis function under each ball.

    Returns
    -------
    matrix : csr_matrix, shape (k, size of space)
        Rows sum to 1: a constant potential is averaged exactly, and all of the current
        enters the soil.

    Raises
    ------
    MeshError
        If the mesh near a ball is too coarse to hold it.
    """
    local, weights = get_quadrature(RefTet, 2)
    values = (space.basis(local) * weights).T.astype(np.float32)
    layer = soil.layer_at(-space.centroids[:, 2])
    paths = list(rays_into_layers(clouds, soil=soil, reach=ball_reach(clouds)))
    radius = space.radius
    # Elements grow away from the metal, so those at the rim are larger than the one inside.
    room = 2.0 * radius[space.tree.query(clouds.place)[1]]
    places = (space.jacobian.reshape(-1, 3) @ local).reshape(len(radius), 3, -1)
    places += space.origin[..., None]
    gathered = space.gathering().astype(np.float32)
    order, kind = _alike(clouds)

    def of_batch(first: int) -> sparse.csr_matrix:
        index = order[first : first + _batch]
        spread = clouds.spread[index]
        reach = np.maximum(_cut * spread, _covered * spread - room[index])
        # An array from the start; lists of neighbours would be Python's own integers.
        pairs = cKDTree(clouds.place[index]).sparse_distance_matrix(
            space.tree, float((reach + room[index]).max()), output_type="ndarray"
        )
        near = pairs["v"] < reach[pairs["i"]] + radius[pairs["j"]]
        i, t = pairs["i"][near].astype(np.int16), pairs["j"][near].astype(np.int32)
        by_ball = np.argsort(i, kind="stable")
        i, t = i[by_ball], t[by_ball]
        # Balls at one height have the same images: worked out once for each mesh element.
        own, at = np.unique(kind[index], return_inverse=True)
        key = at[i] * len(radius) + t
        met = np.zeros(len(own) * len(radius), dtype=bool)
        met[key] = True
        some = np.flatnonzero(met)
        tetrahedron, at = some % len(radius), (np.cumsum(met, dtype=np.int32) - 1)[key]
        upright = _read_heights(
            clouds,
            index=index[np.searchsorted(kind[index], own)],
            row=some // len(radius),
            z=places[tetrahedron, 2],
            layer=layer[tetrahedron],
            soil=soil,
            paths=paths,
        )
        upright *= space.volume_factor[tetrahedron][:, None]
        # Single precision from here on: rows are scaled to 1 later.
        middle = clouds.place[index].mean(axis=0)
        square = np.zeros((len(t), places.shape[2]), dtype=np.float32)
        scale = (np.sqrt(0.5) / spread).astype(np.float32)[i, None]
        for k in (0, 1):
            plan = (places[tetrahedron, k] - middle[k]).astype(np.float32)[at]
            plan -= (clouds.place[index, k] - middle[k]).astype(np.float32)[i, None]
            plan *= scale
            square -= plan**2
        density = np.exp(square, out=square)
        density *= upright.astype(np.float32)[at]
        # Columns of one mesh element stand together.
        ends = np.append(0, np.cumsum(np.bincount(i, minlength=len(index)))).astype(np.int32)
        count = values.shape[1]
        columns = (t[:, None] * np.int32(count) + np.arange(count, dtype=np.int32)).ravel()
        shape = (len(index), gathered.shape[0])
        moments = (density @ values).ravel()
        return sparse.csr_matrix((moments, columns, count * ends), shape) @ gathered

    parts = in_threads(of_batch, range(0, len(order), _batch))
    matrix = sparse.vstack(parts, format="csr")[np.argsort(order)]
    matrix.data = matrix.data.astype(np.float64)
    total = np.asarray(matrix.sum(axis=1)).ravel()
    lost = np.abs(total - 1) > _worst_cloud
    if lost.any():
        where = ", ".join(f"{value:.4g}" for value in clouds.place[lost][0])
        msg = (
            f"the mesh is too coarse for the metal at ({where}) m and {int(lost.sum()) - 1} "
            "more places: its elements there are larger than asked for; "
            "ask for a finer mesh (numerics.accuracy or numerics.fineness)"
        )
        raise MeshError(msg)
    matrix.data /= np.repeat(total, np.diff(matrix.indptr))
    return matrix


def _read_heights(
    clouds: Clouds,
    *,
    index: Integers,
    row: Integers,
    z: Floats,
    layer: Integers,
    soil: Soil,
    paths: list[Ray],
) -> Floats:
    """What `heights_of` gives, read from tables: it depends on heights alone.

    Parameters
    ----------
    index : ndarray of int, shape (k,)
        Balls, one for each table.
    row : ndarray of int, shape (n,)
        Table for each row of `z`.
    """
    layers, there = np.unique(layer, return_inverse=True)
    low, high = float(z.min()), float(z.max())
    steps = int(np.ceil((high - low) / (_step * float(clouds.spread[index].min()))))
    if len(index) * len(layers) * steps > z.size:
        ball = index[row]
        return heights_of(clouds, index=ball, z=z, layer=layer, soil=soil, paths=paths)
    grid = np.linspace(low, high, steps + 2)
    ball, level = np.repeat(index, len(layers)), np.tile(layers, len(index))
    table = heights_of(
        clouds,
        index=ball,
        z=np.broadcast_to(grid, (len(ball), len(grid))),
        layer=level,
        soil=soil,
        paths=paths,
    ).ravel()
    place = (z - low) / (grid[1] - grid[0])
    below = np.minimum(place.astype(np.int64), steps)
    place -= below
    below += ((row * len(layers) + there) * len(grid))[:, None]
    return np.asarray(table[below] * (1 - place) + table[below + 1] * place)


def _alike(clouds: Clouds) -> tuple[Integers, Integers]:
    """Balls in an order that keeps neighbours of one height together, and kinds of them."""
    key = np.column_stack([np.round(clouds.place[:, 2], 7), clouds.spread, clouds.layer])
    kind = np.unique(key, axis=0, return_inverse=True)[1].ravel()
    strip = np.floor(clouds.place[:, 0] / (8 * clouds.spread))
    return np.lexsort((clouds.place[:, 1], strip, kind)), kind
