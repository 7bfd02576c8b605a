r"""Sources in the layers alone that give the field of metal and bodies, for places far off.

A body in the soil does to the field outside of it what charges in layers without it would do.
With :math:`\sigma_0` of the layers, the smooth potential :math:`\phi` on the mesh, bodies and
all, is what sources :math:`q_k` at the vertices give there,

.. math:: q_k = \int \sigma_0 \nabla \phi \cdot \nabla \lambda_k

with the hat :math:`\lambda_k` of each, as far as that hat is small over the distance. They are
nought where neither metal nor body is, since there the mesh solves just that; their sum is the
current of the metal, whose balls of source are among them. What potential is taken on in a void
is of no account. It is the volume integral of scattered current (Hohmann 1975, Geophysics 40,
309-324; from memory) in its weak form.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..model import Floats
from .conduction import stiffness
from .conductivity import layered_elements

if TYPE_CHECKING:
    from .solution import Solution

_on_boundary = 0.999  # of the radius of the mesh
_nothing = 1e-7  # of the current of a group


@dataclass(frozen=True)
class LayerSources:
    """Points in the layers, n of them.

    Attributes
    ----------
    places : ndarray of float, shape (n, 3)
        z up. [m]
    current : ndarray of float, shape (g, n)
        Of each with group k at 1 V, the others at 0 V; of either sign. [A/V]
    """

    places: Floats
    current: Floats


def layer_sources(solution: "Solution") -> LayerSources:
    """Sources in the layers that give what metal and bodies give far outside of these.

    Bodies must lie in the mesh whole and have no film: across that the potential jumps.
    """
    space, mesh = solution.space, solution.mesh
    layers = layered_elements(mesh, soil=solution.soil.layers_alone)
    fed = stiffness(space, conductivity=layers) @ solution.unknowns.T
    found = np.asarray(space.vertex_prolongation.T @ fed).T
    off = np.linalg.norm(mesh.points - [*mesh.centre, 0.0], axis=1)
    inside = off < _on_boundary * mesh.outer_radius
    least = _nothing * np.abs(solution.current_matrix.diagonal())[:, None]
    some = np.flatnonzero(inside & (np.abs(found) > least).any(axis=0))
    return LayerSources(mesh.points[some], found[:, some])
