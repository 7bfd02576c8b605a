"""Soil and metal that is not at one potential, solved together on one mesh.

To the coupled problem of `solution` comes the network of the metal: the voltage of each line
element is the mean of its end nodes, and what leaks from it leaves them. For any potential of
the soil the metal answers at once (`metal.tableau`), so that the potential alone is left, by
conjugate gradients with the preconditioner of metal at one potential. There is one solution per
port with 1 A into it, complex where the current alternates; drives are sums of these.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from time import perf_counter

import numpy as np

from ..anisotropy import Twin, stretched, twin_of
from ..errors import CaseError
from ..metal.fading import propagation
from ..metal.induction import Induction
from ..metal.places import require_on_piece
from ..metal.quasi_static import QuasiStatic, quasi_static
from ..metal.tableau import Tableau
from ..metal.wired import Wired, inducing, places_of, wired
from ..metal.wiring import Wiring
from ..model import Conductors, Floats, Mesh, Phasors, Soil
from ..threads import own_threads_only
from .along_checks import AlongChecks, Apart, along_checks, apart_of, require_along
from .along_contact import behind_contacts
from .along_shared import shared
from .along_system import AlongSystem
from .along_twin import in_place, longer
from .break_points import Marks
from .clouds import Clouds, clouds_of
from .conductivity import LayeredElements, layered_elements
from .elements import LineElements
from .films import space_in
from .near_points import NearField
from .solution import Solution
from .space import Space
from .system import preconditioner_of

# Of an element, in lengths over which current and voltage along metal change. Along wires of
# 0.5 to 2 km the surface was 2 to 5 % off with 0.3, is 1 % off with 0.15, 0.3 % with 0.08.
_of_length = 0.15


@dataclass(frozen=True)
class AlongMetal:
    """Unit solutions of all ports on one mesh: metal with impedance in the soil.

    Mesh, sources and unknowns are those of the isotropic twin, all else is where it is.

    Attributes
    ----------
    mesh : Mesh
        The mesh.
    order : int
        Degree of the finite elements.
    soil : Soil
        Layers.
    conductors : Conductors
        The pieces of metal.
    wiring : Wiring
        p ports, leads and breaks.
    sources : LineElements
        The m elements that current leaves from: lengths of metal and its flat ends.
    unknowns : ndarray of float or complex, shape (p, n)
        Those of the finite elements with 1 A into port k. [V/A]
    source_current : ndarray of float or complex, shape (p, m)
        Current out of each element into the soil. [A/A]
    node_voltage : ndarray of float or complex, shape (p, nodes)
        Of each node of metal and then of terminals over remote earth. [V/A]
    branch_current : ndarray of float or complex, shape (p, branches)
        From the first node of each branch to its last: metal, leads, breaks with an
        impedance. [A/A]
    checks : AlongChecks
        How far each balance is met.
    seconds : dict of str to float
        Time of each step. [s]
    apart : Apart or None
        What metal does not induce, where there are more runs of it than are taken together.
    """

    mesh: Mesh
    order: int
    soil: Soil
    conductors: Conductors
    wiring: Wiring
    sources: LineElements
    unknowns: Phasors
    source_current: Phasors
    node_voltage: Phasors
    branch_current: Phasors
    checks: AlongChecks
    seconds: dict[str, float]
    apart: Apart | None = None

    @cached_property
    def twin(self) -> Twin:
        """What was solved: isotropic soil with the metal in it."""
        return twin_of(self.conductors, soil=self.soil)

    @cached_property
    def lines(self) -> tuple[LineElements, Phasors]:
        """Line elements where they are, each with the flat ends it has, and their currents."""
        elements, line = self.sources.lines()
        total = np.zeros((len(elements), len(self.source_current)), self.source_current.dtype)
        np.add.at(total, line, self.source_current.T)
        placed = in_place(elements, twin=self.twin, soil=self.soil)
        return replace(placed, radius=self.conductors.sheath_radius[placed.piece]), total.T

    @cached_property
    def space(self) -> Space:
        """Finite-element space of the potentials, n unknowns."""
        return space_in(self.mesh, soil=self.twin.soil, order=self.order)

    @cached_property
    def clouds(self) -> Clouds:
        """Balls of source that the mesh feels in place of the line elements."""
        return clouds_of(self.sources)

    @cached_property
    def near_field(self) -> NearField:
        """What the mesh does not see of them."""
        return NearField(self.sources, clouds=self.clouds, soil=self.twin.soil)

    @cached_property
    def conductivity(self) -> LayeredElements:
        """Conductivity of the elements of the mesh."""
        return layered_elements(self.mesh, soil=self.twin.soil)

    @cached_property
    def wired(self) -> Wired:
        """Nodes and branches of metal and leads."""
        elements = in_place(self.sources, twin=self.twin, soil=self.soil)
        return wired(self.conductors, elements=elements, wiring=self.wiring)

    @cached_property
    def quasi_static(self) -> QuasiStatic:
        """How far what is solved is from the field of alternating current."""
        return quasi_static(
            self.wiring.earth or self.soil,
            conductors=self.conductors,
            frequency=self.wiring.frequency,
        )

    @property
    def port_matrix(self) -> Phasors:
        """Voltage of port i to remote earth with 1 A into port k, symmetric, (p, p). [Ω]"""
        return self.node_voltage[:, list(self.wired.ports)].T


@own_threads_only()
def solve_along(
    mesh: Mesh,
    *,
    soil: Soil,
    conductors: Conductors,
    wiring: Wiring,
    order: int = 2,
    like: Solution | None = None,
) -> AlongMetal:
    """Unit solutions for every port of metal with impedance in soil.

    Parameters
    ----------
    mesh : Mesh
        Tetrahedra of the half-space, with the element size along each piece.
    wiring : Wiring
        What metal is made of, where current enters, leads and breaks.
    order : {1, 2}, default 2
        Degree of the finite elements.
    like : Solution, optional
        On the same mesh with the same order: spares what both have, most if it was kept.

    Raises
    ------
    CaseError
        If the wiring does not fit the metal.
    ConvergenceError
        If a linear system is not solved to its tolerance.
    TrustError
        If a balance misses its limit.
    """
    if len(wiring.bars) != len(conductors.part_names):
        msg = (
            f"materials of {len(wiring.bars)} parts for metal of {len(conductors.part_names)}: "
            "give one for each"
        )
        raise CaseError(msg)
    twin = twin_of(conductors, soil=soil) if like is None else like.twin
    seconds: dict[str, float] = {}
    clock = perf_counter()

    def lap(step: str) -> None:
        nonlocal clock
        now = perf_counter()
        seconds[step] = now - clock
        clock = now

    gamma = propagation(conductors, bars=wiring.bars, soil=soil, frequency=wiring.frequency)
    common = shared(
        mesh,
        twin=twin,
        order=order,
        longest=longest_of(gamma)[twin.piece] * longer(twin),
        marks=Marks(stretched(_marked(conductors, wiring), soil=soil)),
        like=like,
        lap=lap,
    )
    space, conductivity, ground = common.space, common.conductivity, common.ground
    near, elements, preconditioner = common.near, common.elements, common.preconditioner
    if any(wiring.contact):
        near = behind_contacts(
            near,
            contact=wiring.contact,
            ground=ground,
            average=common.average,
            elements=elements,
            preconditioner=preconditioner,
        )
        preconditioner = preconditioner_of(
            ground, short_range=near, space=space, elements=elements
        )
    lap("preconditioner")
    real = in_place(elements, twin=twin, soil=soil)
    made = wired(conductors, elements=real, wiring=wiring)
    induction: Induction | None = None
    if wiring.frequency > 0:
        induction = inducing(
            made, conductors=conductors, wiring=wiring, soil=soil, fading=1 / gamma.real
        )
    tableau = Tableau(made, induction=induction, beside=near.matrix())
    system = AlongSystem(
        ground, average=common.average, short_range=near, tableau=tableau, nodes=made.nodes
    )
    lap("network")
    entering = np.zeros((len(made.ports), made.nodes))
    entering[np.arange(len(made.ports)), list(made.ports)] = 1.0
    found = [system.solve(fed, preconditioner=preconditioner) for fed in entering]
    lap("solve")
    checks = along_checks(
        system,
        wired=made,
        induction=induction,
        solutions=[solution for solution, _ in found],
        answers=[answer for _, answer in found],
        boundary=common.boundary,
        space=space,
        conductivity=conductivity,
    )
    lap("checks")
    require_along(checks)
    solved = AlongMetal(
        mesh,
        order,
        soil,
        conductors,
        wiring,
        elements,
        np.array([solution.unknowns for solution, _ in found]),
        np.array([leakage for _, (_, leakage, _) in found]),
        np.array([voltage for _, (voltage, _, _) in found]),
        np.array([current for _, (_, _, current) in found]),
        checks,
        seconds,
        apart_of(induction, answers=[answer for _, answer in found], ports=made.ports),
    )
    # Already there: spare the cached properties their work.
    vars(solved).update(space=space, conductivity=conductivity, twin=twin, wired=made)
    return solved


def longest_of(gamma: Phasors) -> Floats:
    """Length that elements of metal are not to exceed, by its propagation constants. [m]"""
    return np.asarray(_of_length / np.abs(gamma))


def _marked(conductors: Conductors, wiring: Wiring) -> Floats:
    """Places of ports, ends of leads and breaks on the metal, shape (k, 3). [m]"""
    feeds = [*places_of(wiring), *(item.feed for item in wiring.breaks)]
    for feed in feeds:
        require_on_piece(feed, conductors)
    piece = np.array([feed.piece for feed in feeds], dtype=np.int64)
    along = np.array([feed.along for feed in feeds])
    return conductors.start[piece] + along[:, None] * conductors.direction[piece]
