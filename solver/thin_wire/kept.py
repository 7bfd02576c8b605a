"""Thin conductors solved again and again in one soil, with what has not moved kept.

Somebody who moves a rod changes some rows and columns of the matrix, and some columns of what
the wires do to the surface. A wire is the same where its ends, face, film and layer are; all
else is looked at anew. What comes out does not depend on what was solved before.
"""

from time import perf_counter

import numpy as np

from ..anisotropy import twin_of
from ..model import Conductors, Floats, Integers, Soil
from .matrices import renew, wire_matrix
from .opinion import SecondOpinion, most_wires, opinion_by
from .tabled import TabledImages
from .wires import Wires, cut_into_wires

# Lengths of wires are steps of so much of each other, so that metal that grows by little is
# cut as it was.
_ratio = 1.25
_mostly = 0.5  # share of the wires that moved, above which all is looked at anew


class KeptWires:
    """Solutions of metal in one soil, one after another.

    Parameters
    ----------
    soil : Soil
        Layers without bodies.

    Raises
    ------
    TrustError
        If the layers cannot be put into images well enough.
    """

    def __init__(self, soil: Soil) -> None:
        self.soil = soil
        self.images = TabledImages(soil)
        self._keys: list[bytes] = []
        self._matrix = np.zeros((0, 0))

    def solved(
        self, conductors: Conductors, *, wires: int, most: int = most_wires
    ) -> SecondOpinion:
        """The metal solved, cut into about so many wires.

        Raises
        ------
        BudgetError
            If there would be more wires than `most`.
        TrustError
            If pieces of metal lie so close that they are not separate wires.
        """
        begin = perf_counter()
        twin = twin_of(conductors, soil=self.soil)
        length = float(twin.conductors.length.sum()) / wires
        longest = _ratio ** np.floor(np.log(length) / np.log(_ratio))
        cut = cut_into_wires(twin.conductors, soil=twin.soil, longest=longest, most=most)
        keys = keys_of(cut)
        before = rows_before(keys, self._keys)
        if keys != self._keys:
            self._matrix = self._moved(cut, before)
            self._keys = keys
        return opinion_by(
            self._matrix,
            wires=cut,
            conductors=conductors,
            images=self.images,
            soil=self.soil,
            begin=begin,
        )

    def _moved(self, wires: Wires, before: Integers) -> Floats:
        """Matrix of wires, of which some were in the last one."""
        self._keys = []  # nothing is known of a matrix that could not be filled in
        kept, fresh = np.flatnonzero(before >= 0), np.flatnonzero(before < 0)
        if len(fresh) > _mostly * len(wires):
            return wire_matrix(wires, images=self.images)
        if len(before) == len(self._matrix) and (before[kept] == kept).all():
            matrix = self._matrix
        else:
            matrix = np.empty((len(wires), len(wires)))
            old = before[kept]
            matrix[np.ix_(kept, kept)] = self._matrix[np.ix_(old, old)]
        renew(matrix, wires=wires, fresh=fresh, images=self.images)
        return matrix


def keys_of(wires: Wires) -> list[bytes]:
    """What tells wires from one another, all that potentials depend on."""
    rows = np.column_stack([wires.start, wires.end, wires.face, wires.series, wires.layer])
    return [row.tobytes() for row in rows + 0.0]  # no zero below zero


def rows_before(keys: list[bytes], known: list[bytes]) -> Integers:
    """Row that each wire had among those known, or -1; all -1 if they changed places."""
    row = {key: number for number, key in enumerate(known)}
    before = np.array([row.get(key, -1) for key in keys], dtype=np.int64)
    kept = before[before >= 0]
    return before if (np.diff(kept) > 0).all() else np.full(len(keys), -1)
