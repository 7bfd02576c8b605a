r"""How much each layer and body, and what is round the metal, has in resistances.

Resistance is stationary in the currents of the line elements, so its derivatives need no
further solve: with S the resistance matrix of the elements, :math:`S = A (K + B)^{-1} A^T + C`,
and I their currents per volt, the current matrix changes by :math:`dG = -I\, dS\, I^T`, where

.. math:: I\,dS\,I^T = I\,dC\,I^T + I\,dA\,\phi^T + \phi\,dA^T I^T - \phi\,(dK + dB)\,\phi^T

(the adjoint method, self-adjoint here: Cacuci 1981, J. Math. Phys. 22, 2794-2802; from memory).
The matrices change smoothly with the logarithm of each resistivity and are differenced.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from ..errors import TrustError
from ..model import Conductors, Floats, Integers, Soil
from .across_faces import across_faces
from .conduction import element_matrices, open_boundary
from .conductivity import layered_elements
from .elements import LineElements
from .images import rays
from .near_field import short_range
from .shell_ends import shell_ends
from .smearing import ball_reach, coupling
from .solution import Solution

# Of the logarithm of a resistivity. Its square, over 6, is the error of the difference; images
# that come and go with it, as weak as they are, ask for one not much smaller.
_step = 0.01
_batch = 20_000  # elements of the mesh worked out at once
_limit = 1e-3  # of a resistance: how far the shares may be from adding up to it


@dataclass(frozen=True)
class SoilShares:
    """What soil layers and the coverings of metal have in resistances to remote earth.

    A layer with a share of 0.6 of a resistance makes it 6 % larger where its own resistivity
    is 10 % larger: the share is ∂ ln R / ∂ ln ρ. It is also the layer's part of the heat.

    Attributes
    ----------
    electrode_set : ndarray of int, shape (g,)
        Row of each group: bonded groups have one resistance.
    layers : ndarray of float, shape (b, l)
        Share of each soil layer, from the surface down, in the resistance of each bonded set,
        the others carrying no net current.
    coverings : ndarray of float, shape (b,)
        Share of contact films, contact resistances, fill and coatings, all together.
    bodies : ndarray of float, shape (b, n)
        Share of each body in the soil, 0 of a void.
    miss : float
        How far shares are from adding up to 1, as they must since resistance is proportional
        to all resistivities taken together; the largest.
    """

    electrode_set: Integers
    layers: Floats
    coverings: Floats
    miss: float
    bodies: Floats = field(default_factory=lambda: np.zeros((0, 0)))


def soil_shares(
    solution: Solution, *, electrode_set: Integers, contact_resistance: Sequence[float] = ()
) -> SoilShares:
    """Shares of soil layers, bodies and coverings in the resistances of a solution.

    Parameters
    ----------
    solution : Solution
        Of g groups.
    electrode_set : ndarray of int, shape (g,)
        Groups with the same number are bonded; all numbers from 0 on are there.
    contact_resistance : sequence of float, length g or 0
        In series between the metal of each group and the soil. [Ω]

    Raises
    ------
    TrustError
        If the shares do not add up.
    """
    layers, bodies = solution.soil.resistivity, solution.soil.bodies
    per_volt = [
        _of_layer(solution, layer=k)
        for k in range(len(layers) + len(bodies))
        if k < len(layers) or not bodies[k - len(layers)].void
    ]
    per_volt.append(_of_coverings(solution))
    alone = np.linalg.inv(solution.current_matrix)
    parts = alone @ np.array(per_volt) @ alone
    contact = np.diag(contact_resistance or np.zeros(len(alone)))
    parts[-1] += contact
    conductance = np.linalg.inv(alone + contact)
    member = (electrode_set == np.arange(electrode_set.max() + 1)[:, None]).astype(float)
    bonded = np.linalg.inv(member @ conductance @ member.T)
    spread = conductance @ member.T @ bonded
    shares = np.einsum("gb,kgh,hb->bk", spread, parts, spread) / bonded.diagonal()[:, None]
    miss = float(np.abs(shares.sum(axis=1) - 1).max())
    if miss > _limit:
        msg = (
            f"the shares of the soil layers add up to a resistance only to {miss:.2g} of it "
            f"(at most {_limit:g}); ask for a finer mesh (numerics.accuracy)"
        )
        raise TrustError(msg)
    of_bodies = np.zeros((len(shares), len(bodies)))
    of_bodies[:, [not body.void for body in bodies]] = shares[:, len(layers) : -1]
    return SoilShares(electrode_set, shares[:, : len(layers)], shares[:, -1], miss, of_bodies)


def _of_layer(solution: Solution, *, layer: int) -> Floats:
    """I dS Iᵀ for a relative change of the resistivity of a layer or body, (g, g). [S]"""
    twin = solution.twin.soil  # in which both resistivities of a layer change alike
    more, less = (_scaled(twin, medium=layer, by=by) for by in (_step, -_step))
    if twin.bodies:
        at_metal = _among_bodies(solution, soil=more) - _among_bodies(solution, soil=less)
        in_soil = _power(solution, soil=more) - _power(solution, soil=less)
        return np.asarray((at_metal - in_soil) / (2 * np.sinh(_step)))
    at_metal = _near(solution, soil=more) - _near(solution, soil=less)
    if _spreads_otherwise(solution, more=more, less=less):
        mean = _felt(solution, soil=more) - _felt(solution, soil=less)
        at_metal += mean + mean.T
    in_soil = _power(solution, soil=more) - _power(solution, soil=less)
    return np.asarray((at_metal - in_soil) / (2 * np.sinh(_step)))


def _of_coverings(solution: Solution) -> Floats:
    """The same for films, fill and coatings, which only the short-range matrix knows. [S]"""
    metal = solution.twin.conductors
    more, less = (
        _near(
            solution,
            soil=solution.twin.soil,
            sources=replace(solution.sources, series=solution.sources.series * factor),
            conductors=replace(
                metal,
                contact=metal.contact * factor,
                sheath_resistivity=metal.sheath_resistivity * factor,
            ),
        )
        for factor in (np.exp(_step), np.exp(-_step))
    )
    return np.asarray((more - less) / (2 * np.sinh(_step)))


def _scaled(soil: Soil, *, medium: int, by: float) -> Soil:
    """Soil with the logarithm of the resistivity of one layer or body changed."""
    factor, values, bodies = float(np.exp(by)), list(soil.resistivity), list(soil.bodies)
    if medium < len(values):
        values[medium] *= factor
    else:
        one = bodies[medium - len(values)]
        bodies[medium - len(values)] = replace(one, resistivity=one.resistivity * factor)
    return replace(soil, resistivity=tuple(values), bodies=tuple(bodies))


def _among_bodies(solution: Solution, *, soil: Soil) -> Floats:
    """Power in the short-range matrix, and what balls give to the mesh, twice, (g, g). [S]"""
    clouds, current = solution.clouds, solution.source_current
    average, near = across_faces(
        coupling(solution.space, clouds=clouds, soil=soil),
        short_range(solution.sources, clouds=clouds, soil=soil),
        space=solution.space,
        clouds=clouds,
        soil=soil,
        conductivity=layered_elements(solution.mesh, soil=soil),
    )
    ends = shell_ends(solution.sources, conductors=solution.twin.conductors, soil=soil)
    mean = current @ (clouds.shares @ (average @ solution.unknowns.T))
    return np.asarray(current @ (near @ current.T + ends @ current.T) + mean + mean.T)


def _near(
    solution: Solution,
    *,
    soil: Soil,
    sources: LineElements | None = None,
    conductors: Conductors | None = None,
) -> Floats:
    """Power in the short-range matrix at the currents of the solution, shape (g, g). [S]"""
    sources = sources or solution.sources
    near = short_range(sources, clouds=solution.clouds, soil=soil)
    ends = shell_ends(sources, conductors=conductors or solution.twin.conductors, soil=soil)
    current = solution.source_current
    return np.asarray(current @ (near @ current.T + ends @ current.T))


def _felt(solution: Solution, *, soil: Soil) -> Floats:
    """Power that balls spread by a soil's images give to the mesh, shape (g, g). [S]"""
    average = coupling(solution.space, clouds=solution.clouds, soil=soil)
    means = solution.clouds.shares @ (average @ solution.unknowns.T)
    return np.asarray(solution.source_current @ means)


