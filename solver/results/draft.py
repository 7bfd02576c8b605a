"""What is shown of a case while it is being changed: plain numbers of a quick solution."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..drives import OperatingPoint
from ..exposure.worst import WorstVoltage
from ..model import Floats
from ..verdict import Verdict


@dataclass(frozen=True)
class DraftElectrode:
    """One electrode in operation."""

    name: str
    resistance: float  # of all that is bonded to it, to remote earth [Ω]
    rise: float  # over remote earth [V]
    current: float  # into the soil [A]

    @classmethod
    def each(
        cls, point: OperatingPoint, *, names: Sequence[str]
    ) -> "tuple[DraftElectrode, ...]":
        """All electrodes at an operating point, by their names."""
        resistance = np.diag(point.resistance)
        return tuple(
            cls(
                name,
                float(resistance[point.bonded_set[group]]),
                float(abs(point.voltage[group])),
                float(abs(point.current[group])),
            )
            for group, name in enumerate(names)
        )


@dataclass(frozen=True)
class DraftWorst:
    """A worst voltage, and what is permissible there where an exposure asks.

    Attributes
    ----------
    kind : {"touch", "step", "hands", "transferred"}
        What somebody meets.
    name : str
        Of the metal or of the exposure; empty for a step that nobody judges.
    voltage : float
        Prospective; of an exposure with growth and decrement. [V]
    signed : float or None
        In phase with the largest rise; below zero the soil is above the metal. [V]
    foot, other_foot : tuple of float, length 2, or None
        Where. [m]
    limit : float or None
        What is permissible; None where nothing is judged. [V]
    """

    kind: str
    name: str
    voltage: float
    signed: float | None
    foot: tuple[float, float] | None
    other_foot: tuple[float, float] | None
    limit: float | None = None

    @classmethod
    def each(cls, worst: Sequence[WorstVoltage]) -> "tuple[DraftWorst, ...]":
        """Worst voltages that nobody judges."""
        return tuple(
            cls(item.kind, item.name, item.voltage, item.signed, item.foot, item.other_foot)
            for item in worst
        )

    @classmethod
    def judged(cls, verdict: Verdict | None) -> "tuple[DraftWorst, ...]":
        """The worst place of each exposure that somebody meets."""
        return tuple(
            cls(
                item.kind,
                item.name,
                item.worst.voltage,
                item.worst.signed,
                item.worst.foot,
                item.worst.other_foot,
                item.worst.limit.voltage,
            )
            for item in (() if verdict is None else verdict.judgements)
            if item.worst is not None
        )

    @property
    def share(self) -> float | None:
        """Voltage over what is permissible; None where nothing is judged."""
        return None if self.limit is None else self.voltage / self.limit


@dataclass(frozen=True)
class DraftShare:
    """Share of a limit over the map, of one exposure.

    Attributes
    ----------
    name, kind : str
        Of the exposure: "touch" or "step".
    metal : str
        What is touched; empty for a step.
    factor : float
        What voltages of the map are multiplied with: growth and decrement.
    error : float
        What voltages must keep from their limits. [V]
    share : ndarray of float, shape (nx, ny)
        Voltage over limit; not a number where nobody stands or reaches.
    permissible : ndarray of float, shape (nx, ny)
        What is permissible on the ground at each place. [V]
    """

    name: str
    kind: str
    metal: str
    factor: float
    error: float
    share: Floats
    permissible: Floats


@dataclass(frozen=True)
class DraftMap:
    """The surface on a raster of nx by ny places, first index along x.

    Attributes
    ----------
    x, y : ndarray of float, shapes (nx,) and (ny,)
        [m]
    potential : ndarray of float, shape (nx, ny)
        Size, with the sign of the part in phase with the largest rise; not a number over
        voids, where nobody stands. [V]
    step, direction : ndarray of float, shape (nx, ny)
        Largest step [V], and where it leads, anticlockwise from +x [rad].
    metals : tuple of str, length k
        What can be touched.
    touch : ndarray of float, shape (k, nx, ny)
        Metal less foot, signed alike; not a number out of reach. [V]
    pace : float
        Between the feet of the steps. [m]
    shares : tuple of DraftShare
        Of the exposures that have a map.
    """

    x: Floats
    y: Floats
    potential: Floats
    step: Floats
    direction: Floats
    metals: tuple[str, ...]
    touch: Floats
    pace: float
    shares: tuple[DraftShare, ...]


@dataclass(frozen=True)
class Draft:
    """A case solved quickly, which no verdict is drawn from.

    Attributes
    ----------
    variant : str
        Name of the variant; empty for the case as it stands.
    electrodes : tuple of DraftElectrode
        One for each electrode; empty where the case waits for the finite elements.
    worst : tuple of DraftWorst
        Worst touch on each metal that can be reached, then the worst step.
    judged : tuple of DraftWorst
        The worst place of each exposure that somebody meets.
    map : DraftMap or None
        None where the case waits.
    error : float
        Estimated error of a resistance, relative; of voltages, a share of the rise.
    notes : tuple of str
        What the quick way leaves out, in words.
    wires : int
        That the metal was cut into.
    seconds : float
        Time it took. [s]
    """

    variant: str
    electrodes: tuple[DraftElectrode, ...]
    worst: tuple[DraftWorst, ...]
    judged: tuple[DraftWorst, ...]
    map: DraftMap | None
    error: float
    notes: tuple[str, ...]
    wires: int
    seconds: float

    @property
    def rise(self) -> float:
        """Largest rise of any electrode; not a number where the case waits. [V]"""
        return max((each.rise for each in self.electrodes), default=float(np.nan))
