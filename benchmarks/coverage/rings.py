"""Rings about one axis: mean of 1 / distance between them, integrated over panels.

A panel is a straight line in the half-plane (radius, place along the axis), turned about the
axis: part of a tube, a ring of a flat end, or of a cone. Its density is even over its face.
"""

import numpy as np
from scipy.special import ellipe, ellipkm1

_far_nodes, _far_weights = np.polynomial.legendre.leggauss(5)
_far_nodes, _far_weights = 0.5 * (_far_nodes + 1), 0.5 * _far_weights
_near_nodes, _near_weights = np.polynomial.legendre.leggauss(12)
_near_nodes, _near_weights = 0.5 * (_near_nodes + 1), 0.5 * _near_weights
# Both sides of the place next to the point, dense there: logarithms become smooth.
_power = 5
_dense = _near_nodes**_power
_dense_weights = _near_weights * _power * _near_nodes ** (_power - 1)


def ring(r, x, source_r, source_x):
    """Mean of 1 / distance of two rings about one axis. [1/m]"""
    along = (x - source_x) ** 2
    square = (r + source_r) ** 2 + along
    return 2 / np.pi * ellipkm1(((r - source_r) ** 2 + along) / square) / np.sqrt(square)


def ring_gradient(r, x, source_r, source_x):
    """Derivatives of `ring` to r and x, r > 0. [1/m²]"""
    along = x - source_x
    square = (r + source_r) ** 2 + along**2
    gap = (r - source_r) ** 2 + along**2
    k, e = ellipkm1(gap / square), ellipe(1 - gap / square)
    root = np.sqrt(square)
    to_x = -2 / np.pi * along * e / (gap * root)
    to_r = 2 / np.pi * (e * (source_r**2 - r**2 + along**2) / gap - k) / (2 * r * root)
    return to_r, to_x


def over_panel(r, x, *, panel, of=ring):
    """Mean of `of` over panels (r0, x0, r1, x1), all arrays of one shape."""
    r, x, r0, x0, r1, x1 = np.broadcast_arrays(r, x, *panel)
    shape = r.shape
    r, x, r0, x0, r1, x1 = (np.ravel(value) for value in (r, x, r0, x0, r1, x1))
    length = np.hypot(r1 - r0, x1 - x0)
    share = ((r - r0) * (r1 - r0) + (x - x0) * (x1 - x0)) / length**2
    share = np.clip(share, 0, 1)
    gap = np.hypot(r - r0 - share * (r1 - r0), x - x0 - share * (x1 - x0))
    near = gap < 1.5 * length
    first = of(r[:1], x[:1], r0[:1] + 1.0, x0[:1] + 1.0)
    found = [np.zeros(len(r)) for _ in (first if isinstance(first, tuple) else (0,))]
    for chosen, parts in ((near, "near"), (~near, "far")):
        if not chosen.any():
            continue
        at, s = np.flatnonzero(chosen), share[chosen][:, None]
        if parts == "near":
            t = np.concatenate([s - s * _dense, s + (1 - s) * _dense], axis=1)
            weight = np.concatenate([s * _dense_weights, (1 - s) * _dense_weights], axis=1)
        else:
            t = np.broadcast_to(_far_nodes, (len(at), len(_far_nodes)))
            weight = np.broadcast_to(_far_weights, t.shape)
        source_r = r0[at, None] + t * (r1 - r0)[at, None]
        source_x = x0[at, None] + t * (x1 - x0)[at, None]
        weight = weight * source_r / (0.5 * (r0 + r1)[at, None])  # even over the face
        values = of(r[at, None], x[at, None], source_r, source_x)
        for total, value in zip(found, values if len(found) > 1 else (values,), strict=True):
            # A point at the end of a panel meets its own ring, with no weight.
            total[at] = (np.where(weight > 0, value, 0.0) * weight).sum(axis=1)
    found = [value.reshape(shape) for value in found]
    return found[0] if len(found) == 1 else tuple(found)


def between_panels(target, *, source):
    """Mean over the faces of two panels each (arrays of one shape) of the mean 1 / distance."""
    r0, x0, r1, x1 = (np.asarray(value)[..., None] for value in target)
    nodes, weights = np.polynomial.legendre.leggauss(6)
    t, w = 0.5 * (nodes + 1), 0.5 * weights
    r, x = r0 + t * (r1 - r0), x0 + t * (x1 - x0)
    w = w * r / (0.5 * (r0 + r1))
    panel = tuple(np.asarray(value)[..., None] for value in source)
    return (over_panel(r, x, panel=panel) * w).sum(axis=-1)
