r"""Potential of a point source in horizontal layers: nearest images and Hankel integrals.

A current I at depth d' in layer i has at depth d of layer j and horizontal distance r

.. math:: \phi = \frac{\rho_i I}{4 \pi} \int_0^\infty \sum_t C_t(\lambda)\,
          e^{-\lambda s_t} J_0(\lambda r) \, d\lambda

with lengths s linear in d and d' (waves down or up from the source, down or up at the field
point) and coefficients C from the recursion of reflection coefficients through the layers
(e.g. L. M. Brekhovskikh, *Waves in Layered Media*; from memory). What C tends to for short
waves is an image: C(∞)/√(r² + s²). The rest is as smooth as the thinnest layer is thick; it is
integrated on a lattice of (r, s) by Gauss's rule between oscillations and interpolated.
"""

from dataclasses import dataclass, field

import numpy as np
from scipy.interpolate import RectBivariateSpline
from scipy.special import j0

_lattice = 96  # points of the lattice in each direction
_decays = 40.0  # exponent at which the integrals are cut off
_gauss, _gauss_weights = np.polynomial.legendre.leggauss(8)


@dataclass(frozen=True)
class Term:
    """One kind of wave: s = from_source d' + from_field d + shift. [m]"""

    coefficient: object  # of the wavenumbers, shape (n,)
    limit: float  # for short waves; its image is at depth  sign * d' + offset
    from_source: float
    from_field: float
    shift: float


