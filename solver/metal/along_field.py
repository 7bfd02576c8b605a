"""The field of metal that is not at one potential, with currents into its ports."""

from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np
from scipy.spatial import cKDTree

from ..model import Conductors, Floats, Integers, Phasors, Soil
from ..solved_soil import Field, Lines

_looked_at = 8  # nearest lines by their samples, of which the nearest in truth is taken
_sample = 2.0  # along lines [m]
_most_samples = 50  # of one line


@dataclass(frozen=True)
class MetalLines:
    """Straight lengths of metal between nodes, b of them.

    Attributes
    ----------
    start, end : ndarray of float, shape (b, 3)
        [m]
    nodes : ndarray of int, shape (b, 2)
        Those of both ends.
    piece : ndarray of int, shape (b,)
        Of the conductors.
    """

    start: Floats
    end: Floats
    nodes: Integers
    piece: Integers


class SolvedAlong(Protocol):
    """Unit solutions of metal with a voltage along it, for 1 A into each of p ports."""

    @property
    def soil(self) -> Soil:
        """Layers."""

    @property
    def conductors(self) -> Conductors:
        """The pieces of metal, g groups."""

    @property
    def elements(self) -> Lines:
        """The m line elements that the metal leaks from."""

    @property
    def resistance_error(self) -> float:
        """Estimated error of an impedance of a port, relative, as `SolvedSoil` has it."""

    @property
    def lines(self) -> MetalLines:
        """Where the metal runs from node to node."""

    @property
    def node_voltage(self) -> Phasors:
        """Of each node per ampere into each port, shape (p, n). [Ω]"""

    @property
    def line_current(self) -> Phasors:
        """Current along each of the lines per ampere into each port, shape (p, b)."""

    @property
    def element_current(self) -> Phasors:
        """Current out of each line element per ampere into each port, shape (p, m)."""

    @property
    def port_matrix(self) -> Phasors:
        """Voltage of port i per ampere into port k, symmetric, shape (p, p). [Ω]"""

    def potential_of(self, points: Floats, *, drive: Phasors) -> Phasors:
        """Potential of the soil at points, shape (n, 3), for currents into the ports. [V]"""


@dataclass(frozen=True)
class AlongField(Field):
    """Metal with voltages along it, currents into its ports given.

    Attributes
    ----------
    solution : SolvedAlong
        Unit solutions of p ports.
    voltage : ndarray of complex, shape (g,)
        The largest of each group. [V]
    drive : ndarray of complex, shape (p,)
        Current into each port. [A]
    """

    # Nothing here goes by the voltage of a group, as it does of a `SolvedSoil`.
    solution: SolvedAlong  # type: ignore[assignment]
    drive: Phasors

    @classmethod
    def driven(cls, solution: SolvedAlong, drive: Phasors) -> "AlongField":
        """The field of currents into ports, turned so that the largest rise is real."""
        lines, voltage = solution.lines, drive @ solution.node_voltage
        group = solution.conductors.group[lines.piece]
        largest = np.array(
            [
                _largest(voltage[lines.nodes[group == number]].ravel())
                for number in range(len(solution.conductors.group_names))
            ]
        )
        rise = _largest(largest)
        turn = np.conj(rise) / max(abs(rise), 1e-300)
        if not np.iscomplexobj(drive):
            turn = np.sign(np.real(rise)) or 1.0
        return cls(solution, turn * largest, turn * drive)

    @property
    def element_current(self) -> Phasors:
        """Current from each line element into the soil, shape (m,). [A]"""
        return np.asarray(self.drive @ self.solution.element_current)

    @cached_property
    def node_voltage(self) -> Phasors:
        """Of each node of metal and leads over remote earth, shape (n,). [V]"""
        return np.asarray(self.drive @ self.solution.node_voltage)

    def group_current(self) -> Phasors:
        """Current from each group into the soil, shape (g,). [A]"""
        conductors = self.solution.conductors
        group = conductors.group[self.solution.elements.piece]
        total = np.zeros(len(conductors.group_names), dtype=self.element_current.dtype)
        np.add.at(total, group, self.element_current)
        return total

    def potential(self, points: Floats) -> Phasors:
        """Potential to remote earth at points in the soil, shape (n, 3), as `Field`. [V]"""
        points = np.asarray(points, dtype=float).reshape(-1, 3)
        return self.solution.potential_of(points, drive=self.drive)

    def metal_voltage(self, group: int, *, places: Floats) -> Phasors:
        """Voltage of the metal of a group where it is nearest in plan, shape (n,). [V]"""
        return self._nearest(group).voltage(places, self.node_voltage)

    def between(self, one: int, other: int) -> complex:
        """Voltage between the metal of two groups, the largest between any places of it. [V]"""
        lines, group = self.solution.lines, self.solution.conductors.group
        ends = [
            self.node_voltage[np.unique(lines.nodes[group[lines.piece] == number])]
            for number in (one, other)
        ]
        apart = [ends[0] - value for value in ends[1]]
        return _largest(np.array([_largest(each) for each in apart]))

    def most_along(self, part: int) -> float:
        """Largest current along the metal of a part. [A]"""
        mine = self.solution.conductors.part[self.solution.lines.piece] == part
        return float(np.abs(self.drive @ self.solution.line_current[:, mine]).max())

    def times(self, factor: float) -> "AlongField":
        """The same with all currents larger by a factor; nothing is solved."""
        made = AlongField(self.solution, factor * self.voltage, factor * self.drive)
        vars(made)["_by_group"] = self._by_group
        return made

    @cached_property
    def _by_group(self) -> dict[int, "_NearestMetal"]:
        return {}

    def _nearest(self, group: int) -> "_NearestMetal":
        if group not in self._by_group:
            lines, conductors = self.solution.lines, self.solution.conductors
            mine = conductors.group[lines.piece] == group
            self._by_group[group] = _NearestMetal(lines, np.flatnonzero(mine))
        return self._by_group[group]

    def extremes(self, group: int) -> tuple[tuple[complex, Floats], tuple[complex, Floats]]:
        """The largest and the smallest voltage of a group in size, and their places."""
        lines, conductors = self.solution.lines, self.solution.conductors
        mine = conductors.group[lines.piece] == group
        node = lines.nodes[mine].ravel()
        place = np.stack([lines.start[mine], lines.end[mine]], axis=1).reshape(-1, 3)
        size = np.abs(self.node_voltage[node])
        high, low = int(size.argmax()), int(size.argmin())
        return (
            (complex(self.node_voltage[node[high]]), place[high]),
            (complex(self.node_voltage[node[low]]), place[low]),
        )


