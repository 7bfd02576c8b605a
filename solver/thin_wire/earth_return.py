r"""Impedance that thin wires near the surface induce in each other, with return through soil.

Two short lengths ds, ds' at an angle and r apart in plan have

.. math:: \frac{j \omega \mu_0}{2 \pi} \left( \cos\alpha \, \frac{1}{2 R}
          + \cos\alpha' \, S(r) \right) ds \, ds'

with R the distance in space and :math:`\alpha'` the angle in plan (Neumann; Foster 1931; Sunde
1949, *Earth Conduction Effects*; the latter two from memory). In uniform soil

.. math:: S(r) = \gamma \left( \frac{1 - (1 + x) e^{-x}}{x^3} - \frac{1}{2 x} \right),
          \quad x = \gamma r, \quad \gamma^2 = j \omega \mu_0 / \rho,

and layers add what :math:`\lambda / (\lambda + U)` differs by from that of the top one under
its integral, which dies off as :math:`e^{-2 \lambda h}`: plain quadrature will do. It is
written without a look at `solver.metal`, against which it stands as a second opinion.
"""

import numpy as np
from scipy.constants import mu_0
from scipy.special import j0

from ..metal.internal import Complexes
from ..model import Floats, Integers, Soil
from ..wire_distances import wire_to_wire

_series_below = 0.3
_nearest, _farthest, _rows = 1e-2, 2e5, 120
# Of the quadrature: where layers no longer count, in terms of the top one's thickness; where
# waves are faded out, in terms of the distance; places.
_died_off, _faded, _places = 25.0, 400.0, 4000
_block = 200_000  # pairs at once
# Gauss and Legendre along each wire, for what is smooth
_at = 0.5 + 0.5 / np.sqrt(3.0) * np.array([-1.0, 1.0])


class ReturnPath:
    """What soil adds to the mutual impedance of wires at some frequency above 0."""

    def __init__(self, soil: Soil, frequency: float) -> None:
        omega = 2 * np.pi * frequency
        self._factor = 1j * omega * mu_0 / (2 * np.pi)
        gammas = np.sqrt(1j * omega * mu_0 / np.array(soil.resistivity))
        r = np.geomspace(_nearest, _farthest, _rows)
        smooth = gammas[0] * _uniform(gammas[0] * r)
        if len(gammas) > 1:
            smooth = smooth + _of_layers(r, gammas=gammas, thickness=np.array(soil.thickness))
        self._log, self._smooth = np.log(r), smooth

    def _between(self, distance: Floats) -> Complexes:
        """S at plan distances. [1/m]"""
        at = np.log(np.maximum(distance, _nearest))
        real, imag = self._smooth.real, self._smooth.imag
        return np.asarray(np.interp(at, self._log, real) + 1j * np.interp(at, self._log, imag))

    def matrix(self, start: Floats, *, end: Floats, radius: Floats) -> Complexes:
        """Impedance that each wire's current induces in each, shape (n, n). [Ω]"""
        count = len(start)
        found = np.empty((count, count), dtype=complex)
        one, other = np.triu_indices(count)
        for begin in range(0, len(one), _block):
            i, j = one[begin : begin + _block], other[begin : begin + _block]
            values = self._pairs(start, end, radius, i, j)
            found[i, j] = values
            found[j, i] = values
        return found

    def _pairs(
        self, start: Floats, end: Floats, radius: Floats, i: Integers, j: Integers
    ) -> Complexes:
        a, b = (end - start)[i], (end - start)[j]
        inverse = wire_to_wire(
            start[i],
            end=end[i],
            other_start=start[j],
            other_end=end[j],
            offset=np.maximum(radius[i], radius[j]),
        )
        smooth = np.zeros(len(i), dtype=complex)
        for s in _at:
            for t in _at:
                apart = (start[i] + s * a - start[j] - t * b)[:, :2]
                smooth += 0.25 * self._between(np.hypot(apart[:, 0], apart[:, 1]))
        space = np.einsum("ni,ni->n", a, b)
        plan = np.einsum("ni,ni->n", a[:, :2], b[:, :2])
        return np.asarray(self._factor * (0.5 * space * inverse + plan * smooth))


def _uniform(x: Complexes) -> Complexes:
    """[1 - (1+x) exp(-x)] / x³ - 1 / 2x, by its series where that cancels."""
    series = -1 / 3 + x / 8 - x**2 / 30 + x**3 / 144 - x**4 / 840 + x**5 / 5760
    big = np.where(np.abs(x) < _series_below, 1.0, x)
    closed = (1.0 - (1.0 + big) * np.exp(-big)) / big**3 - 0.5 / big
    return np.asarray(np.where(np.abs(x) < _series_below, series, closed))


def _of_layers(r: Floats, *, gammas: Complexes, thickness: Floats) -> Complexes:
    """What layers below the top one add to S. [1/m]"""
    return np.array([_added(each, gammas=gammas, thickness=thickness) for each in r])


def _added(r: float, *, gammas: Complexes, thickness: Floats) -> complex:
    """The same at one distance.

    What is smooth beside the waves of the Bessel function adds nothing: it is faded out.
    """
    top = min(_died_off / thickness[0], 2.5 * _faded / r)
    # Fine where soils change it, and even where waves do.
    wave = np.union1d(
        np.geomspace(1e-10 * top, top, _places), np.linspace(0.0, top, _places)[1:]
    )
    vertical = np.sqrt(wave**2 + gammas[:, None] ** 2)
    total = vertical[-1]
    for u, deep in zip(vertical[-2::-1], thickness[::-1], strict=True):
        t = np.tanh(u * deep)
        total = u * (total + u * t) / (u + total * t)
    differs = wave * (vertical[0] - total) / ((wave + total) * (wave + vertical[0]))
    faded = np.exp(-((wave * r / _faded) ** 2))
    return complex((differs * faded * j0(wave * r) * np.gradient(wave)).sum())
