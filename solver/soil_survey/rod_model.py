"""Resistance of one vertical rod in layered soil, against its driven length."""

from dataclasses import dataclass
from typing import Self

import numpy as np
import numpy.typing as npt

from ..errors import CaseError
from ..model import Floats, Integers, Soil
from .checking import spread
from .hankel import SINGLE, SINGLE_ROUGH, Lattice, lattice_for
from .layers import SoilBatch
from .rod_cells import Cells, Echoes

# Steps of the longitudinal field along the rod, shorter towards its tip where it peaks.
_steps = 6
_towards_tip = 2.5
# Numbers of one table of kernels: rods are taken together up to this.
_most_numbers = 2_000_000


@dataclass(frozen=True)
class RodModel:
    """Rods prepared once, to be evaluated on many soils."""

    driven_length: Floats  # (n,): length in the soil from the surface down [m]
    lattices: tuple[Lattice, ...]  # weights for each radius that occurs
    lattice_index: Integers  # (n,): which lattice a rod has
    edges: Floats  # (steps + 1,): ends of the steps as shares of the length, from 0 to 1

    @classmethod
    def of(
        cls, driven_length: Floats, *, radius: Floats, steps: int = _steps, rough: bool = False
    ) -> Self:
        """Rods from their lengths in the soil and radii.

        `steps` is of the current's density along each rod; 1 is evenly fed, some 1 % high.
        `rough` says that an error of 1e-6 will do, at half the cost.
        """
        radii, index = np.unique(radius, return_inverse=True)
        design = SINGLE_ROUGH if rough else SINGLE
        lattices = tuple(lattice_for(np.array([a]), design=design) for a in radii)
        edges = 1.0 - np.linspace(1.0, 0.0, steps + 1) ** _towards_tip
        return cls(
            driven_length=driven_length, lattices=lattices, lattice_index=index, edges=edges
        )

    def resistance(self, soils: SoilBatch) -> Floats:
        """Resistance to remote earth of each rod in each soil, shape (m, n). [Ω]"""
        found = np.empty((len(soils.resistivity), len(self.driven_length)))
        for k, lattice in enumerate(self.lattices):
            echoes = Echoes.of(soils, wavenumber=lattice.wavenumber)
            mine = np.flatnonzero(self.lattice_index == k)
            cells = (len(self.edges) - 1) * soils.layers
            numbers = found.shape[0] * cells**2 * len(lattice.wavenumber)
            for some in np.array_split(mine, -(-numbers * len(mine) // _most_numbers)):
                ends = self.edges * self.driven_length[some, None]
                found[:, some] = _resistance(Cells.of(echoes, ends=ends), echoes, lattice)
        return found


def _resistance(cells: Cells, echoes: Echoes, lattice: Lattice) -> Floats:
    """Resistance in each soil of rods at one potential each, shape (m, n).

    The density of the current is conductivity times a field that has one value a step, since
    the field along a layer plane is the same on both sides of it.
    """
    mutual = cells.kernel(echoes) @ lattice.weight[0]
    conductivity = 1.0 / echoes.resistivity[:, None, cells.layer]
    if not cells.step.any():
        # One field for the whole rod, without a system to solve.
        shares = cells.length * conductivity
        whole = np.einsum("mni,mnij,mnj->mn", shares, mutual, shares)
        return np.asarray(whole / shares.sum(axis=-1) ** 2)
    count = len(cells.step)
    shares = np.zeros((*cells.length.shape, int(cells.step.max()) + 1))
    shares[..., np.arange(count), cells.step] = cells.length * conductivity
    current = shares.sum(axis=-2)
    matrix = shares.swapaxes(-1, -2) @ mutual @ shares
    field = np.linalg.solve(matrix, current[..., None])[..., 0]
    return np.asarray(1.0 / (current * field).sum(axis=-1))


def layered_rod_resistance(
    driven_length: npt.ArrayLike, *, radius: npt.ArrayLike, soil: Soil
) -> Floats:
    r"""Resistance to remote earth of a vertical rod, its top at the surface, in layered soil.

    Parameters
    ----------
    driven_length : array_like of float, shape (n,)
        Length in the soil, at least 10 radii. [m]
    radius : array_like of float, shape () or (n,)
        Radius of the rod, > 0. [m]
    soil : Soil
        Layers; any contrast; the rod may cross any number of them.

    Returns
    -------
    resistance : ndarray of float, shape (n,)
        [Ω]

    Raises
    ------
    CaseError
        If a radius is not positive or a rod shorter than 10 radii.

    Notes
    -----
    Current leaves the axis; the mean potential of each step of the rod's face, at one radius,
    is the same (Galerkin's method for a thin wire, 6 steps). The potential is

    .. math:: R_{ij} = \frac{1}{4 \pi} \int_0^\infty G_{ij}(\lambda) J_0(\lambda a) \, d\lambda

    with G the layered kernel integrated over both steps in closed form (`Cells.kernel`) and
    the transform by `lattice_for`. Within 0.15 % of boundary integrals of the whole face
    with its end, for rods of 2.4 to 6 m in one and two layers, crossing the plane or not.
    End faces count for more in stubs: some 1 % at 20 radii (estimate).

    Examples
    --------
    >>> soil = Soil((100.0, 500.0), (1.0,))
    >>> layered_rod_resistance([1.0, 3.0], radius=0.008, soil=soil).round(1)
    array([104.7,  80.5])
    """
    lengths = np.atleast_1d(np.asarray(driven_length, dtype=float))
    radii = spread(radius, len(lengths))
    if not (np.isfinite(lengths).all() and (radii > 0).all() and (lengths >= 10 * radii).all()):
        msg = (
            f"driven lengths {lengths.tolist()} m with radii {radii.tolist()} m: radii must be "
            "positive and lengths at least 10 radii"
        )
        raise CaseError(msg)
    return RodModel.of(lengths, radius=radii).resistance(SoilBatch.of(soil))[0]


def uniform_rod_factor(driven_length: Floats, *, radius: Floats) -> Floats:
    """Resistance over resistivity of rods in uniform soil, shape (n,). [1/m]"""
    return RodModel.of(driven_length, radius=radius).resistance(SoilBatch.of(Soil((1.0,))))[0]