class _NearestMetal:
    """Metal of a group, to be found from places in plan."""

    def __init__(self, lines: MetalLines, mine: Integers) -> None:
        self._start, self._step = lines.start[mine, :2], (lines.end - lines.start)[mine, :2]
        self._nodes = lines.nodes[mine]
        # From above the head of upright metal is met, not its foot.
        height = np.stack([lines.start[mine, 2], lines.end[mine, 2]], axis=1)
        self._upper = height.argmax(axis=1).astype(float)
        length = np.linalg.norm(self._step, axis=1)
        count = np.clip(np.ceil(length / _sample), 1, _most_samples).astype(np.int64)
        self._line = np.repeat(np.arange(len(length)), count + 1)
        first = np.repeat(np.cumsum(count + 1) - count - 1, count + 1)
        share = (np.arange(len(self._line)) - first) / count[self._line]
        at = self._start[self._line] + share[:, None] * self._step[self._line]
        self._tree = cKDTree(at)
        # Of lines at one place in plan the one that reaches highest is met.
        self._top = height.max(axis=1)

    def voltage(self, places: Floats, node_voltage: Phasors) -> Phasors:
        """Voltage of the metal nearest to each place."""
        most = min(_looked_at, self._tree.n)
        found = self._tree.query(places, k=most)[1].reshape(len(places), most)
        line = self._line[found]
        step, offset = self._step[line], places[:, None] - self._start[line]
        square = np.einsum("nki,nki->nk", step, step)
        upright = square < 1e-12
        share = np.einsum("nki,nki->nk", step, offset) / np.where(upright, 1.0, square)
        share = np.where(upright, self._upper[line], np.clip(share, 0.0, 1.0))
        gap = np.linalg.norm(offset - np.where(upright, 0.0, share)[..., None] * step, axis=2)
        near = gap <= gap.min(axis=1, keepdims=True) + 1e-6
        best = np.where(near, self._top[line], -np.inf).argmax(axis=1)
        row = np.arange(len(places))
        chosen, share = line[row, best], share[row, best]
        one, other = (node_voltage[self._nodes[chosen, end]] for end in (0, 1))
        return np.asarray((1.0 - share) * one + share * other)


def _largest(values: Phasors) -> complex:
    return complex(values[int(np.abs(values).argmax())])


def metal_by_line(lines: Lines, *, conductors: Conductors) -> tuple[Conductors, Integers]:
    """Metal in which every line element is a piece and a group, and which elements they are.

    So what goes by the voltage of a group goes by that of each element.
    """
    piece = lines.piece
    origin, whole = conductors.start[piece], conductors.length[piece]
    along = np.stack(
        [
            np.einsum("ni,ni->n", each - origin, conductors.direction[piece]) / whole
            for each in (lines.start, lines.end)
        ]
    )
    along = np.clip(along, 0.0, 1.0)
    low, high = along.min(axis=0), along.max(axis=0)
    kept = np.flatnonzero((high - low) * whole > 1e-9)
    cut = conductors.cut(piece[kept], begin=low[kept], end=high[kept])
    fields = vars(cut) | {
        "group": np.arange(len(kept)),
        "group_names": tuple(map(str, kept.tolist())),
    }
    return Conductors(**fields), kept
