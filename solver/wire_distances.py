r"""Mean inverse distance between wires, and between points and wires.

The potential of an evenly leaking wire is its current times the mean of 1/distance along
it; the mean of that along a second wire is what the first does to the second. Seen from the
soil the current leaves the face, not the axis: over two circles of radii a and b about one
axis the mean of ln(distance) is ln(max(a, b)), so axes that coincide are held that far apart.
"""

import numpy as np

from .model import Flags, Floats

# Points of Gauss and Legendre, and the same crowded towards both ends for integrands that
# grow like a logarithm there: share s becomes 3 s² - 2 s³.
_plain = np.polynomial.legendre.leggauss(3)
_plain_share, _plain_weight = 0.5 + 0.5 * _plain[0], 0.5 * _plain[1]
_fine = np.polynomial.legendre.leggauss(6)
_s = 0.5 + 0.5 * _fine[0]
_crowded_share = _s * _s * (3.0 - 2.0 * _s)
_crowded_weight = 0.5 * _fine[1] * 6.0 * _s * (1.0 - _s)

_touching = 1.5  # lengths of the longer wire between the middles
_parallel = 1e-9  # one minus cosine


def point_to_wire(points: Floats, *, start: Floats, end: Floats, offset: Floats) -> Floats:
    r"""Mean of 1/distance from each point to its own wire. [1/m]

    The offset is a distance at right angles that is added between them.

    Notes
    -----
    With distances p and q to the ends of a wire of length L, added offset included,

    .. math:: \frac{1}{L} \ln \frac{p + q + L}{p + q - L}
    """
    square = offset * offset
    p = np.sqrt(_square(points - start) + square)
    q = np.sqrt(_square(points - end) + square)
    span = np.sqrt(_square(end - start))
    mean: Floats = np.log((p + q + span) / (p + q - span)) / span
    return mean


def wire_to_wire(
    start: Floats, *, end: Floats, other_start: Floats, other_end: Floats, offset: Floats
) -> Floats:
    """Mean of 1/distance between the wires of each pair, shape (n,). [1/m]

    The offset is a distance at right angles that is added between them.
    """
    along, other = end - start, other_end - other_start
    length, other_length = np.sqrt(_square(along)), np.sqrt(_square(other))
    cosine = np.abs(np.einsum("ni,ni->n", along, other)) / (length * other_length)
    parallel = 1.0 - cosine < _parallel
    gap = 0.5 * np.sqrt(_square(start + end - other_start - other_end))
    near = ~parallel & (gap < _touching * np.maximum(length, other_length))
    mean = np.empty(len(start))
    ways = ((parallel, _parallel_mean), (near, _near_mean), (~parallel & ~near, _plain_mean))
    for chosen, way in ways:
        if chosen.any():
            mean[chosen] = way(*_picked(chosen, start, end, other_start, other_end, offset))
    return mean


def _square(vectors: Floats) -> Floats:
    """Squares of lengths; twice as fast as a sum over the last, short axis."""
    return np.asarray(np.einsum("...i,...i->...", vectors, vectors))


def _picked(chosen: Flags, *arrays: Floats) -> tuple[Floats, ...]:
    return tuple(array[chosen] for array in arrays)


def _parallel_mean(
    start: Floats, end: Floats, other_start: Floats, other_end: Floats, offset: Floats
) -> Floats:
    """Closed form: second difference of x arsinh(x / p) - sqrt(x² + p²)."""
    length = np.sqrt(_square(end - start))
    unit = (end - start) / length[:, None]
    first = np.einsum("ni,ni->n", other_start - start, unit)
    last = np.einsum("ni,ni->n", other_end - start, unit)
    across = other_start - start - first[:, None] * unit
    square = _square(across) + offset * offset
    p = np.sqrt(square)

    def primitive(x: Floats) -> Floats:
        return np.asarray(x * np.arcsinh(x / p) - np.sqrt(x * x + square))

    total = (
        primitive(last)
        - primitive(first)
        - primitive(last - length)
        + primitive(first - length)
    )
    return np.asarray(np.abs(total) / (length * np.abs(last - first)))


def _plain_mean(
    start: Floats, end: Floats, other_start: Floats, other_end: Floats, offset: Floats
) -> Floats:
    """Gauss points along the first wire."""
    points = start[:, None] + _plain_share[:, None] * (end - start)[:, None]
    values = point_to_wire(
        points, start=other_start[:, None], end=other_end[:, None], offset=offset[:, None]
    )
    return np.asarray(values @ _plain_weight)


def _near_mean(
    start: Floats, end: Floats, other_start: Floats, other_end: Floats, offset: Floats
) -> Floats:
    """Crowded points on both sides of where the first wire comes nearest to the other."""
    share = _nearest_share(start, end, other_start, other_end)[:, None]
    share = np.concatenate([share * _crowded_share, share + (1.0 - share) * _crowded_share], 1)
    points = start[:, None] + share[:, :, None] * (end - start)[:, None]
    values = point_to_wire(
        points, start=other_start[:, None], end=other_end[:, None], offset=offset[:, None]
    )
    half = len(_crowded_share)
    split = _nearest_share(start, end, other_start, other_end)
    return np.asarray(
        split * (values[:, :half] @ _crowded_weight)
        + (1.0 - split) * (values[:, half:] @ _crowded_weight)
    )


def _nearest_share(
    start: Floats, end: Floats, other_start: Floats, other_end: Floats
) -> Floats:
    """Share of the first wire at which it comes nearest to the other; not parallel."""
    u, v, w = end - start, other_end - other_start, start - other_start
    uu, vv, uv = (np.einsum("ni,ni->n", x, y) for x, y in ((u, u), (v, v), (u, v)))
    uw, vw = np.einsum("ni,ni->n", u, w), np.einsum("ni,ni->n", v, w)
    share = np.clip((uv * vw - vv * uw) / (uu * vv - uv * uv), 0.0, 1.0)
    # Nearest point of the other wire to that one, then back.
    other = np.clip((uv * share + vw) / vv, 0.0, 1.0)
    return np.asarray(np.clip((uv * other - uw) / uu, 0.0, 1.0))