@dataclass
class LayeredGround:
    """Layers, and a region for which their Green's function is made.

    `reach` is the largest horizontal distance, `depth` the greatest depth of any point. [m]
    """

    resistivity: tuple[float, ...]
    thickness: tuple[float, ...]
    reach: float
    depth: float
    _splines: dict[tuple[int, int], list] = field(default_factory=dict, repr=False)

    def __post_init__(self):
        self.tops = np.concatenate([[0.0], np.cumsum(self.thickness)])
        self.bottoms = np.concatenate([np.cumsum(self.thickness), [np.inf]])
        self.scale = min(self.thickness, default=1.0)
        if len(self.resistivity) > 1:
            self._prepare()

    def layer_at(self, depth):
        """Layer that holds each depth."""
        return np.searchsorted(np.cumsum(self.thickness), depth, side="right")

    def _prepare(self):
        last = _decays / self.scale
        first = 1e-8 / max(self.reach, self.depth, sum(self.thickness))
        edges = [first]
        widest = 2 * np.pi / max(self.reach, self.depth, 1e-9)
        while edges[-1] < last:
            edges.append(edges[-1] + min(0.35 * edges[-1], widest))
        edges = np.concatenate([[0.0], edges])
        half = 0.5 * np.diff(edges)[:, None]
        middle = 0.5 * (edges[1:] + edges[:-1])[:, None]
        self.waves = (middle + half * _gauss).ravel()
        self.weights = (half * _gauss_weights).ravel()
        self.up, self.down, self.up_limit, self.down_limit = self._reflections()
        grid = np.sinh(np.linspace(0, 1, _lattice) * np.arcsinh(1.02 * self.reach / self.scale))
        self.grid_r = grid * self.scale
        longest = 2 * self.depth + 2 * sum(self.thickness)
        grid = np.sinh(np.linspace(0, 1, _lattice) * np.arcsinh(1.02 * longest / self.scale))
        self.grid_s = grid * self.scale
        self._bessel = j0(np.outer(self.grid_r, self.waves)) * self.weights
        self._decay = np.exp(-np.outer(self.waves, self.grid_s))

    def _reflections(self):
        """Reflection of the potential at the top and the bottom of each layer, from inside."""
        rho, count = self.resistivity, len(self.resistivity)
        up, down = [np.ones_like(self.waves)], [np.zeros_like(self.waves)]
        up_limit, down_limit = [1.0], [0.0]
        for k in range(1, count):
            local = (rho[k - 1] - rho[k]) / (rho[k - 1] + rho[k])
            echo = up[-1] * np.exp(-2 * self.waves * self.thickness[k - 1])
            up.append((local + echo) / (1 + local * echo))
            up_limit.append(local)
        for k in range(count - 2, -1, -1):
            local = (rho[k + 1] - rho[k]) / (rho[k + 1] + rho[k])
            below = self._there_and_back(k + 1)
            echo = down[0] * below
            down.insert(0, (local + echo) / (1 + local * echo))
            down_limit.insert(0, local)
        return up, down, up_limit, down_limit

    def _there_and_back(self, k):
        if k == len(self.resistivity) - 1:
            return np.zeros_like(self.waves)
        return np.exp(-2 * self.waves * self.thickness[k])

    def _terms(self, i, j):
        """Waves from a source in layer i at points of layer j, i <= j."""
        if len(self.resistivity) == 1:
            return [Term(0.0, 1.0, 1.0, 1.0, 0.0)]
        up, down = self.up, self.down
        echoes = 1 / (1 - up[i] * down[i] * self._there_and_back(i))
        top, bottom = self.tops[i], self.bottoms[i]
        if i == j:
            terms = [Term(echoes * up[i], self.up_limit[i], 1.0, 1.0, -2 * top)]
            if np.isfinite(bottom):
                both = echoes * up[i] * down[i]
                h2 = 2 * (bottom - top)
                terms += [
                    Term(echoes * down[i], self.down_limit[i], -1.0, -1.0, 2 * bottom),
                    Term(both, 0.0, -1.0, 1.0, h2),
                    Term(both, 0.0, 1.0, -1.0, h2),
                ]
            return terms
        passed = echoes
        for k in range(i, j):
            passed = passed * (1 + down[k]) / (1 + down[k + 1] * self._there_and_back(k + 1))
            if k + 1 < j:
                passed = passed * np.exp(-self.waves * self.thickness[k + 1])
        near = 1 + self.down_limit[i] if j == i + 1 else 0.0
        ahead = self.tops[j]
        terms = [
            Term(passed, near, -1.0, 1.0, bottom - ahead),
            Term(passed * up[i], 0.0, 1.0, 1.0, bottom - 2 * top - ahead),
        ]
        if np.isfinite(self.bottoms[j]):
            back = 2 * self.bottoms[j] - ahead
            terms += [
                Term(passed * down[j], 0.0, -1.0, -1.0, bottom + back),
                Term(passed * up[i] * down[j], 0.0, 1.0, -1.0, bottom - 2 * top + back),
            ]
        return terms

    def images(self, i, j):
        """Images of a source in layer i as points of layer j see them.

        Each is a share, and sign and offset of its depth: sign d' + offset for a source at d'.
        """
        if i > j:  # only what passes the plane between neighbours; a medium is reciprocal
            ratio = self.resistivity[j] / self.resistivity[i]
            return [(share * ratio, 1.0, 0.0) for share, _, _ in self.images(j, i)]
        found = [(1.0, 1.0, 0.0)] if i == j else []
        for term in self._terms(i, j):
            if term.limit:  # s is the depth of the point less that of the image, or reverse
                sign = -term.from_source / term.from_field
                found.append((term.limit, sign, -term.shift / term.from_field))
        return found

    def rest(self, r, *, source, field, i, j):
        """What images leave out, per ρ_i/4π, at distances r and depths of both ends. [1/m]"""
        if len(self.resistivity) == 1:
            return np.zeros(np.broadcast(r, source, field).shape)
        if i > j:
            ratio = self.resistivity[j] / self.resistivity[i]
            return ratio * self.rest(r, source=field, field=source, i=j, j=i)
        if (i, j) not in self._splines:
            self._splines[i, j] = [(t, self._spline(t)) for t in self._terms(i, j)]
        at = np.arcsinh(r / self.scale)
        total = 0.0
        for term, spline in self._splines[i, j]:
            s = term.from_source * source + term.from_field * field + term.shift
            total = total + spline.ev(at, np.arcsinh(np.maximum(s, 0.0) / self.scale))
        return total

    def _spline(self, term):
        left = (term.coefficient - term.limit)[:, None] * self._decay
        values = self._bessel @ left
        axes = (np.arcsinh(axis / self.scale) for axis in (self.grid_r, self.grid_s))
        return RectBivariateSpline(*axes, values)
