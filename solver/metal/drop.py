r"""Voltage drop along metal with the leakage that it has at one potential: the first order.

Node voltages w and branch currents i of metal fed with J meet

.. math:: D w = Z i, \qquad D^T i = J - P^T I_0,

with the leakage :math:`I_0` of the equipotential solution, internal impedances and inductance
with earth return in Z, and w such that :math:`I_0^T P w = 0` in each component. No field is
solved. Of direct current the true resistance lies between that of the equipotential metal and
that plus w at the feed over J: perfect metal can only lower it (Rayleigh), and true currents
make the least heat (Thomson). Of alternating current it is an estimate, and above a third of
the rise no more than an alarm.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import scipy.sparse as sparse
from scipy.linalg import lu_factor, lu_solve
from scipy.sparse.linalg import SuperLU, splu

from ..model import Conductors, Flags, Floats, Integers, Phasors, Soil
from .earth import EarthReturn
from .induction import Induction, induction_of
from .internal import Bar, Complexes
from .network import Network
from .runs import runs_of

_block = 64  # right-hand sides at once
# Of a component with more places all are not tried, but so many outermost and middle ones.
_all_tried, _ways, _middles = 32, 16, 8
_none = 1e-6  # of all that leaks: a component whose leakage comes back to it is not fed


@dataclass(frozen=True)
class Metal:
    """A network of metal with its impedances, ready to be fed anywhere.

    Attributes
    ----------
    network : Network
        n nodes, b branches.
    admittance : ndarray of complex, shape (b,)
        Of each branch by its internal impedance. [S]
    induction : Induction or None
        What runs of it induce in each other; None for direct current.
    """

    network: Network
    admittance: Complexes
    induction: Induction | None

    @classmethod
    def of(
        cls,
        network: Network,
        *,
        conductors: Conductors,
        bars: Sequence[Bar],
        soil: Soil,
        frequency: float,
        fed: Integers,
        like: "Metal | None" = None,
    ) -> "Metal":
        """Impedances of a network.

        Parameters
        ----------
        bars : sequence of Bar
            One for each part of `conductors`.
        frequency : float
            [Hz], 0 for direct current
        fed : ndarray of int
            Nodes that may be fed.
        like : Metal, optional
            Of another material, the rest the same.
        """
        per_metre = np.empty(len(conductors.radius), dtype=complex)
        for number, bar in enumerate(bars):
            mine = conductors.part == number
            per_metre[mine] = bar.impedance(conductors.radius[mine], frequency=frequency)
        impedance = np.asarray(per_metre[network.piece] * network.length, dtype=complex)
        induction = None if like is None else like.induction
        if like is None and frequency > 0:
            reach = EarthReturn(soil, frequency).reach
            runs = runs_of(network, conductors=conductors, reach=reach, fed=fed)
            induction = induction_of(runs, soil=soil, frequency=frequency)
        if induction is not None:
            impedance = impedance + induction.own
        return cls(network, np.asarray(1.0 / impedance), induction)

    @cached_property
    def _incidence(self) -> sparse.csr_matrix:
        """Branches at nodes, without one node of each component, which is at 0 V."""
        return self.network.incidence[:, self._free].tocsr()

    @cached_property
    def _free(self) -> Integers:
        _, held = np.unique(self.network.component, return_index=True)
        return np.setdiff1d(np.arange(len(self.network.place)), held)

    @cached_property
    def _nodal(self) -> SuperLU:
        """Node equations of the metal without induction."""
        weighted = sparse.diags(self.admittance) @ self._incidence
        return splu((self._incidence.T @ weighted).tocsc())

    @cached_property
    def _driving(self) -> sparse.csr_matrix:
        """Current that a volt induced in each run sends into the nodes. [S]"""
        assert self.induction is not None
        spread = sparse.diags(self.admittance) @ self.induction.runs.of_branch
        return (self._incidence.T @ spread).tocsc()

    @cached_property
    def _loops(self) -> tuple[Complexes, npt.NDArray[np.int32]]:
        """Equations of the mean currents of runs, factored."""
        assert self.induction is not None
        spread = self.induction.runs.of_branch
        back = (spread.T @ sparse.diags(self.admittance) @ spread).toarray()
        for begin in range(0, back.shape[1], _block):
            some = self._driving[:, begin : begin + _block].toarray()
            back[:, begin : begin + _block] -= self._driving.T @ self._nodal.solve(some)
        return lu_factor(np.eye(len(back)) + back @ self.induction.mutual)

    def voltages(self, entering: Complexes) -> Complexes:
        """Voltage of each node for currents that enter at nodes, shape (n, k). [V]

        Currents of each component add up to nothing; its first node is at 0 V.
        """
        found = np.zeros(entering.shape, dtype=complex)
        free = entering[self._free]
        if not len(free):
            return found
        inside = self._nodal.solve(free)
        if self.induction is not None:
            # Qᵀ Y D w, by the columns that drive: both are symmetric.
            mean = lu_solve(self._loops, self._driving.T @ inside)
            inside = inside + self._nodal.solve(self._driving @ (self.induction.mutual @ mean))
        found[self._free] = inside
        return found


@dataclass(frozen=True)
class Drop:
    """Voltages along metal fed at given nodes.

    Attributes
    ----------
    fed : ndarray of int, shape (number of components,)
        Node of each component where its current enters; -1 where no net current does.
    voltage : ndarray of complex, shape (n,)
        Of each node, less the mean by leakage of its component. [V]
    """

    fed: Integers
    voltage: Complexes

    @property
    def largest(self) -> float:
        """Largest drop of all. [V]"""
        return float(np.abs(self.voltage).max())


def places_to_feed(network: Network, *, allowed: Flags | None = None) -> list[Integers]:
    """Nodes of each component at which its current may enter.

    Parameters
    ----------
    allowed : ndarray of bool, shape (n,), optional
        Nodes known to be fed, in components that have any. Of others ends and joints are
        tried, of many those farthest out in plan and those nearest to the middle.
    """
    found = []
    for number in range(len(network.group)):
        inside = network.component == number
        known = np.zeros(0, dtype=np.int64)
        if allowed is not None:
            known = np.flatnonzero(inside & allowed)
        found.append(
            _some(
                known if len(known) else np.flatnonzero(inside & network.can_feed),
                network.place,
            )
        )
    return found


def _some(nodes: Integers, place: Floats) -> Integers:
    """All nodes, or of many the outermost and those in the middle."""
    if len(nodes) <= _all_tried:
        return nodes
    plan = place[nodes, :2]
    angle = np.linspace(0, 2 * np.pi, _ways, endpoint=False)
    out = (plan @ np.array([np.cos(angle), np.sin(angle)])).argmax(axis=0)
    near = np.linalg.norm(plan - plan.mean(axis=0), axis=1).argsort(kind="stable")[:_middles]
    return np.asarray(nodes[np.unique(np.concatenate([out, near]))], dtype=np.int64)


def drops(metal: Metal, *, leakage: Phasors, places: Sequence[Integers]) -> tuple[Drop, Drop]:
    """Drop of metal fed where it is worst, and where it is best.

    Parameters
    ----------
    leakage : ndarray of float or complex, shape (m,)
        Current from each line element into the soil at one potential. [A]
    places : sequence of ndarray of int
        What `places_to_feed` gave.
    """
    network = metal.network
    leaks: Complexes = np.asarray(network.leak @ leakage, dtype=complex)
    count = len(network.group)
    total = np.zeros(count, dtype=complex)
    np.add.at(total, network.component, leaks)
    size = np.bincount(network.component, weights=np.abs(leaks), minlength=count)
    returning = np.abs(total) <= _none * size
    weight = np.where(returning[network.component], np.abs(leaks), leaks)
    whole = np.where(returning, size, total)[network.component]
    weight = np.divide(weight, whole, out=np.zeros_like(weight), where=np.abs(whole) > 0)
    worst = np.where(returning, -1, [tried[0] for tried in places])
    best = worst.copy()
    for number, tried in enumerate(places):
        if len(tried) > 1 and not returning[number]:
            inside = network.component == number
            sizes = _sizes(
                metal,
                np.where(inside, -leaks, 0.0),
                tried,
                total[number],
                np.where(inside, weight, 0.0),
            )
            worst[number], best[number] = tried[sizes.argmax()], tried[sizes.argmin()]

    def fed(nodes: Integers) -> Drop:
        entering = -leaks
        np.add.at(entering, nodes[~returning], total[~returning])
        voltage = metal.voltages(entering[:, None])[:, 0]
        mean = np.zeros(count, dtype=complex)
        np.add.at(mean, network.component, weight * voltage)
        return Drop(nodes, voltage - mean[network.component])

    return fed(worst), fed(best)


def _sizes(
    metal: Metal, leaving: Complexes, tried: Integers, current: complex, weight: Complexes
) -> Floats:
    """Largest drop of a component fed at each of some nodes. [V]"""
    entering = np.zeros((len(leaving), len(tried)), dtype=complex)
    entering[:, 0] = leaving
    entering[tried[0]] -= current
    entering[tried[0], 0] += 2 * current
    entering[tried[1:], np.arange(1, len(tried))] += current
    found = metal.voltages(entering)[weight != 0]
    found[:, 1:] += found[:, :1]
    found -= weight[weight != 0] @ found
    return np.asarray(np.abs(found).max(axis=0))
