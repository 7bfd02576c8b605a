"""What is joined while a tester measures: soil, bonds and paths beside the soil."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from ..circuit import REMOTE_EARTH
from ..circuit.ladder import Complexes
from ..circuit.model import Path
from ..errors import TrustError
from ..model import Floats, Integers, Phasors

_in_phase = 1e-12
_round_off = 1e-12


@dataclass(frozen=True)
class Network:
    """Nodal admittances between electrodes, nodes of paths, and remote earth."""

    number: dict[str, int]  # node of each name; remote earth is node 0. Bonded names share one.
    groups: tuple[str, ...]  # length g: names of the electrodes
    # (n, n): currents into the nodes per their voltages, remote earth included [S]
    matrix: Complexes
    metal: Integers  # (n,): nodes with one number are joined by metal, paths included

    @classmethod
    def of(
        cls,
        current_matrix: Floats,
        *,
        groups: Sequence[str],
        bonds: Sequence[tuple[str, str]] = (),
        paths: Sequence[Path] = (),
    ) -> "Network":
        """Network of solved soil with what is joined to it.

        `current_matrix` is the current out of group i with group k at 1 V, shape (g, g) [S];
        bonds join names without resistance; paths that are not connected are passed over.
        """
        live = [path for path in paths if path.connected]
        named = [*groups, *(name for bond in bonds for name in bond)]
        named += [name for path in live for name in path.between]
        number = _numbers([name for name in named if name != REMOTE_EARTH], bonds)
        count = max(number.values()) + 1
        matrix = np.zeros((count, count), dtype=np.complex128)
        into = np.array([number[name] for name in groups])
        np.add.at(matrix, (into[:, None], into[None, :]), current_matrix)
        joined = [(0, 0)]
        for path in live:
            ends = [number[name] for name in path.between]
            if path.ladder is not None:
                own = path.ladder.admittance
                joined += [(ends[0], ends[1])] if path.ladder.joins_its_ends else []
            else:
                own = np.array([[1, -1], [-1, 1]]) / complex(path.impedance or 1)
                joined.append((ends[0], ends[1]))
            np.add.at(matrix, np.ix_(ends, ends), own)
        return cls(number, tuple(groups), _with_earth(matrix), _components(joined, count))

    def voltages(self, injected: Mapping[str, float]) -> Phasors:
        """Voltage of each electrode to remote earth while currents enter at some, (g,). [V]

        What is left of the currents returns by remote earth. Real where nothing is out of
        phase. `TrustError` if the equations have no solution: impedances of opposite sign
        cancel.
        """
        right = np.zeros(len(self.matrix), dtype=np.complex128)
        for name, current in injected.items():
            right[self.number[name]] += current
        held = np.flatnonzero(self._live == self._live[0])[1:]
        voltage = np.zeros_like(right)
        voltage[held] = _solved(self.matrix[np.ix_(held, held)], right[held])
        found = voltage[[self.number[name] for name in self.groups]]
        out_of_phase = np.abs(found.imag).max() > _in_phase * np.abs(found).max()
        return found if out_of_phase else np.asarray(found.real, dtype=np.float64)

    def impedance_between(self, one: str, other: str) -> complex:
        """Impedance between two nodes; infinite where nothing leads from one to the other. [Ω]

        Unknown nodes have nothing attached. `TrustError` as for `voltages`.
        """
        if one not in self.number or other not in self.number:
            return complex(np.inf)
        a, b = self.number[one], self.number[other]
        if a == b:
            return 0j
        if self._live[a] != self._live[b]:
            return complex(np.inf)
        # The other end is the reference, so that metal which floats needs no earth.
        held = np.flatnonzero((self._live == self._live[a]) & (np.arange(len(self._live)) != b))
        right = (held == a).astype(np.complex128)
        return complex(_solved(self.matrix[np.ix_(held, held)], right) @ right)

    def joined_by_metal(self, one: str, other: str) -> bool:
        """Whether metal alone leads from one node to another."""
        known = one in self.number and other in self.number
        return known and bool(self.metal[self.number[one]] == self.metal[self.number[other]])

    @property
    def _live(self) -> Integers:
        """Nodes with one number are connected by soil or metal."""
        rows, columns = np.nonzero(self.matrix)
        return _components(list(zip(rows, columns, strict=True)), len(self.matrix))


def _numbers(names: Sequence[str], bonds: Sequence[tuple[str, str]]) -> dict[str, int]:
    """Node of each name, remote earth first; bonded names share one."""
    order = {name: k for k, name in enumerate(dict.fromkeys(names))}
    label = _components([(order[a], order[b]) for a, b in bonds], len(order))
    return {REMOTE_EARTH: 0} | {name: 1 + int(label[k]) for name, k in order.items()}


def _components(pairs: Sequence[tuple[int, int]], count: int) -> Integers:
    ends = np.array(pairs, dtype=int).reshape(-1, 2)
    graph = coo_matrix((np.ones(len(ends)), ends.T), shape=(count, count))
    return np.asarray(connected_components(graph, directed=False)[1], dtype=np.int64)


def _with_earth(matrix: Complexes) -> Complexes:
    """The matrix with what returns by remote earth in row and column 0."""
    inner = matrix[1:, 1:]
    rest = inner.sum(axis=1)
    # Round-off at nodes that only paths meet is no way to remote earth.
    rest[np.abs(rest) < _round_off * np.abs(np.diagonal(inner))] = 0
    return np.block([[rest.sum(), -rest[None, :]], [-rest[:, None], inner]])


def _solved(matrix: Complexes, right: Complexes) -> Complexes:
    try:
        return np.asarray(np.linalg.solve(matrix, right))
    except np.linalg.LinAlgError as error:
        msg = "the tester's circuit has no single solution: impedances cancel in it"
        raise TrustError(msg) from error
