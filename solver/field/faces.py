r"""Round faces and flat ends of vertical metal, as they act on one another.

A thin wire carries its current on the axis and has no end. Within some radii of a tip that
is wrong: soil takes the place of the metal, and a flat end in better soil leaks nothing. So
a bare vertical piece with a free end has its current on its true face near by: rings that
make up a cylinder, and a disc. Planes between layers cross the axis at right angles, so the
images of rings and discs are rings and discs on the same axis.
"""

from functools import cache

import numpy as np
from scipy.special import ellipkm1, gamma, jv, roots_jacobi

from ..model import Floats

_ring_radii = np.ones(1), np.ones(1)
_nodes, _weights = np.polynomial.legendre.leggauss(20)
_ring_angles = np.pi * (0.5 * (_nodes + 1)) ** 3  # dense where two points of a ring meet
_ring_weights = 0.5 * _weights * 3 * (0.5 * (_nodes + 1)) ** 2
_rings_at_points = 48
_last_wave = 160.0
_waves = (np.arange(0.0, _last_wave, 2.0)[:, None] + _nodes + 1).ravel()
_wave_weights = np.tile(_weights, int(_last_wave / 2))


@cache
def _rings_of(order: float, count: int) -> tuple[Floats, Floats]:
    """Radii of the rings that stand for a disc of radius 1, and their shares."""
    places, weights = roots_jacobi(count, order - 1, 0.0)  # of 2 r²/a² - 1
    return np.sqrt(0.5 * (1 + places)), weights / weights.sum()


@cache
def _disc_of(order: float) -> tuple[Floats, Floats, Floats]:
    """Radii of the rings that stand for a disc of radius 1, their shares, its transform."""
    radii, shares = _rings_of(order, 16)
    waves = gamma(order + 1) * (2 / _waves) ** order * jv(order, _waves)
    return radii, shares, waves


def edge_order(*, ahead: Floats, beside: Floats) -> Floats:
    r"""Power of the distance from the rim of a flat end with which the potential drops there.

    The density on the end grows as that power less 1.

    Parameters
    ----------
    ahead, beside : ndarray of float
        Conductivity below the plane of a lower end and beside the metal above it. [S/m]

    Notes
    -----
    Potential sin λθ in the half-plane ahead and sin λ(3π/2 - θ) in the quarter beside, with
    one potential and current at the joint: :math:`\tan^2(\lambda\pi/2) = 1 + 2\sigma_b /
    \sigma_a`. Like soils give 2/3 (Jackson 1962, *Classical Electrodynamics*, section 2.11;
    from memory), much better soil ahead 1/2, as of a disc alone.
    """
    return np.asarray(2 / np.pi * np.arctan(np.sqrt(1 + 2 * beside / ahead)))


def mean_inverse_distance(
    target: tuple[Floats, Floats],
    *,
    source: tuple[Floats, Floats],
    radius: Floats,
    target_order: float | None = None,
    source_order: float | None = None,
) -> Floats:
    r"""Mean of 1 / distance between two faces on one axis.

    Parameters
    ----------
    target, source : tuple of ndarray of float, each shape (n,)
        Lower and upper end of a cylinder along the axis; of a disc only the first counts. [m]
    radius : ndarray of float, shape (n,)
        Of both. [m]
    target_order, source_order : float, optional
        `edge_order` of a disc; none for a cylinder.

    Returns
    -------
    mean : ndarray of float, shape (n,)
        Over both faces; over a disc weighted by (1 - r²/a²) to its order less 1. [1/m]

    Notes
    -----
    Along the axis in closed form: u arsinh(u/ρ) - √(u² + ρ²) has the second derivative
    1/√(u² + ρ²). Round it by quadrature of ρ² = r² + s² - 2 r s cos θ. Of two discs at d,
    :math:`\int_0^\infty w(k)^2 e^{-kd} dk` with w the Hankel transform of the density.
    """
    if target_order is not None and source_order is not None:
        gap = np.abs(target[0] - source[0]) / radius
        return _between_discs(gap, orders=(target_order, source_order)) / radius
    if target_order is not None:
        target, source = source, target
    low, high = target
    order = source_order if target_order is None else target_order
    ends = source if order is None else source[:1]
    radii, parts = _ring_radii if order is None else _disc_of(order)[:2]
    mean = np.zeros(len(radius))
    for r, part in zip(radii, parts, strict=True):
        across = np.sqrt((1 - r) ** 2 + 4 * r * np.sin(0.5 * _ring_angles) ** 2)
        rho = across * radius[:, None]
        if len(ends) == 1:
            u, v = high - ends[0], low - ends[0]
            along = np.arcsinh(u[:, None] / rho) - np.arcsinh(v[:, None] / rho)
            along /= (high - low)[:, None]
        else:
            along = _second(high - ends[0], rho) + _second(low - ends[1], rho)
            along -= _second(high - ends[1], rho) + _second(low - ends[0], rho)
            along /= ((high - low) * (ends[1] - ends[0]))[:, None]
        mean += part * (along @ _ring_weights)
    return mean


