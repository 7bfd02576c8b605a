"""A soil survey that is planned: traverses with the places of their pins on the ground."""

from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from ..errors import CaseError
from ..model import Conductors, Floats, Integers
from ..solved_soil import SolvedSoil

# Pins act as points: their length in the least distance of another pin of a reading, which is
# 1e-4 of a reading, and of any other pin; their radius in their length.
_length, _of_gap, _thin = 1 / 40, 1 / 5, 1 / 20
_same = 1e-6  # pins so near to each other are one [m]


@dataclass(frozen=True)
class PlannedTraverse:
    """Pins in line, moved apart about one middle or about several.

    Attributes
    ----------
    name : str
        The user's own name.
    midpoints : tuple of (x, y)
        Middles of the readings. [m]
    azimuth : float
        Direction of the line, from the x axis towards the y axis. [rad]
    pins : ndarray of float, shape (n, 4)
        Places along the line from the middle: current pin, potential pin, potential pin,
        current pin. [m]
    deviation : float
        Relative standard deviation that is written beside each reading.

    Raises
    ------
    CaseError
        If pins of a reading stand in one place.
    """

    name: str
    midpoints: tuple[tuple[float, float], ...]
    azimuth: float
    pins: Floats
    deviation: float

    def __post_init__(self) -> None:
        if not (np.diff(np.sort(self.pins, axis=1), axis=1) > _same).all():
            msg = f"traverse {self.name!r}: two pins of a reading stand in one place"
            raise CaseError(msg)

    @property
    def direction(self) -> Floats:
        """Unit vector along the line, shape (2,)."""
        return np.array([np.cos(self.azimuth), np.sin(self.azimuth)])

    @property
    def places(self) -> Floats:
        """Where the pins stand, shape (middles, n, 4, 2). [m]"""
        middles = np.array(self.midpoints)[:, None, None]
        return np.asarray(middles + self.pins[..., None] * self.direction)

    @property
    def titles(self) -> tuple[str, ...]:
        """Name of the readings about each middle."""
        if len(self.midpoints) == 1:
            return (self.name,)
        return tuple(f"{self.name} {k}" for k in range(1, len(self.midpoints) + 1))


@dataclass(frozen=True)
class SurveyPins:
    """All pins of a survey as metal of its own, each a group, so that one mesh serves all.

    Attributes
    ----------
    traverses : tuple of PlannedTraverse
        The survey.
    conductors : Conductors
        Short vertical pins, one a group.
    room : ndarray of float, shape (pins,)
        Least distance to another pin of a reading that each stands in. [m]
    index : tuple of ndarray of int, each of shape (middles, n, 4)
        Pin at each place of a traverse.
    """

    traverses: tuple[PlannedTraverse, ...]
    conductors: Conductors
    room: Floats
    index: tuple[Integers, ...]

    @classmethod
    def of(cls, traverses: tuple[PlannedTraverse, ...]) -> "SurveyPins":
        """The pins of a survey, those that stand in one place once."""
        places = np.concatenate([each.places.reshape(-1, 2) for each in traverses])
        rooms = np.concatenate([_rooms(each) for each in traverses])
        # Rounding makes one of what differs by round-off; where it does not, they are apart.
        _, first, pin = np.unique(
            np.round(places / _same).astype(np.int64),
            axis=0,
            return_index=True,
            return_inverse=True,
        )
        pin = pin.reshape(-1)
        room = np.full(len(first), np.inf)
        np.minimum.at(room, pin, rooms)
        top = np.column_stack([places[first], np.zeros(len(first))])
        length = np.minimum(_length * room, _of_gap * _gaps(top))
        ends = np.cumsum([each.places[..., 0].size for each in traverses])
        bare = Conductors.bare(
            top,
            end=top - length[:, None] * [0.0, 0.0, 1.0],
            radius=_thin * length,
            group=np.arange(len(first)),
        )
        named = tuple(f"survey pin at ({x:.4g}, {y:.4g}) m" for x, y in places[first] + 0.0)
        return cls(
            traverses,
            replace(bare, part_names=named),
            room,
            tuple(
                rows.reshape(each.places.shape[:3])
                for rows, each in zip(np.split(pin, ends[:-1]), traverses, strict=True)
            ),
        )

    def resistances(self, solved: SolvedSoil) -> tuple[Floats, ...]:
        """Voltage between the potential pins per current, by traverse, (middles, n). [Ω]

        Parameters
        ----------
        solved : SolvedSoil
            Unit solutions of `conductors` in the ground.
        """
        ohms = np.linalg.inv(solved.current_matrix)
        found = []
        for index in self.index:
            first, one, other, last = np.moveaxis(index, -1, 0)
            found.append(
                ohms[one, first] - ohms[other, first] - ohms[one, last] + ohms[other, last]
            )
        return tuple(found)


def _rooms(traverse: PlannedTraverse) -> Floats:
    """Distance of each pin to the nearest other one of its reading, in the order of places."""
    gaps = np.abs(traverse.pins[:, :, None] - traverse.pins[:, None, :])
    gaps[:, range(4), range(4)] = np.inf
    return np.tile(gaps.min(axis=2).ravel(), len(traverse.midpoints))


def _gaps(tops: Floats) -> Floats:
    """Distance of each pin to the nearest other one. [m]"""
    gaps, _ = cKDTree(tops).query(tops, k=2)
    return np.asarray(gaps)[:, 1]
