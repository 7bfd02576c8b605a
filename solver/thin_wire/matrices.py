"""Potentials of wires and panels in layered soil, on each other and at points, by images."""

from collections.abc import Callable, Iterator

import numpy as np

from ..model import Floats, Integers, Soil
from ..pairs import distance_to_segment
from ..wire_distances import point_to_wire, wire_to_wire
from . import panels
from .images import Image, LayeredImages
from .rest import plan_squares, rest_at, rest_between
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
        values += rest_between(wires, rows=rows, columns=columns, images=images)
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
                    block[:, columns] += rest_at(
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
    middle, reach, flat = wires.middle, wires.reach, wires.flat
    limit = (far * np.maximum(reach[rows][:, None], reach[columns])) ** 2

    def exact(i: Integers, j: Integers, image: Image) -> Floats:
        a, b = rows[i], columns[j]
        if wires.corners is None:
            return _two_wires(wires, a, b, image)
        found = np.empty(len(a))
        for one, other, mean in (
            (False, False, _two_wires),
            (False, True, _wire_and_panel),
            (True, False, _panel_and_wire),
            (True, True, _two_panels),
        ):
            some = (flat[a] == one) & (flat[b] == other)
            if some.any():
                found[some] = mean(wires, a[some], b[some], image)
        return found

    return _summed(middle[rows], middle[columns], limit=limit, images=images, exact=exact)


def _two_wires(wires: Wires, one: Integers, other: Integers, image: Image) -> Floats:
    """Mean inverse distance of wires from the images of others. [1/m]"""
    return wire_to_wire(
        wires.start[one],
        end=wires.end[one],
        other_start=mirrored(wires.start[other], image),
        other_end=mirrored(wires.end[other], image),
        offset=np.maximum(wires.face[one], wires.face[other]),
    )


def _wire_and_panel(wires: Wires, one: Integers, other: Integers, image: Image) -> Floats:
    """The same of wires from the images of panels. [1/m]"""
    assert wires.corners is not None
    return panels.and_wires(
        mirrored(wires.corners[other], image),
        start=wires.start[one],
        end=wires.end[one],
        face=wires.face[one],
    )


def _panel_and_wire(wires: Wires, one: Integers, other: Integers, image: Image) -> Floats:
    """The same of panels from the images of wires. [1/m]"""
    assert wires.corners is not None
    return panels.and_wires(
        wires.corners[one],
        start=mirrored(wires.start[other], image),
        end=mirrored(wires.end[other], image),
        face=wires.face[other],
    )


def _two_panels(wires: Wires, one: Integers, other: Integers, image: Image) -> Floats:
    """The same of panels from the images of others. [1/m]"""
    assert wires.corners is not None
    return panels.between(wires.corners[one], mirrored(wires.corners[other], image))


def _at_points(
    points: Floats,
    *,
    wires: Wires,
    columns: Integers,
    images: tuple[Image, ...],
    far: float,
) -> Floats:
    """Potential at points for 1 A from some wires. [Ω]"""
    limit = np.broadcast_to((far * wires.reach[columns]) ** 2, (len(points), len(columns)))
    flat = wires.flat[columns]

    def exact(i: Integers, j: Integers, image: Image) -> Floats:
        found = np.empty(len(i))
        for some, mean in ((~flat[j], _from_wires), (flat[j], _from_panels)):
            if some.any():
                found[some] = mean(points[i[some]], wires, columns[j[some]], image)
        return found

    middle = wires.middle[columns]
    return _summed(points, middle, limit=limit, images=images, exact=exact)


def _from_wires(points: Floats, wires: Wires, source: Integers, image: Image) -> Floats:
    """Mean inverse distance of points from the image of a wire each. [1/m]"""
    start, end = (mirrored(ends[source], image) for ends in (wires.start, wires.end))
    # Inside a face the potential is about that of the face.
    axis = distance_to_segment(points, start=start, end=end)
    offset = np.sqrt(np.maximum(wires.face[source] ** 2 - axis**2, 0.0))
    return point_to_wire(points, start=start, end=end, offset=offset)


def _from_panels(points: Floats, wires: Wires, source: Integers, image: Image) -> Floats:
    """The same from the image of a panel each. [1/m]"""
    assert wires.corners is not None
    return panels.at_points(points, corners=mirrored(wires.corners[source], image))


def _summed(
    points: Floats,
    middle: Floats,
    *,
    limit: Floats,
    images: tuple[Image, ...],
    exact: Callable[[Integers, Integers, Image], Floats],
) -> Floats:
    """Sum over images: as points where they are far, exactly where they are near. [Ω]"""
    plan = plan_squares(points, middle)
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


def mirrored(points: Floats, image: Image) -> Floats:
    """Where an image of sources at some points is."""
    moved = points.copy()
    moved[..., 2] = image.sign * points[..., 2] + image.shift
    return moved
