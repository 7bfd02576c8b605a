"""Fields of balls over elements that are split where some of the balls are near.

Only images that are near are evaluated in every part of an element. Of an image so far that it
alone would leave the element whole, the slope is a polynomial over it to what the quadrature in
parts is worth, known from its values at the nodes of that: there are several times fewer.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTet

from ..model import Flags, Floats, Integers
from .clouds import Clouds
from .near_slopes import slope_of_balls
from .polynomials import from_nodes, nodes, polynomials
from .space import Space
from .split_elements import quadrature_of_parts, stays_whole
from .unlike_balls import Way

cut = 3.6  # standard deviations; erfc(3.6 / √2) = 3e-4 of the potential is left there
_degree = 4  # of polynomials in elements that are split
of_far_image = nodes(_degree).shape[1]  # places there at which a far image is evaluated
_narrow = 3.0  # gaps from a narrow ball it is as good as a point: erfc(3 √2) = 2e-9
_at_once = 16_000  # pairs of an image and a point of which arrays stay in the cache of a core


@dataclass(frozen=True)
class Images:
    """Images of the k balls at most that are near each of n elements, along w ways.

    Attributes
    ----------
    place : ndarray of float, shape (n, k, 2)
        Of the balls, in plan. [m]
    height : ndarray of float, shape (w, n, k)
        Of the images. [m]
    gap, spread : ndarray of float, shape (n, k)
        Of the balls. [m]
    factor : ndarray of float, shape (w,)
        Potential at a distance of 1 m, per ampere. [V m/A]
    acts, far, pointed : ndarray of bool, shape (w, n, k)
        Whether each reaches the element, leaves it whole, and is as good as that of a point
        less a wide ball.
    """

    place: Floats
    height: Floats
    gap: Floats
    spread: Floats
    factor: Floats
    acts: Flags
    far: Flags
    pointed: Flags

    @classmethod
    def of(
        cls,
        balls: Integers,
        *,
        many: Integers,
        elements: Integers,
        space: Space,
        clouds: Clouds,
        ways: list[Way],
        layer: Integers,
    ) -> "Images":
        """Those of balls, shape (n, k).

        Parameters
        ----------
        many : ndarray of int, shape (n,)
            So many of each element are meant, the first.
        layer : ndarray of int, shape (m,)
            Of all elements of the mesh.
        """
        place = clouds.place[balls]
        rays, factor = [ray for ray, _ in ways], np.array([factor for _, factor in ways])
        sign, shift = (np.array([getattr(ray, of) for ray in rays]) for of in ("sign", "shift"))
        source, target = (
            np.array([getattr(ray, f"{of}_layer") for ray in rays])[:, None, None]
            for of in ("source", "target")
        )
        height = sign[:, None, None] * place[..., 2] + shift[:, None, None]
        middle = space.centroids[elements][:, None]
        off = np.sqrt(
            ((middle[..., :2] - place[..., :2]) ** 2).sum(axis=2)
            + (middle[..., 2] - height) ** 2
        )
        width, radius = space.width[elements][:, None], space.radius[elements][:, None]
        spread, gap = clouds.spread[balls], clouds.gap[balls]
        nearest = off - radius
        acts = (layer[elements][:, None] == target) & (clouds.layer[balls] == source)
        acts &= (nearest < cut * spread) & (np.arange(balls.shape[1]) < many[:, None])
        far = stays_whole(off, width=width, radius=radius)
        pointed = nearest >= _narrow * gap
        return cls(place[..., :2], height, gap, spread, factor, acts, far, pointed)

    def slopes(self, places: Floats, *, which: Flags) -> Floats:
        """Gradients of the fields of balls by some of their images, (n, k, 3, q). [V/(A m)]

        Parameters
        ----------
        places : ndarray of float, shape (n, 3, q)
            Points in each element. [m]
        which : ndarray of bool, shape (w, n, k)
            The images.
        """
        _, count, most = which.shape
        slope = np.zeros((count * most, *places.shape[1:]))
        step = max(1, _at_once // places.shape[2])
        element, ball, way = np.nonzero(which.transpose(1, 2, 0))
        row, pointed = element * most + ball, self.pointed[way, element, ball]
        first = np.flatnonzero(np.diff(row, prepend=-1))
        number = np.arange(len(row)) - np.repeat(first, np.diff(first, append=len(row)))
        # One image of each ball after the other, or their sums would take longer than they.
        for group in np.unique(2 * number + pointed):
            own = np.flatnonzero(2 * number + pointed == group)
            for begin in range(0, len(own), step):
                some = own[begin : begin + step]
                i, k, w = element[some], ball[some], way[some]
                found = slope_of_balls(
                    places[i],
                    centre=np.column_stack([self.place[i, k], self.height[w, i, k]]),
                    gap=None if group % 2 else self.gap[i, k],
                    spread=self.spread[i, k],
                )
                found *= self.factor[w, None, None]
                slope[row[some]] += found
        return slope.reshape(count, most, *places.shape[1:])


def products(
    images: Images, *, elements: Integers, parts: Integers, near: int, space: Space
) -> tuple[Floats, Floats]:
    """What fields of balls are over elements, with linear functions and with one another.

    Parameters
    ----------
    parts : ndarray of int, shape (n, p)
        Which of `all_parts` each element is split into.
    near : int
        So many balls at most, the first of each element, have an image that is not far.

    Returns
    -------
    moments : ndarray of float, shape (n, k, 3, 4)
        Integrals over the reference element of slopes times the linear polynomials.
    felt : ndarray of float, shape (n, k, k)
        Of slopes times slopes.
    """
    jacobian, origin = space.jacobian[elements], space.origin[elements][:, :, None]
    split = parts.shape[1] > 1
    far = images.acts & images.far if split else np.zeros_like(images.acts)
    close = images.acts & ~far
    count, most = far.shape[1:]
    moments, felt = np.zeros((count, most, 3, 4)), np.zeros((count, most, most))
    known = _degree if split else 1
    smooth: Floats = np.zeros(0)
    if split:
        there = images.slopes(jacobian @ nodes(_degree) + origin, which=far)
        smooth = there @ from_nodes(_degree)
        moments += smooth[..., :4]
        smooth = smooth.reshape(count, most, -1)
        felt += smooth @ smooth.transpose(0, 2, 1)
    if near:
        local, weights, weighted = _at_parts(known)
        points = np.moveaxis(local[parts], 1, 2).reshape(count, 3, -1)
        sharp = images.slopes(jacobian @ points + origin, which=close[..., :near])
        sums = weighted[parts].reshape(count, points.shape[2], -1)
        sharp = sharp.reshape(count, near * 3, -1)
        projected = (sharp @ sums).reshape(count, near, 3, -1)
        moments[:, :near] += projected[..., :4]
        if split:
            mixed = projected.reshape(count, near, -1) @ smooth.transpose(0, 2, 1)
            felt[:, :near] += mixed
            felt[:, :, :near] += mixed.transpose(0, 2, 1)
        sharp = sharp.reshape(count, near, -1)
        weights = np.tile(weights[parts].reshape(count, -1), 3)
        felt[:, :near, :near] += (sharp * weights[:, None]) @ sharp.transpose(0, 2, 1)
    return moments, felt


@cache
def _at_parts(known: int) -> tuple[Floats, Floats, Floats]:
    """Of all parts: points, weights, (585, q, m) polynomials of a degree times weights."""
    local, weights = quadrature_of_parts()
    there = polynomials(np.moveaxis(local, 1, 0).reshape(3, -1), degree=known)
    weighted = (there * weights.ravel()).T.reshape(*weights.shape, -1)
    return local, weights, np.ascontiguousarray(weighted)


def linear_gradients(space: Space) -> Floats:
    """Gradients of the basis functions of the reference element by the linear polynomials.

    Shape (3 · 4, k): integrals of their products, which is all that they are where they are
    linear themselves.
    """
    local, weights = get_quadrature(RefTet, 2)
    linear = polynomials(local, degree=1) * weights
    found = np.einsum("keq,jq->ejk", space.gradients(local), linear)
    return np.asarray(found.reshape(12, -1))
