"""The second opinion itself: currents of all wires for each group at one volt."""

from dataclasses import dataclass
from functools import cached_property
from time import perf_counter

import numpy as np
from scipy.linalg import LinAlgError, cho_factor, cho_solve

from ..anisotropy import Twin, stretched, twin_of
from ..errors import CaseError, TrustError
from ..model import Conductors, Floats, Integers, Phasors, Soil
from ..sheaths import within_sheaths
from ..solved_soil import at_most, require_in_soil, with_metal
from .cutting import cut_metal
from .images import LayeredImages
from .matrices import point_matrix, wire_matrix
from .wires import Wires, bluntness, in_place

# A matrix of this many wires and panels takes 0.3 GB, and twice that while it is solved.
most_wires = 6000
# All metal is cut into about this many; more where there are many short pieces.
_usual_wires = 600
# What is left where more wires change nothing: flat ends, currents on axes. The largest of
# the bare references of the tests, a half spheroid of 10 % slenderness, is 0.23 % off.
thinness = 0.0025
# Beside that the flat ends of thick faces: 2.1 % for a post of five radii.
of_bluntness = 0.1
# Error of cutting over the change when wires are joined: 1.8 at most where it was measured.
left_over_change = 2.0


@dataclass(frozen=True)
class SecondOpinion:
    """Field of thin conductors and of plates in layered soil, without a mesh.

    Attributes
    ----------
    soil : Soil
        Layers.
    conductors : Conductors
        The pieces of metal, g groups.
    wires : Wires
        The n wires and panels that their isotropic twin was cut into.
    current : ndarray of float, shape (g, n)
        Current out of each wire with group k at 1 V and the others at 0 V. [A/V]
    change : float
        Largest change of a group's resistance when wires are joined two by two and panels
        four by four, relative.
    fit_error : float
        Error of the images that stand for the layers, relative.
    seconds : float
        Time it took. [s]
    """

    soil: Soil
    conductors: Conductors
    wires: Wires
    current: Floats
    change: float
    fit_error: float
    seconds: float

    @cached_property
    def twin(self) -> Twin:
        """What was solved: isotropic soil with the metal in it."""
        return twin_of(self.conductors, soil=self.soil)

    @cached_property
    def elements(self) -> Wires:
        """The wires where they are."""
        return in_place(self.wires, twin=self.twin, soil=self.soil, conductors=self.conductors)

    @property
    def resistance_error(self) -> float:
        """Estimated error of a resistance, relative: by cutting, by thin wires, by flat ends.

        It is above what is found for every reference of the tests.
        """
        flat_ends = of_bluntness * bluntness(self.twin.conductors)
        return left_over_change * self.change + thinness + flat_ends

    @property
    def current_matrix(self) -> Floats:
        """Current out of group i with group k at 1 V, symmetric, shape (g, g). [S]"""
        return _member(self.wires.group).T @ self.current.T

    @property
    def resistance(self) -> Floats:
        """Rise of group i per current from group k, the others without, shape (g, g). [Ω]"""
        return np.asarray(np.linalg.inv(self.current_matrix))

    def leakage(self, voltage: Phasors) -> Phasors:
        """Mean leakage along each piece of metal, for the voltage of each group. [A/m]"""
        member = _member(self.elements.piece, count=len(self.conductors.radius))
        return np.asarray((voltage @ self.current) @ member / self.conductors.length)

    def potential(self, points: Floats, *, voltage: Phasors) -> Phasors:
        """Potential of the soil to remote earth; inside the metal, the value at its face.

        Parameters
        ----------
        points : ndarray of float, shape (m, 3)
            z up; the surface is z = 0. [m]
        voltage : ndarray of float or complex, shape (g,)
            Of each group. [V]

        Returns
        -------
        potential : ndarray of float or complex, shape (m,)
            Inside bare metal, and on metal that ends in the surface, the voltage of the
            metal. Beyond the ends of metal backfill and coating are not resolved: there it is
            that of their outer face. [V]

        Raises
        ------
        CaseError
            If a point is above the surface or not a number.
        """
        require_in_soil(points)
        source = voltage @ self.current
        found = np.empty(len(points), dtype=source.dtype)
        places = stretched(points, soil=self.soil)
        for rows, block in point_matrix(
            places, wires=self.wires, soil=self.twin.soil, images=self._images
        ):
            found[rows] = block @ source
        found = within_sheaths(
            at_most(found, voltage=voltage),
            points=points,
            conductors=self.conductors,
            voltage=voltage,
        )
        return with_metal(
            found,
            points=points,
            conductors=self.conductors,
            voltage=voltage,
        )

    @cached_property
    def _images(self) -> LayeredImages:
        return LayeredImages(self.soil)


