r"""How the error of a mesh falls where bodies have edges.

Quadratic elements leave an error that falls as the square of their size or better. At an edge,
where the potential goes as the power :math:`\lambda` of the distance (`bodies.edges`), what is
missed of the power in the soil falls as :math:`h^{2 \lambda}` however high the order of the
elements (Strang & Fix 1973, *An Analysis of the Finite Element Method*, ch. 8; from memory): a
coarser mesh shows less of that error than it would of another.
"""

from typing import TYPE_CHECKING

import numpy as np

from ..bodies import Body
from ..bodies.edges import edges_of, steepness
from ..model import Floats, Soil
from .indicator import energy_errors
from .media import conductivities

if TYPE_CHECKING:
    from .solution import Solution

_usual = 2.0


def order_of_error(solution: "Solution", *, ratio: float) -> float:
    """Power of the element size with which the error of a resistance falls, 1 to 2.

    Parameters
    ----------
    ratio : float
        Of the sizes of two meshes between which it is to hold, > 1.

    Notes
    -----
    Elements at edges count by their share in the error indicator of the group in which it is
    the largest.
    """
    soil = solution.twin.soil
    if not soil.bodies:
        return _usual
    power = _powers(solution, soil=soil)
    at_edges = power < 1.0
    if not at_edges.any():
        return _usual
    grown = ratio ** (2 * power)
    least = ratio**_usual
    for unit in np.eye(len(solution.current_matrix)):
        wrong = energy_errors(solution, voltage=unit)
        least = min(least, float(wrong @ grown / wrong.sum()))
    return float(np.log(least) / np.log(ratio))


def _powers(solution: "Solution", *, soil: Soil) -> Floats:
    """Least power of the distance of the edges that elements are at, 1 at none, (m,)."""
    space, mesh = solution.space, solution.mesh
    radius = space.radius
    far = float(np.linalg.norm(mesh.points - [*mesh.centre, 0.0], axis=1).max())
    found = np.ones(len(radius))
    for number, body in enumerate(soil.bodies):
        near = np.flatnonzero(body.shape.distance(space.centroids) < radius)
        edges, contrast = (
            edges_of(body.shape, middle=mesh.centre, far=far),
            contrast_of(soil, body=number),
        )
        for angle in np.unique(edges.angle):
            power = steepness(float(angle), contrast=contrast)
            if power < 1.0:
                gap = edges.of(edges.angle == angle).distance(space.centroids[near])
                at = near[gap < radius[near]]
                found[at] = np.minimum(found[at], power)
    return found


def contrast_of(soil: Soil, *, body: int) -> float:
    """Largest difference over sum of the conductivities on both sides of a body's faces.

    Through a film it is as if nothing led on.
    """
    one: Body = soil.bodies[body]
    if one.film is not None or one.void:
        return 1.0
    sigma, count = conductivities(soil), len(soil.resistivity)
    names = [other.name for other in soil.bodies]
    beyond = [count + k for k, other in enumerate(soil.bodies) if other.within == one.name]
    if one.within is not None:
        beyond.append(count + names.index(one.within))
    else:
        low, high = one.shape.bounds()
        top, bottom = (int(soil.layer_at(-z)) for z in (high[2], low[2]))
        beyond += range(top, bottom + 1)
    own, there = sigma[count + body], sigma[beyond]
    return float((np.abs(there - own) / (there + own)).max())
