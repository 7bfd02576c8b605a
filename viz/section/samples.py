"""What a vertical section meets: samples of the potential, and the metal."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.spatial import Delaunay, cKDTree

from ...solver.drives import in_phase
from ...solver.model import Conductors, Flags, Floats, Integers, some_of
from ...solver.results.result import Result
from ..plates import outline_of
from .plane import SectionPlane

_columns = 240  # samples along the section, before those near metal
_halvings = 4  # of their spacing at the metal


@dataclass(frozen=True)
class SectionMetal:
    """Metal that a section meets, as (distance, z). [m]

    Attributes
    ----------
    crossings : ndarray of float, shape (n, 2)
        Where pieces go through the plane.
    crossing_group : ndarray of int, shape (n,)
    lines : ndarray of float, shape (m, 2, 2)
        Pieces in the plane or beside it, as seen along it.
    line_group : ndarray of int, shape (m,)
    inside : ndarray of bool, shape (m,)
        Whether a piece is in the plane and not beside it.
    """

    crossings: Floats
    crossing_group: Integers
    lines: Floats
    line_group: Integers
    inside: Flags


def section_metal(result: Result, *, plane: SectionPlane) -> SectionMetal:
    """Metal in a section and beside it, plates as lines where it cuts them."""
    metal = result.solution.conductors
    found = _round_metal(some_of(metal, piece=~metal.flat), plane=plane)
    lines, group, inside = _plates(metal, plane=plane)
    return SectionMetal(
        found.crossings,
        found.crossing_group,
        np.concatenate([found.lines, lines]),
        np.concatenate([found.line_group, group]),
        np.concatenate([found.inside, inside]),
    )


def _plates(metal: Conductors, *, plane: SectionPlane) -> tuple[Floats, Integers, Flags]:
    """Lines of plates, the group of each, and whether it is in the plane or beside it."""
    lines, groups, inside = [np.zeros((0, 2, 2))], [], []
    thick = 0.001 * plane.width
    plates = np.unique(metal.plate[metal.flat]).tolist() if metal.plate is not None else []
    for plate in plates:
        assert metal.corners is not None
        own = np.flatnonzero(metal.plate == plate)
        outline = outline_of(metal.corners[own])
        seen, off = plane.flat(outline)
        ahead, after = np.roll(seen, -1, axis=0), np.roll(off, -1)
        cut = np.flatnonzero((off < -thick) != (after < -thick))
        within = bool(np.abs(off).max() <= thick)
        if within or np.abs(off).max() <= plane.near:
            made = np.stack([seen, ahead], axis=1)
        elif len(cut):
            share = (off[cut] / (off[cut] - after[cut]))[:, None]
            met = seen[cut] + share * (ahead[cut] - seen[cut])
            # Along the plane in and out by turns; all lie on one line.
            along = met[np.lexsort(np.round(met, 9).T)]
            made, within = along.reshape(-1, 2, 2), True
        else:
            continue
        lines.append(made)
        groups += [int(metal.group[own[0]])] * len(made)
        inside += [within] * len(made)
    return np.concatenate(lines), np.array(groups, dtype=np.int64), np.array(inside, dtype=bool)


def _round_metal(metal: Conductors, *, plane: SectionPlane) -> SectionMetal:
    """Rods and wires in a section and beside it."""
    (start, first), (end, last) = plane.flat(metal.start), plane.flat(metal.end)
    steep = np.abs(last - first)  # how far a piece goes through the plane
    thick = np.maximum(metal.radius, 0.001 * plane.width)
    meets = (first * last < 0) | (np.minimum(np.abs(first), np.abs(last)) <= thick)
    crosses = meets & (steep > 2 * thick)
    share = np.clip(first / np.where(crosses, first - last, 1.0), 0.0, 1.0)
    crossings = start + share[:, None] * (end - start)
    # The part of each piece that is no farther from the plane than is drawn.
    slope = np.where(steep > 1e-12, last - first, 1.0)
    reach = np.stack([(-plane.near - first) / slope, (plane.near - first) / slope])
    low, high = np.clip(np.sort(reach, axis=0), 0.0, 1.0)
    level = steep <= 1e-12
    low[level], high[level] = 0.0, 1.0
    beside = ~crosses & (np.where(level, np.abs(first) <= plane.near, low < high))
    lines = np.stack([start + t[:, None] * (end - start) for t in (low, high)], axis=1)
    # One place for all of a piece that runs straight away from the plane.
    beside &= np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1) > 0.002 * plane.width
    shown = (crossings[:, 0] > plane.start) & (crossings[:, 0] < plane.end) & crosses
    within = np.maximum(np.abs(first), np.abs(last)) <= thick
    return SectionMetal(
        crossings[shown],
        metal.group[shown],
        lines[beside],
        metal.group[beside],
        within[beside],
    )


@dataclass(frozen=True)
class SectionSamples:
    """Potential over a section.

    Attributes
    ----------
    flat : ndarray of float, shape (n, 2)
        Places as (distance, z). [m]
    triangles : ndarray of int, shape (m, 3)
    potential : ndarray of float, shape (n,)
        To remote earth; the part in phase with the largest rise. [V]
    weights : ndarray of float, shape (n,)
        Area that each place stands for. [m²]
    """

    flat: Floats
    triangles: Integers
    potential: Floats
    weights: Floats


def section_samples(result: Result, *, plane: SectionPlane) -> SectionSamples:
    """Potential on an even raster, finer near the metal."""
    columns = _columns
    size = plane.width / columns
    rows = int(np.ceil(plane.depth / size))
    finest = 2**_halvings

    def flat_of(lattice: Integers) -> Floats:
        """Places of whole numbers of the finest spacing, in which no place comes twice."""
        return np.array([plane.start, 0.0]) + lattice * [size / finest, -size / finest]

    across, down = np.meshgrid(
        np.arange(columns + 1) * finest, np.arange(rows + 1) * finest, indexing="ij"
    )
    lattice = np.column_stack([across.ravel(), down.ravel()])
    weights = [np.full(len(lattice), size**2)]
    metal = cKDTree(along_metal(result, spacing=size / 2))
    last = lattice
    for halving in range(1, _halvings + 1):
        step = finest // 2**halving
        gap = metal.query(plane.points(flat_of(last)))[0]
        last = last[gap < 4 * size / 2 ** (halving - 1)]
        around = np.array([(i, k) for i in (-1, 0, 1) for k in (-1, 0, 1)]) * step
        finer = np.unique((last[:, None, :] + around).reshape(-1, 2), axis=0)
        kept = (finer >= 0).all(axis=1) & (finer <= lattice.max(axis=0)).all(axis=1)
        last = finer[kept]
        lattice = np.concatenate([lattice, last])
        weights.append(np.zeros(len(last)))
    lattice, first = np.unique(lattice, axis=0, return_index=True)
    flat = flat_of(lattice)
    # Soil lies between remote earth and the metal; thin wires overshoot that by up to 14 %
    # of the rise within two radii of their ends.
    rises = [0.0, *in_phase(result.operating.voltage)]
    potential = in_phase(result.field.potential(plane.points(flat)))
    return SectionSamples(
        flat,
        _triangles(lattice),
        np.clip(potential, min(rises), max(rises)),
        np.concatenate(weights)[first],
    )


def _triangles(lattice: Integers) -> Integers:
    """Triangles between places of a lattice, shape (m, 3); variants have the same lattice."""
    return _joined(lattice.astype(np.int64).tobytes())


@lru_cache(2)
def _joined(data: bytes) -> Integers:
    lattice = np.frombuffer(data, dtype=np.int64).reshape(-1, 2)
    low, high = lattice.min(axis=0), lattice.max(axis=0)
    within = ((lattice > low) & (lattice < high)).all(axis=1)
    # Four corners of a square lie on one circle; moved off it, they take a third of the time.
    shaken = lattice.astype(float)
    shaken[within] += np.random.default_rng(1).uniform(-0.05, 0.05, (int(within.sum()), 2))
    found: Integers = Delaunay(shaken).simplices.astype(np.int64)
    return found


def along_metal(result: Result, *, spacing: float) -> Floats:
    """Places along the axes of all metal, no farther apart than asked. [m]"""
    metal = result.solution.conductors
    counts = np.ceil(metal.length / spacing).astype(int) + 1
    places = [
        start + np.linspace(0, 1, count)[:, None] * (end - start)
        for start, end, count in zip(metal.start, metal.end, counts, strict=True)
    ]
    return np.concatenate(places)