def second_opinion(
    conductors: Conductors,
    *,
    soil: Soil,
    longest: float | None = None,
    most: int = most_wires,
    images: LayeredImages | None = None,
) -> SecondOpinion:
    r"""Solution of bonded groups of thin conductors and plates in any number of layers.

    Parameters
    ----------
    conductors : Conductors
        The pieces of metal, in any layer, across planes, in one or more groups.
    longest : float, optional
        Length that wires are not to exceed on average, > 0; left out, the metal is cut into
        about 600 wires. [m]
    most : int, default 6000
        Largest number of wires and panels; memory grows as its square, time as its cube.
    images : LayeredImages, optional
        Of the same soil, made before; whoever solves it many times hands in `TabledImages`.

    Raises
    ------
    CaseError
        If `longest` is not positive, or soil and metal have no isotropic twin.
    BudgetError
        If there would be more wires and panels than `most`.
    TrustError
        If the layers cannot be put into images well enough, or pieces of metal lie so close
        that they are not separate wires; a `LayersOnlyError` if the soil has bodies.

    Notes
    -----
    Each wire leaks evenly; the mean potential along its face, less the drop in film and
    shell, is that of its group (Galerkin's method with constant functions; R. F. Harrington,
    *Field Computation by Moment Methods*, 1968, from memory):

    .. math:: V_i = \sum_j \left( \frac{1}{4 \pi} \sum_m \rho_m \,
              \overline{\overline{1 / r_{ijm}}} + s_i \delta_{ij} \right) I_j

    with images m of the layers, a double mean over both wires, and series resistance s.
    The matrix is symmetric and positive definite, so joining wires can only raise the
    resistance of a group. The flat ends of rods are left out, and currents flow from axes:
    0.05 % for bare rods, some percent where a shell of backfill is not much longer than wide.
    It shares no field code with the finite elements, only what metal and soil are.

    Examples
    --------
    A driven rod, L = 3 m and a = 8 mm, in 100 Ω·m; a boundary integral gives 33.194 Ω.

    >>> rod = Conductors.bare([0.0, 0.0, 0.0], end=[0.0, 0.0, -3.0], radius=0.008)
    >>> opinion = second_opinion(rod, soil=Soil((100.0,)))
    >>> print(f"{opinion.resistance[0, 0]:.1f} Ω")
    33.2 Ω
    """
    begin = perf_counter()
    twin = twin_of(conductors, soil=soil)
    if longest is None:
        longest = usual_length(twin.conductors)
    if not longest > 0:
        msg = f"the longest wire is {longest} m; give a length above zero"
        raise CaseError(msg)
    wires = cut_metal(twin.conductors, soil=twin.soil, longest=longest, most=most)
    images = images or LayeredImages(soil)
    matrix = wire_matrix(wires, images=images)
    return opinion_by(
        matrix, wires=wires, conductors=conductors, images=images, soil=soil, begin=begin
    )


def opinion_by(
    matrix: Floats,
    *,
    wires: Wires,
    conductors: Conductors,
    images: LayeredImages,
    soil: Soil,
    begin: float,
) -> SecondOpinion:
    """The solution of wires whose matrix is known, as `second_opinion` gives it.

    Parameters
    ----------
    begin : float
        When work on it began, by `time.perf_counter`. [s]

    Raises
    ------
    TrustError
        If pieces of metal lie so close that they are not separate wires.
    """
    joined, joined_group = _joined(matrix, wires=wires)
    rough = _unit_currents(joined, group=joined_group)
    current = _unit_currents(matrix, group=wires.group)
    opinion = SecondOpinion(
        soil=soil,
        conductors=conductors,
        wires=wires,
        current=current,
        change=_change(current @ _member(wires.group), rough @ _member(joined_group)),
        fit_error=images.fit_error,
        seconds=perf_counter() - begin,
    )
    vars(opinion)["_images"] = images  # made already; one that was kept makes its own
    return opinion


def wires_of(conductors: Conductors, *, soil: Soil, most: int = most_wires) -> int:
    """Number of wires and panels that a second opinion takes, for less than solving it.

    Raises
    ------
    BudgetError
        If there would be more than `most`.
    """
    twin = twin_of(conductors, soil=soil)
    longest = usual_length(twin.conductors)
    return len(cut_metal(twin.conductors, soil=twin.soil, longest=longest, most=most))


def usual_length(conductors: Conductors, *, wires: int = _usual_wires) -> float:
    """Length of wires that cuts round metal into so many; without any, 1 m. [m]"""
    rounded = conductors.length[~conductors.flat]
    return float(rounded.sum()) / wires if len(rounded) else 1.0


def _member(number: Integers, *, count: int | None = None) -> Floats:
    """One where an item has a number, else zero, shape (items, numbers)."""
    total = int(number.max()) + 1 if count is None else count
    return np.asarray((number[:, None] == np.arange(total)).astype(float))


def _unit_currents(matrix: Floats, *, group: Integers) -> Floats:
    """Current of each wire for each group at 1 V, shape (groups, wires). [A/V]"""
    try:
        factor = cho_factor(matrix, lower=True, check_finite=False)
    except LinAlgError as error:
        msg = (
            "the second opinion failed: pieces of metal lie within a radius of each other or "
            "are shorter than wide, and are no separate wires"
        )
        raise TrustError(msg) from error
    return np.asarray(cho_solve(factor, _member(group), check_finite=False).T)


def _joined(matrix: Floats, *, wires: Wires) -> tuple[Floats, Integers]:
    """Matrix and groups of neighbours joined, each pair with one leakage density."""
    # What is joined shares its current by lengths or areas, and so the mean of its potential.
    order = np.argsort(wires.pair, kind="stable")
    first = np.flatnonzero(np.diff(wires.pair[order], prepend=-1))
    extent = wires.extent[order]
    share = extent / np.repeat(
        np.add.reduceat(extent, first), np.diff(first, append=len(order))
    )
    weighted = matrix[np.ix_(order, order)] * share * share[:, None]
    joined = np.add.reduceat(np.add.reduceat(weighted, first, axis=0), first, axis=1)
    return joined, wires.group[order][first]


def _change(matrix: Floats, rougher: Floats) -> float:
    """Largest relative change of a resistance."""
    fine, rough = np.linalg.inv(matrix).diagonal(), np.linalg.inv(rougher).diagonal()
    return float(np.abs(rough / fine - 1.0).max())
