"""Plates as lines: outlines, and hatching over them that tells them from loops of wire."""

from dataclasses import dataclass

import numpy as np

from ..solver.drives import in_phase
from ..solver.model import Conductors, Flags, Floats, some_of
from ..solver.patches import frame
from ..solver.results.result import Result
from .kept import kept

_one_place = 1e-7  # m
_bend = 1e-6  # of a corner that is one, 1 - cosine
_hatched = 9  # lines over the diagonal of a plate


@dataclass(frozen=True)
class Lines:
    """Metal as lines, round metal by its elements, n of them.

    Attributes
    ----------
    start, end : ndarray of float, shape (n, 3)
        [m]
    leakage : ndarray of float, shape (n,)
        Current per length, of plates over the length of their outline. [A/m]
    """

    start: Floats
    end: Floats
    leakage: Floats

    @property
    def length(self) -> Floats:
        """Shape (n,). [m]"""
        return np.asarray(np.linalg.norm(self.end - self.start, axis=1))


def outline_of(corners: Floats) -> Floats:
    """Corners in order of the outline of a plate of patches (n, 4, 3), shape (k, 3). [m]"""
    places = np.round(corners.reshape(-1, 3) / _one_place).astype(np.int64)
    _, first, number = np.unique(places, axis=0, return_index=True, return_inverse=True)
    quads = number.reshape(-1, 4)
    edges = np.stack([quads, np.roll(quads, -1, axis=1)], axis=2).reshape(-1, 2)
    edges = edges[edges[:, 0] != edges[:, 1]]
    _, at, count = np.unique(
        np.sort(edges, axis=1), axis=0, return_index=True, return_counts=True
    )
    # What two patches share is inside.
    following = dict(edges[at[count == 1]].tolist())
    here = next(iter(following))
    ring = [here]
    while (here := following[here]) != ring[0]:
        ring.append(here)
    loop = corners.reshape(-1, 3)[first[ring]]
    ahead = np.roll(loop, -1, axis=0) - loop
    ahead /= np.linalg.norm(ahead, axis=1)[:, None]
    bends = 1 - np.einsum("ni,ni->n", ahead, np.roll(ahead, 1, axis=0)) > _bend
    return np.asarray(loop[bends])


def plate_lines(corners: Floats) -> tuple[Floats, Floats]:
    """Sides of a plate and the lines that hatch it, shapes (k, 2, 3) and (m, 2, 3). [m]"""
    outline = outline_of(corners)
    sides = np.stack([outline, np.roll(outline, -1, axis=0)], axis=1)
    origin, axes = frame(corners)
    plane = (outline - origin) @ axes.T
    across = np.array([1.0, -1.0]) / np.sqrt(2.0)
    off = plane @ across
    levels = np.linspace(off.min(), off.max(), _hatched + 2)[1:-1]
    hatch = []
    for level in levels.tolist():
        one, other = off - level, np.roll(off, -1) - level
        cut = np.flatnonzero((one < 0) != (other < 0))
        share = (one[cut] / (one[cut] - other[cut]))[:, None]
        met = plane[cut] + share * (np.roll(plane, -1, axis=0)[cut] - plane[cut])
        # Along the line in and out by turns.
        met = met[np.argsort(met @ np.abs(across))]
        hatch.append(origin + met @ axes)
    return sides, np.concatenate(hatch).reshape(-1, 2, 3)


def as_lines(conductors: Conductors) -> Conductors:
    """Metal to draw: round pieces, and for plates their sides and hatching as thin pieces."""
    plate, corners = conductors.plate, conductors.corners
    if plate is None or corners is None:
        return conductors
    rows, starts, ends = [np.flatnonzero(plate < 0)], [], []
    for one in np.unique(plate[plate >= 0]).tolist():
        own = np.flatnonzero(plate == one)
        lines = np.concatenate(plate_lines(corners[own]))
        rows.append(np.full(len(lines), own[0]))
        starts.append(lines[:, 0])
        ends.append(lines[:, 1])
    row, rounded = np.concatenate(rows), rows[0]
    return some_of(
        conductors,
        piece=row,
        start=np.concatenate([conductors.start[rounded], *starts]),
        end=np.concatenate([conductors.end[rounded], *ends]),
    )


@kept
def shown_lines(result: Result) -> Lines:
    """Lines of all metal with their leakage, in phase, plates by their outlines."""
    elements, conductors = result.elements, result.solution.conductors
    flat = conductors.flat[elements.piece]
    found = [
        (
            elements.start[~flat],
            elements.end[~flat],
            in_phase(result.field.leakage)[~flat],
        )
    ]
    current = in_phase(result.field.element_current)
    if conductors.plate is not None and conductors.corners is not None:
        for one in np.unique(conductors.plate[conductors.flat]).tolist():
            own = conductors.plate == one
            total = float(current[own[elements.piece]].sum())
            sides, hatch = plate_lines(conductors.corners[own])
            around = float(np.linalg.norm(sides[:, 1] - sides[:, 0], axis=1).sum())
            lines = np.concatenate([sides, hatch])
            found.append((lines[:, 0], lines[:, 1], np.full(len(lines), total / around)))
    return Lines(*(np.concatenate(part) for part in zip(*found, strict=True)))


def has_plates(result: Result) -> bool:
    """Whether any metal is a plate."""
    flat: Flags = result.solution.conductors.flat
    return bool(flat.any())
