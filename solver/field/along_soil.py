"""Metal with voltages along it, solved by finite elements, as maps and verdicts ask for it."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..metal import MetalLines
from ..model import Conductors, Floats, Phasors, Soil
from .along_metal import AlongMetal
from .driven import Driven
from .elements import LineElements

# Rods come out this far from the boundary integral of their true faces; the mesh is told apart
# by two of them.
_thinness = 5e-4


@dataclass(frozen=True)
class AlongSoil:
    """Unit solutions of ports as a `SolvedAlong`."""

    alone: AlongMetal

    @property
    def soil(self) -> Soil:
        """Layers."""
        return self.alone.soil

    @property
    def conductors(self) -> Conductors:
        """The pieces of metal."""
        return self.alone.conductors

    @property
    def elements(self) -> LineElements:
        """The m line elements that the metal leaks from."""
        return self.alone.lines[0]

    @property
    def element_current(self) -> Phasors:
        """Current out of each per ampere into each port, shape (p, m)."""
        return self.alone.lines[1]

    @property
    def node_voltage(self) -> Phasors:
        """Of each node per ampere into each port, shape (p, n). [Ω]"""
        return self.alone.node_voltage

    @property
    def port_matrix(self) -> Phasors:
        """Voltage of port i per ampere into port k, symmetric, shape (p, p). [Ω]"""
        return self.alone.port_matrix

    @cached_property
    def lines(self) -> MetalLines:
        """Where the metal runs from node to node."""
        network, metal = self.alone.wired.network, self.conductors
        origin, way = metal.start[network.piece], metal.direction[network.piece]
        start = origin + network.begin[:, None] * way
        return MetalLines(
            start,
            start + network.length[:, None] * way,
            np.stack([network.first, network.last], axis=1),
            network.piece,
        )

    @property
    def line_current(self) -> Phasors:
        """Current along each of `lines` per ampere into each port, shape (p, b)."""
        return self.alone.branch_current[:, : len(self.alone.wired.network.first)]

    @property
    def resistance_error(self) -> float:
        """Estimated error of an impedance of a port, relative, beside that of the mesh."""
        return _thinness

    def potential_of(self, points: Floats, *, drive: Phasors) -> Phasors:
        """Potential of the soil at points, shape (n, 3), for currents into the ports. [V]"""
        return Driven(self.alone, drive).potential(points)
