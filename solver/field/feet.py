r"""Feet as electrodes of their own, on a soil and metal that are solved already.

A foot is a disc on the surface: one more element at depth 0, without another mesh. What the
mesh feels of it is a Gaussian ball, its near field u is the disc less the ball with the images
of both in the ground straight below. With unit current of foot f, the metal held at 0 V,

.. math:: (K + B + A^T C^{-1} A) \varphi = a_f - A^T C^{-1} c_f, \qquad
    I = -C^{-1} (A \varphi + c_f),

and foot k is at :math:`a_k \varphi + c_k I + u_f(k)`. The voltage of a foot without current is
the potential of the surface, H per volt of each group; with Z the matrix of the feet,

.. math:: U = H V + Z J, \qquad I_g = Y V - H^T J.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import erf

from ..errors import CaseError, TrustError
from ..limits.disc import density_gain, mean_between, own_mean, potential_of_disc
from ..limits.feet import FOOT_RADIUS
from ..model import Floats, Soil
from ..threads import in_threads
from .clouds import Clouds
from .elements import LineElements
from .foot_ground import column_under, felt_by_mesh
from .images import Ray, rays
from .solution import Solution

_cut = 5.2  # standard deviations from one ball to another
_spread = 1.0  # longest edges of the element under a foot
_least = 2.5  # radii; a narrower ball would be no wider than the foot
_points = 10  # along an element of metal
# Share of a foot's own resistance that ground beside its column may take: more, at the edge of
# a pad, and elements as wide as those here miss what is left by some percent.
_most_beyond = 0.05


@dataclass(frozen=True)
class Feet:
    """Feet on a solved soil.

    Attributes
    ----------
    place : ndarray of float, shape (f, 2)
        Middle of each. [m]
    open : ndarray of float, shape (f, g)
        Voltage of each without current, per volt of each group with the others at 0 V.
    own : ndarray of float, shape (f, f)
        Voltage of each per current of each with all metal held at 0 V, symmetric. [Ω]
    drawn : ndarray of float, shape (f, g)
        Current out of each group per current of each foot, the metal held at 0 V; by
        reciprocity it is `open`, below zero.
    """

    place: Floats
    open: Floats
    own: Floats
    drawn: Floats

    def current_matrix(self, of_metal: Floats) -> Floats:
        """Current out of each group, then of each foot, with one of them at 1 V. [S]

        Parameters
        ----------
        of_metal : ndarray of float, shape (g, g)
            The current matrix without feet. [S]
        """
        own = np.linalg.inv(self.own)
        between = -own @ self.open
        return np.block([[of_metal - self.open.T @ between, between.T], [between, own]])


class Ground:
    """A solved soil that feet are put on; made once for many of them.

    Parameters
    ----------
    solution : Solution
        Of layers and bodies, on whatever mesh: it carries little of what a foot resists.
    """

    def __init__(self, solution: Solution) -> None:
        self.solution = solution
        self._space, self._conductivity = solution.space, solution.conductivity
        self._system, self._preconditioner = solution.workings
        self._elements, self._clouds = solution.sources, solution.clouds

    def feet(self, places: Floats, *, radius: float = FOOT_RADIUS) -> Feet:
        """Feet as electrodes beside the metal; parameters and errors as `resistance`."""
        places = np.asarray(places, dtype=float).reshape(-1, 2)
        own, drawn = self._solved(places, radius)
        points = np.column_stack([places, np.zeros(len(places))])
        groups = np.eye(len(self.solution.conductors.group_names))
        each = [self.solution.potential(points, voltage=unit) for unit in groups]
        return Feet(places, np.column_stack(each), own, drawn)

    def resistance(self, places: Floats, *, radius: float = FOOT_RADIUS) -> Floats:
        """Voltage of each foot per current of each, the metal at 0 V, shape (f, f). [Ω]

        Parameters
        ----------
        places : ndarray of float, shape (f, 2)
            Middle of each foot. [m]
        radius : float
            Of each. [m]

        Raises
        ------
        CaseError
            If feet overlap, or one stands in a void.
        TrustError
            If one stands too near to the edge of ground that conducts better.
        OhmscapeError
            As `Solution`.
        """
        return self._solved(np.asarray(places, dtype=float).reshape(-1, 2), radius)[0]

    def _solved(self, places: Floats, radius: float) -> tuple[Floats, Floats]:
        """That matrix, and what each group takes up per current of each foot, (f, g)."""
        self._refuse(places, radius)
        feet = [self._foot(place, radius) for place in places]

        at_metal = [foot.at_elements(self._elements, clouds=self._clouds) for foot in feet]

        def unit(k: int) -> tuple[Floats, Floats]:
            solved, current = self._system.solve(
                -at_metal[k], preconditioner=self._preconditioner, fed=feet[k].source
            )
            return solved.unknowns, current

        found = in_threads(unit, range(len(feet)))
        own = np.empty((len(feet), len(feet)))
        for j, (potential, current) in enumerate(found):
            for k, foot in enumerate(feet):
                own[k, j] = foot.source @ potential + at_metal[k] @ current
                own[k, j] += feet[j].own if k == j else feet[j].at(foot)
        drawn = [self._elements.by_group(current[None])[:, 0] for _, current in found]
        return 0.5 * (own + own.T), np.array(drawn)

    def _refuse(self, places: Floats, radius: float) -> None:
        """Raise unless feet can stand there."""
        for k, place in enumerate(places):
            gaps = np.linalg.norm(places[:k] - place, axis=1)
            if gaps.min(initial=np.inf) < 2 * radius:
                msg = (
                    f"feet {gaps.min():g} m apart at ({place[0]:g}, {place[1]:g}) m: discs of "
                    f"{radius:g} m radius need {2 * radius:g} m"
                )
                raise CaseError(msg)
        void = ~self.solution.soil.on_ground(places)
        if void.any():
            x, y = places[void][0]
            msg = f"nobody can stand at ({x:g}, {y:g}) m, which is in a void"
            raise CaseError(msg)

    def _foot(self, place: Floats, radius: float) -> "_Foot":
        """One foot, its ball as wide as the mesh under it can carry."""
        centre = np.append(place, 0.0)[None]
        element, _ = self._space.locate(centre)
        corners = self._space.mesh.points[self._space.mesh.tetrahedra[element[0]]]
        width = float(np.linalg.norm(corners[:, None] - corners, axis=2).max())
        spread = max(_spread * width, _least * radius)
        soil = self.solution.twin.soil  # a disc at the surface is the same there
        column = column_under(soil, place, depth=4 * _cut * spread)
        paths = _paths(column, spread=spread)
        felt = felt_by_mesh(
            self._space,
            place=place,
            radius=radius,
            spread=spread,
            soil=soil,
            column=column,
            paths=paths,
            conductivity=self._conductivity,
        )
        foot = _Foot(place, radius, spread, column, paths, felt.source, felt.off)
        if felt.off > _most_beyond * (foot.own + felt.off):
            msg = (
                f"a foot at ({place[0]:g}, {place[1]:g}) m stands too near to the edge of what "
                "it stands on for its resistance to be solved; beyond it the ground conducts "
                "better: choose a place farther from the edge"
            )
            raise TrustError(msg)
        return foot


def _paths(column: Soil, *, spread: float) -> list[Ray]:
    """Rays from the surface, those of one place joined."""
    here = Clouds(
        place=np.zeros((1, 3)),
        spread=np.array([spread]),
        layer=np.zeros(1, dtype=np.int64),
        gap=np.zeros(1),
        shares=None,  # type: ignore[arg-type]  # of no metal
    )
    joined: dict[tuple[int, float], float] = {}
    for ray in rays(here, soil=column, reach=_cut * spread):
        key = (ray.target_layer, ray.shift)
        joined[key] = joined.get(key, 0.0) + ray.strength
    return [Ray(0, layer, 1.0, shift, strength) for (layer, shift), strength in joined.items()]


@dataclass(frozen=True)
class _Foot:
    """One foot and its ball."""

    place: Floats  # (2,) [m]
    radius: float
    spread: float
    column: Soil
    paths: list[Ray]
    source: Floats  # (n,): what its ball feeds into each unknown
    beyond: float  # what the ground beyond the column takes [Ω]

    @property
    def _scale(self) -> float:
        return self.column.resistivity[0] / (4 * np.pi)

    @property
    def own(self) -> float:
        """Its near field at itself. [Ω]"""
        images = [ray for ray in self.paths if ray.target_layer == 0]
        height = np.array([abs(ray.shift) for ray in images])
        strength = np.array([ray.strength for ray in images])
        disc = own_mean(height, radius=self.radius)
        mirrored = height > 0
        gain = density_gain(
            height[mirrored], strength=0.5 * strength[mirrored], radius=self.radius
        )
        near = float(strength @ (disc - _balls(height, np.sqrt(2.0) * self.spread)))
        return self._scale * near + self.column.resistivity[0] * gain - self.beyond

    def at(self, other: "_Foot") -> float:
        """Its near field at another foot. [Ω]"""
        images = [ray for ray in self.paths if ray.target_layer == 0]
        height = np.array([abs(ray.shift) for ray in images])
        strength = np.array([ray.strength for ray in images])
        apart = float(np.linalg.norm(self.place - other.place))
        disc = mean_between(apart, height=height, radius=self.radius)
        ball = _balls(np.hypot(height, apart), np.hypot(self.spread, other.spread))
        return self._scale * float(strength @ (disc - ball))

    def at_elements(self, elements: LineElements, *, clouds: Clouds) -> Floats:
        """Its near field at the elements of metal, shape (m,). [Ω]"""
        centre = np.append(self.place, 0.0)
        found, of_balls = np.zeros(len(elements)), np.zeros(len(clouds.place))
        reach = _cut * np.hypot(self.spread, elements.spread)
        gap = np.linalg.norm(elements.middle - centre, axis=1) - 0.5 * elements.length
        some = np.flatnonzero(gap < reach)
        touched = np.unique(clouds.shares[some].indices)
        node, weight = np.polynomial.legendre.leggauss(_points)
        share = 0.5 * (node + 1)[None, :, None]
        along = elements.end[some] - elements.start[some]
        places = elements.start[some][:, None] + share * along[:, None] - centre
        layer = self.column.layer_at(-elements.middle[some][:, 2])
        of_ball = self.column.layer_at(-clouds.place[touched][:, 2])
        off = clouds.place[touched] - centre
        for ray in self.paths:
            own = layer == ray.target_layer
            if own.any():
                plan = np.hypot(places[own][:, :, 0], places[own][:, :, 1])
                plan = np.hypot(plan, elements.radius[some[own]][:, None])
                height = places[own][:, :, 2] - ray.shift
                disc = potential_of_disc(plan, height=height, radius=self.radius)
                found[some[own]] += self._scale * ray.strength * 0.5 * (disc @ weight)
            own = of_ball == ray.target_layer
            if own.any():
                away = off[own] - np.array([0.0, 0.0, ray.shift])
                width = np.hypot(self.spread, clouds.spread[touched[own]])
                ball = _balls(np.linalg.norm(away, axis=1), width)
                of_balls[touched[own]] += self._scale * ray.strength * ball
        near = np.zeros(len(elements))
        near[some] = found[some] - (clouds.shares @ of_balls)[some]
        return near


def _balls(apart: Floats, width: Floats | float) -> Floats:
    """Mean inverse distance of balls so far apart, of a common standard deviation. [1/m]"""
    r = np.maximum(apart, 1e-7 * np.asarray(width))
    return np.asarray(erf(r / (np.sqrt(2.0) * width)) / r)