def _spreads_otherwise(solution: Solution, *, more: Soil, less: Soil) -> bool:
    """Whether the images within reach of the balls are not the same in two soils."""
    more_of, less_of = (
        [
            ray.strength
            * soil.conductivity[ray.target_layer]
            / soil.conductivity[ray.source_layer]
            for ray in rays(solution.clouds, soil=soil, reach=ball_reach(solution.clouds))
        ]
        for soil in (more, less)
    )
    return len(more_of) != len(less_of) or not np.allclose(more_of, less_of, rtol=1e-12)


def _power(solution: Solution, *, soil: Soil) -> Floats:
    """Power in the mesh and through its boundary, shape (g, g). [S]"""
    space, unknowns = solution.space, solution.unknowns
    conductivity, own = layered_elements(solution.mesh, soil=soil), solution.conductivity
    changed = conductivity.horizontal != own.horizontal
    changed[conductivity.crossing] = True
    boundary = open_boundary(space, conductivity=conductivity.horizontal)
    power = unknowns @ (boundary @ unknowns.T)
    every = np.flatnonzero(changed)
    for first in range(0, len(every), _batch):
        some = every[first : first + _batch]
        matrices = element_matrices(space, conductivity=conductivity, elements=some)
        local = unknowns[:, space.element_unknowns[some]]
        power += np.einsum("gti,tij,htj->gh", local, matrices, local, optimize=True)
    return np.asarray(power)
