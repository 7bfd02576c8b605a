r"""Where on the mesh the error of a result comes from.

The error of a finite-element gradient is shown by averaging it: in each element the gradient
is set against one that is continuous, made of the averages at the vertices (Zienkiewicz & Zhu
1987, Int. J. Numer. Methods Eng. 24, 337-357; from memory). In layers the gradient itself
jumps; the horizontal field and the vertical current density do not, so those are averaged.

A resistance is the power at one ampere, whose error is that of the energy, element by element.
The potential of a place is wrong by the error of the field times that of the field of a unit
source at that place (the dual solution: Becker & Rannacher 2001, Acta Numerica 10, 1-102; from
memory). What is missed of 1 / r by quadratic elements of size h falls as h² / r⁴.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..model import Flags, Floats, Integers, Phasors
from .conductivity import linear_moments

if TYPE_CHECKING:
    from .solution import Solution

# Errors fall as this power of the element size. Theory has 4 for a smooth field; graded meshes
# of the grids in the tests show 3.
order_of_error = 3.0
_corners = np.array([[0.0, 1.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0], [0.0, 0.0, 0.0, 1.0]])


def energy_errors(solution: "Solution", *, voltage: Phasors) -> Floats:
    """Power that each element has wrong.

    Parameters
    ----------
    solution : Solution
        Unit solutions of g groups, m elements.
    voltage : ndarray of float or complex, shape (g,)
        Rise of each group. [V]

    Returns
    -------
    errors : ndarray of float, shape (m,)
        Not negative. Good for comparing elements; their sum is several times the true error,
        since averages at vertices are hardly better than the gradient itself. Elements that
        hold a laminate of layers, which jump against their neighbours by what they are and not
        by their size, have none. [W]
    """
    space = solution.space
    conductivity = solution.conductivity
    horizontal, vertical = conductivity.horizontal, conductivity.vertical
    pure = conductivity.pure
    slopes = space.gradients(_corners)
    corners, surface = _by_body(solution)
    errors = np.zeros(len(corners))
    unknowns = voltage @ solution.unknowns
    for part in (unknowns.real, unknowns.imag) if np.iscomplexobj(unknowns) else (unknowns,):
        local = np.einsum("kdq,tk->tqd", slopes, part[space.element_unknowns], optimize=True)
        flow = np.einsum("tdi,tqd->tqi", space.inverse, local, optimize=True)
        flow[:, :, 2] *= vertical[:, None]
        smooth = _vertex_means(flow, corners=corners, weight=space.volume_factor * pure)
        smooth[surface, 2] = 0.0  # no current into the air
        off = smooth[corners] - flow
        square = np.einsum("tqi,qr,tri->ti", off, linear_moments, off, optimize=True)
        errors += horizontal * (square[:, 0] + square[:, 1]) + square[:, 2] / vertical
    return errors * pure * space.volume_factor / 6


def _by_body(solution: "Solution") -> tuple[Integers, Flags]:
    """Vertices of each element, one for each body that has them; which are on the surface.

    Across faces of bodies neither field nor current density goes on in all directions.
    """
    corners, body = solution.mesh.tetrahedra, solution.conductivity.body
    surface = solution.mesh.points[:, 2] == 0
    if body is None:
        return corners, surface
    count = len(surface)
    kept, own = np.unique(corners + count * (body + 1)[:, None], return_inverse=True)
    return own.reshape(corners.shape), surface[kept % count]


def _vertex_means(values: Floats, *, corners: np.ndarray, weight: Floats) -> Floats:
    """Weighted means at the vertices of values at the corners of elements, shape (n, i).

    Zero where no element has a weight.
    """
    count = int(corners.max()) + 1
    flat = corners.ravel()
    total = np.bincount(flat, np.repeat(weight, 4), count)
    sums = [
        np.bincount(flat, (values[:, :, i] * weight[:, None]).ravel(), count)
        for i in range(values.shape[2])
    ]
    return np.stack(sums, axis=1) / np.maximum(total, np.finfo(float).tiny)[:, None]


def resistance_error(solution: "Solution") -> float:
    """Largest error of a group's own resistance by the energy it has wrong, relative.

    Above the true error, as the sum of `energy_errors` is.
    """
    own = solution.current_matrix.diagonal()
    wrong = [energy_errors(solution, voltage=unit).sum() for unit in np.eye(len(own))]
    return float(np.max(np.array(wrong) / own))


def potential_errors(solution: "Solution", *, errors: Floats, places: Floats) -> Floats:
    """Share of each element in the error of the potential at places on the surface.

    Parameters
    ----------
    errors : ndarray of float, shape (m,)
        Its `energy_errors`. [W]
    places : ndarray of float, shape (p, 2)
        [m]

    Returns
    -------
    shares : ndarray of float, shape (m,)
        Only their ratios mean something; an element counts for the place nearest to it.
    """
    space = solution.space
    horizontal = solution.conductivity.horizontal
    volume = space.volume_factor / 6
    size = np.cbrt(6 * np.sqrt(2) * volume)
    at = np.column_stack([places, np.zeros(len(places))])
    gap = np.min([((space.centroids - place) ** 2).sum(axis=1) for place in at], axis=0)
    return np.sqrt(errors * volume / horizontal) * size**2 / (gap + size**2) ** 2


def size_ratios(
    shares: Sequence[Floats], *, excess: Sequence[float], solution: "Solution"
) -> Floats:
    """How much smaller each element should be, at the least cost in elements.

    Parameters
    ----------
    shares : sequence of ndarray of float, shape (m,)
        For each error that is looked at, the shares of the elements in it.
    excess : sequence of float
        Each error over what it should become.

    Returns
    -------
    ratios : ndarray of float, shape (m,)
        New size over old, at most 1.

    Notes
    -----
    An element of which the edges shrink to a share r becomes r⁻³ elements, and its error e goes
    to e r^q. The number is least for a given sum of the errors where r^(q + 3) ~ 1 / e.
    """
    wanted = [part / part.sum() * most for part, most in zip(shares, excess, strict=True)]
    error = _smoothed(np.max(wanted, axis=0), solution=solution)
    q = order_of_error

    def ratios(level: float) -> Floats:
        return np.minimum(1.0, (np.exp(level) / error) ** (1 / (q + 3)))

    low, high = np.log(error.min()) - 50.0, np.log(error.max())
    for _ in range(60):
        middle = 0.5 * (low + high)
        if (error * ratios(middle) ** q).sum() > 1.0:
            high = middle
        else:
            low = middle
    return ratios(low)


def _smoothed(error: Floats, *, solution: "Solution") -> Floats:
    """Mean over the elements round each vertex, and of those over each element, not zero."""
    corners = solution.mesh.tetrahedra
    repeated = np.repeat(error[:, None, None], 4, axis=1)
    means = _vertex_means(repeated, corners=corners, weight=np.ones(len(error)))[:, 0]
    smooth = means[corners].mean(axis=1)
    return np.maximum(smooth, 1e-12 * smooth.max())