def ring_at(
    across: Floats, *, height: Floats, span: tuple[Floats, Floats], radius: Floats
) -> Floats:
    """Mean of 1 / distance of points from cylinders, shape (n,). [1/m]

    Parameters
    ----------
    across, height : ndarray of float, shape (n,)
        Of each point, from the axis and along it. [m]
    span : tuple of ndarray of float, each shape (n,)
        Lower and upper end of its cylinder. [m]
    """
    angle = np.sin(0.5 * _ring_angles)
    rho = np.sqrt((across - radius)[:, None] ** 2 + 4 * (across * radius)[:, None] * angle**2)
    low, high = (end - height for end in span)
    rho = np.maximum(rho, 1e-9 * radius[:, None])
    along = np.arcsinh(high[:, None] / rho) - np.arcsinh(low[:, None] / rho)
    return np.asarray(along @ _ring_weights / (high - low))


def disc_at(across: Floats, *, height: Floats, radius: Floats, order: float) -> Floats:
    r"""Mean of 1 / distance of points from discs of an `edge_order`, shape (n,). [1/m]

    Parameters
    ----------
    across, height : ndarray of float, shape (n,)
        Of each point, from the axis and above the disc. [m]

    Notes
    -----
    Of a ring of radius s, :math:`2 K(m) / \pi \sqrt{(r + s)^2 + z^2}` with
    :math:`1 - m = ((r - s)^2 + z^2) / ((r + s)^2 + z^2)` (Kellogg 1929; from memory).
    """
    mean = np.zeros(len(across))
    for ring, share in zip(*_rings_of(order, _rings_at_points), strict=True):
        square = (across + ring * radius) ** 2 + height**2
        rest = np.maximum((across - ring * radius) ** 2 + height**2, 1e-12 * radius**2)
        mean += share * 2 / np.pi * ellipkm1(rest / square) / np.sqrt(square)
    return mean


def _second(u: Floats, rho: Floats) -> Floats:
    """Second integral of 1/√(u² + ρ²) over u, shape (n, number of angles). [m]"""
    u = u[:, None]
    return np.asarray(u * np.arcsinh(u / rho) - np.hypot(u, rho))


def _between_discs(gap: Floats, *, orders: tuple[float, float]) -> Floats:
    """Mean of 1 / distance of two discs of radius 1 at a gap of some radii."""
    one, other = (_disc_of(order)[2] for order in orders)
    waves = np.exp(-gap[:, None] * _waves) @ (_wave_weights * one * other)
    # Beyond the longest wavenumber; of cosines in step the mean of the square is a half.
    total, phase = sum(orders), np.cos(0.5 * np.pi * (orders[0] - orders[1]))
    size = gamma(orders[0] + 1) * gamma(orders[1] + 1) * 2**total / np.pi * phase
    rest = size * _last_wave**-total / total
    return np.asarray(waves + rest * np.exp(-gap * _last_wave))
