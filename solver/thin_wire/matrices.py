"""Potentials of wires in layered soil, on each other and at points, through all images."""

from collections.abc import Callable, Iterator

import numpy as np

from ..model import Floats, Integers, Soil
from ..wire_distances import point_to_wire, wire_to_wire
from .images import Image, LayeredImages
from .tabled import TabledImages
from .wires import Wires

# Farther apart than this many lengths a wire acts as its midpoint: 0.23 % of that pair's
# own share at most, less the farther, and of either sign with direction. With tables, 0.9 %.
_far, _far_in_haste = 6.0, 3.0
_block = 100_000  # pairs at once, so that what is worked on stays near the processor


def wire_matrix(wires: Wires, *, images: LayeredImages) -> Floats:
    """Mean potential of each wire's face for 1 A from each wire. [Ω]

    Symmetric, films and shells on the diagonal.
    """
    count = len(wires)
    matrix = np.empty((count, count))
    for upper, lower in _layer_pairs(wires.layer):
        rows = np.flatnonzero(wires.layer == upper)
        columns = np.flatnonzero(wires.layer == lower)
        listed = images.between(lower, point=upper)
        for begin, end in _blocks(len(rows), len(columns)):
            some = rows[begin:end]
            others = columns[begin:] if upper == lower else columns
            values = _potentials(wires, rows=some, columns=others, images=images, listed=listed)
            matrix[np.ix_(some, others)] = values
            matrix[np.ix_(others, some)] = values.T
    matrix[np.diag_indices(count)] += wires.series
    return matrix


def renew(matrix: Floats, *, wires: Wires, fresh: Integers, images: LayeredImages) -> None:
    """Fill in rows and columns of some wires, as `wire_matrix` does for all.

    Which wire of a pair is cut into points is decided as there, so that it does not matter in
    which turn a matrix was filled in.
    """
    count = len(wires)
    place = np.empty(count, dtype=np.int64)
    place[np.lexsort((np.arange(count), wires.layer))] = np.arange(count)
    for upper, lower in _layer_pairs(wires.layer):
        listed = images.between(lower, point=upper)
        above, below = (np.flatnonzero(wires.layer == layer) for layer in (upper, lower))
        of_above, of_below = (np.intersect1d(fresh, some) for some in (above, below))
        for rows, columns in ((of_above, below), (above, of_below)):
            if not (len(rows) and len(columns)):
                continue
            for begin, end in _blocks(len(rows), len(columns)):
                some = rows[begin:end]
                values = _potentials(
                    wires, rows=some, columns=columns, images=images, listed=listed
                )
                i, j = np.nonzero(place[some][:, None] <= place[columns])
                matrix[some[i], columns[j]] = matrix[columns[j], some[i]] = values[i, j]
    matrix[fresh, fresh] += wires.series[fresh]


def _potentials(
    wires: Wires,
    *,
    rows: Integers,
    columns: Integers,
    images: LayeredImages,
    listed: tuple[Image, ...],
) -> Floats:
    """Mean potential of some wires for 1 A from others, tabled images included. [Ω]"""
    values = _between_wires(
        wires, rows=rows, columns=columns, images=listed, far=_far_by(images)
    )
    if isinstance(images, TabledImages):
        values += _rest_between(wires, rows=rows, columns=columns, images=images)
    return values


def point_matrix(
    points: Floats, *, wires: Wires, soil: Soil, images: LayeredImages
) -> Iterator[tuple[Integers, Floats]]:
    """Numbers of some points and their potential for 1 A from each wire, in turn. [Ω]"""
    layer = soil.layer_at(-points[:, 2])
    on_surface = points[:, 2] == 0
    for here, surface in sorted(set(zip(layer.tolist(), on_surface.tolist(), strict=True))):
        everything = np.flatnonzero((layer == here) & (on_surface == surface))
        for begin, end in _blocks(len(everything), len(wires)):
            rows = everything[begin:end]
            block = np.empty((len(rows), len(wires)))
            for there in np.unique(wires.layer):
                columns = np.flatnonzero(wires.layer == there)
                listed = images.between(int(there), point=here)
                if surface:
                    listed = tuple(seen_from_surface(listed))
                block[:, columns] = _at_points(
                    points[rows],
                    wires=wires,
                    columns=columns,
                    images=listed,
                    far=_far_by(images),
                )
                if isinstance(images, TabledImages):
                    block[:, columns] += _rest_at(
                        points[rows], wires=wires, columns=columns, images=images, layer=here
                    )
            yield rows, block


