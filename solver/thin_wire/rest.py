"""What the tabled images of a soil add to the potentials of wires and panels."""

import numpy as np

from ..model import Floats, Integers
from ..patches import gauss_points
from .tabled import TabledImages
from .wires import Wires

# Points of Gauss and Legendre along wires that are nearer than so many of their lengths, for
# images whose field is smooth.
_along, _weights = 0.5 * np.array(np.polynomial.legendre.leggauss(3))
_beside = 1.5


def rest_between(
    wires: Wires, *, rows: Integers, columns: Integers, images: TabledImages
) -> Floats:
    """What the tabled images add to the potential of some wires for 1 A from others. [Ω]"""
    point, source = int(wires.layer[rows[0]]), int(wires.layer[columns[0]])
    one, other = wires.middle[rows], wires.middle[columns]
    square = plan_squares(one, other)
    heights, others = np.broadcast_arrays(one[:, 2, None], other[:, 2])
    found = images.rest(source, point=point, square=square, heights=heights, other=others)
    reach = np.maximum(wires.reach[rows][:, None], wires.reach[columns])
    i, j = np.nonzero(square + (heights - others) ** 2 < (_beside * reach) ** 2)
    places, weights = _nodes_of(wires)
    mean = np.zeros(len(i))
    for s in range(places.shape[1]):
        for t in range(places.shape[1]):
            at, to = places[rows[i], s], places[columns[j], t]
            mean += (weights[rows[i], s] * weights[columns[j], t]) * images.rest(
                source,
                point=point,
                square=(at[:, 0] - to[:, 0]) ** 2 + (at[:, 1] - to[:, 1]) ** 2,
                heights=at[:, 2],
                other=to[:, 2],
            )
    found[i, j] = mean
    return found


def _nodes_of(wires: Wires) -> tuple[Floats, Floats]:
    """Places in each wire and panel, shape (n, q, 3) [m], and weights that sum to 1, (n, q)."""
    middle = 0.5 * (wires.start + wires.end)
    places = middle[:, None] + _along[:, None] * (wires.end - wires.start)[:, None]
    weights = np.broadcast_to(_weights, places.shape[:2])
    if wires.corners is None:
        return places, weights
    flat = wires.flat
    # One more for panels, of which a wire has no use.
    places = np.concatenate([places, middle[:, None]], axis=1)
    weights = np.column_stack([weights, np.zeros(len(wires))])
    places[flat], weights[flat] = gauss_points(wires.corners[flat], 2)
    return places, weights


def rest_at(
    points: Floats, *, wires: Wires, columns: Integers, images: TabledImages, layer: int
) -> Floats:
    """What the tabled images add to the potential at points for 1 A from some wires. [Ω]"""
    source = int(wires.layer[columns[0]])
    middle = wires.middle[columns]
    square = plan_squares(points, middle)
    surface = not points[:, 2].any()
    if surface:
        found = images.rest_at_surface(source, square=square, other=middle[:, 2])
    else:
        heights, others = np.broadcast_arrays(points[:, 2, None], middle[:, 2])
        found = images.rest(source, point=layer, square=square, heights=heights, other=others)
    i, j = np.nonzero(square < (_beside * wires.reach[columns]) ** 2)
    places, weights = _nodes_of(wires)
    mean = np.zeros(len(i))
    for t in range(places.shape[1]):
        to = places[columns[j], t]
        near = (points[i, 0] - to[:, 0]) ** 2 + (points[i, 1] - to[:, 1]) ** 2
        other = to[:, 2]
        mean += weights[columns[j], t] * (
            images.rest_at_surface(source, square=near, other=other)
            if surface
            else images.rest(
                source, point=layer, square=near, heights=points[i, 2], other=other
            )
        )
    found[i, j] = mean
    return found


def plan_squares(points: Floats, others: Floats) -> Floats:
    """Squares of the plan distances of all pairs. [m²]"""
    square: Floats = np.subtract.outer(points[:, 0], others[:, 0]) ** 2
    square += np.subtract.outer(points[:, 1], others[:, 1]) ** 2
    return square
