"""Two-clamp (stakeless) test: one clamp drives a loop, the other reads its current."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..circuit import REMOTE_EARTH
from ..circuit.model import Path
from ..errors import CaseError
from ..model import Floats
from .network import Network

_lead = "lead in the clamps"


@dataclass(frozen=True)
class ClampReading:
    """What two clamps round one conductor read, and what was meant to be measured.

    Attributes
    ----------
    around : str
        Electrode whose lead, or path that, the clamps are round.
    reading : float
        Size of the impedance of the loop; infinite where there is none. [Ω]
    true_resistance : float or None
        Of the electrode to remote earth with its lead lifted; None for a path. [Ω]
    rest : float
        Size of the impedance of the rest of the loop, from the lead round to remote earth or
        back to the metal. [Ω]
    metal_loop : bool
        Whether the loop closes in metal: the reading says nothing about the soil.
    """

    around: str
    reading: float
    true_resistance: float | None
    rest: float
    metal_loop: bool

    @property
    def error(self) -> float | None:
        """Reading over true resistance less one; None without either."""
        if self.true_resistance is None or math.isinf(self.reading):
            return None
        return self.reading / self.true_resistance - 1.0


def clamp_reading(
    current_matrix: Floats,
    *,
    around: str,
    groups: Sequence[str],
    bonds: Sequence[tuple[str, str]] = (),
    paths: Sequence[Path] = (),
) -> ClampReading:
    """Reading of two clamps round the lead of an electrode, or round a path.

    Parameters
    ----------
    current_matrix : ndarray of float, shape (g, g)
        Current out of group i with group k at 1 V. [S]
    around : str
        Name of an electrode, whose bonds and paths all go through one lead, or of a path (a
        ladder at its near end); without a loop the reading is infinite.
    groups : sequence of str, length g
        Names of the electrodes.

    Raises
    ------
    CaseError
        If nothing has that name.

    Notes
    -----
    The voltage of one clamp over the current in the other is the impedance of the loop: the
    two sides of the cut, seen from the cut with the lead open. Paths count with their impedance
    at the frequency of the circuit; real clamps work at 1 to 3 kHz, where long conductors add
    reactance (from memory), which some of them leave out.
    """
    if around in groups:
        moved = [replace(path, between=_moved(path.between, around)) for path in paths]
        joined = [_moved(bond, around) for bond in bonds]
        one, other = around, _lead
    else:
        cut = next((path for path in paths if path.name == around), None)
        if cut is None:
            known = ", ".join(repr(name) for name in (*groups, *(p.name for p in paths)))
            msg = f"no electrode or path {around!r} to clamp; there are {known}"
            raise CaseError(msg)
        near, far = cut.between
        if near == REMOTE_EARTH:
            near, far = far, near
        moved = [replace(path, between=(_lead, far)) if path is cut else path for path in paths]
        joined, one, other = list(bonds), near, _lead
    network = Network.of(current_matrix, groups=groups, bonds=joined, paths=moved)
    reading = abs(network.impedance_between(one, other))
    return ClampReading(
        around=around,
        reading=reading,
        true_resistance=abs(network.impedance_between(around, REMOTE_EARTH))
        if around in groups
        else None,
        rest=abs(network.impedance_between(_lead, REMOTE_EARTH)),
        metal_loop=network.joined_by_metal(one, other),
    )


def _moved(ends: tuple[str, str], name: str) -> tuple[str, str]:
    """Ends with those at the electrode moved to the far side of its lead."""
    first, second = (_lead if end == name else end for end in ends)
    return (first, second)