def _far_by(images: LayeredImages) -> float:
    return _far_in_haste if isinstance(images, TabledImages) else _far


def seen_from_surface(images: tuple[Image, ...]) -> Iterator[Image]:
    """Half of the images at twice the strength: from the surface both halves look alike."""
    for image in images:
        # The mirror image has sign and shift of the other sign, and the same strength.
        if image.sign > 0:
            yield Image(2.0 * image.strength, image.sign, image.shift)


def _layer_pairs(layer: Integers) -> Iterator[tuple[int, int]]:
    present = np.unique(layer).tolist()
    return ((a, b) for a in present for b in present if a <= b)


def _blocks(rows: int, columns: int) -> Iterator[tuple[int, int]]:
    step = max(1, _block // columns)
    return ((begin, min(begin + step, rows)) for begin in range(0, rows, step))


def _between_wires(
    wires: Wires,
    *,
    rows: Integers,
    columns: Integers,
    images: tuple[Image, ...],
    far: float,
) -> Floats:
    """Mean potential of some wires for 1 A from others. [Ω]"""
    start, end, face, length = wires.start, wires.end, wires.face, wires.length
    middle = wires.middle
    limit = (far * np.maximum(length[rows][:, None], length[columns])) ** 2

    def exact(i: Integers, j: Integers, image: Image) -> Floats:
        a, b = rows[i], columns[j]
        return wire_to_wire(
            start[a],
            end=end[a],
            other_start=mirrored(start[b], image),
            other_end=mirrored(end[b], image),
            offset=np.maximum(face[a], face[b]),
        )

    return _summed(middle[rows], middle[columns], limit=limit, images=images, exact=exact)


def _at_points(
    points: Floats,
    *,
    wires: Wires,
    columns: Integers,
    images: tuple[Image, ...],
    far: float,
) -> Floats:
    """Potential at points for 1 A from some wires. [Ω]"""
    start, end, face = wires.start[columns], wires.end[columns], wires.face[columns]
    limit = np.broadcast_to((far * wires.length[columns]) ** 2, (len(points), len(columns)))

    def exact(i: Integers, j: Integers, image: Image) -> Floats:
        ends = mirrored(start[j], image), mirrored(end[j], image)
        # Inside a face the potential is about that of the face.
        axis = distance_to_axis(points[i], start=ends[0], end=ends[1])
        offset = np.sqrt(np.maximum(face[j] ** 2 - axis**2, 0.0))
        return point_to_wire(points[i], start=ends[0], end=ends[1], offset=offset)

    middle = wires.middle[columns]
    return _summed(points, middle, limit=limit, images=images, exact=exact)


# Points of Gauss and Legendre along wires that are nearer than so many of their lengths, for
# images whose field is smooth.
_along, _weights = 0.5 * np.array(np.polynomial.legendre.leggauss(3))
_beside = 1.5


def _rest_between(
    wires: Wires, *, rows: Integers, columns: Integers, images: TabledImages
) -> Floats:
    """What the tabled images add to the potential of some wires for 1 A from others. [Ω]"""
    point, source = int(wires.layer[rows[0]]), int(wires.layer[columns[0]])
    one, other = wires.middle[rows], wires.middle[columns]
    square = _plan_squares(one, other)
    heights, others = np.broadcast_arrays(one[:, 2, None], other[:, 2])
    found = images.rest(source, point=point, square=square, heights=heights, other=others)
    length = np.maximum(wires.length[rows][:, None], wires.length[columns])
    i, j = np.nonzero(square + (heights - others) ** 2 < (_beside * length) ** 2)
    ends = wires.end - wires.start
    mean = np.zeros(len(i))
    for s, weight in zip(_along, _weights, strict=True):
        for t, factor in zip(_along, _weights, strict=True):
            offset = one[i] + s * ends[rows[i]] - other[j] - t * ends[columns[j]]
            mean += (weight * factor) * images.rest(
                source,
                point=point,
                square=offset[:, 0] ** 2 + offset[:, 1] ** 2,
                heights=one[i, 2] + s * ends[rows[i], 2],
                other=other[j, 2] + t * ends[columns[j], 2],
            )
    found[i, j] = mean
    return found


def _rest_at(
    points: Floats, *, wires: Wires, columns: Integers, images: TabledImages, layer: int
) -> Floats:
    """What the tabled images add to the potential at points for 1 A from some wires. [Ω]"""
    source = int(wires.layer[columns[0]])
    middle, ends = wires.middle[columns], (wires.end - wires.start)[columns]
    square = _plan_squares(points, middle)
    surface = not points[:, 2].any()
    if surface:
        found = images.rest_at_surface(source, square=square, other=middle[:, 2])
    else:
        heights, others = np.broadcast_arrays(points[:, 2, None], middle[:, 2])
        found = images.rest(source, point=layer, square=square, heights=heights, other=others)
    i, j = np.nonzero(square < (_beside * wires.length[columns]) ** 2)
    mean = np.zeros(len(i))
    for t, weight in zip(_along, _weights, strict=True):
        offset = points[i] - middle[j] - t * ends[j]
        near = offset[:, 0] ** 2 + offset[:, 1] ** 2
        other = middle[j, 2] + t * ends[j, 2]
        mean += weight * (
            images.rest_at_surface(source, square=near, other=other)
            if surface
            else images.rest(
                source, point=layer, square=near, heights=points[i, 2], other=other
            )
        )
    found[i, j] = mean
    return found


def _plan_squares(points: Floats, others: Floats) -> Floats:
    """Squares of the plan distances of all pairs. [m²]"""
    square: Floats = np.subtract.outer(points[:, 0], others[:, 0]) ** 2
    square += np.subtract.outer(points[:, 1], others[:, 1]) ** 2
    return square


def _summed(
    points: Floats,
    middle: Floats,
    *,
    limit: Floats,
    images: tuple[Image, ...],
    exact: Callable[[Integers, Integers, Image], Floats],
) -> Floats:
    """Sum over images: as points where they are far, exactly where they are near. [Ω]"""
    plan = _plan_squares(points, middle)
    low, high = points[:, 2].min(), points[:, 2].max()
    farthest = float(np.sqrt(limit.max()))
    total = np.zeros(plan.shape)
    square = np.empty(plan.shape)
    for image in images:
        scale = image.strength / (4.0 * np.pi)
        height = image.sign * middle[:, 2] + image.shift
        if low == high and np.ptp(middle[:, 2]) == 0:
            np.add(plan, (low - height[0]) ** 2, out=square)
        else:
            np.subtract.outer(points[:, 2], height, out=square)
            np.multiply(square, square, out=square)
            square += plan
        i = j = np.zeros(0, dtype=np.int64)
        if max(height.min() - high, low - height.max()) < farthest:
            i, j = np.nonzero(square < limit)
            square[i, j] = 1.0
        np.sqrt(square, out=square)
        np.divide(scale, square, out=square)
        if len(i):
            square[i, j] = scale * exact(i, j, image)
        total += square
    return total


def distance_to_axis(points: Floats, *, start: Floats, end: Floats) -> Floats:
    """Distance of each point from its own wire. [m]"""
    whole = end - start
    share = np.einsum("ni,ni->n", points - start, whole) / np.einsum("ni,ni->n", whole, whole)
    gap = points - start - np.clip(share, 0.0, 1.0)[:, None] * whole
    return np.linalg.norm(gap, axis=1)


def mirrored(points: Floats, image: Image) -> Floats:
    """Where an image of sources at some points is."""
    moved = points.copy()
    moved[:, 2] = image.sign * points[:, 2] + image.shift
    return moved
