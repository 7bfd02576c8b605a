"""From the validated case file to the arrays the solver takes."""

from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from ...solver.errors import BudgetError, CaseError
from ...solver.model import Conductors, Floats, joined, some_of
from ...solver.patches import areas
from ..case import PartSummary, Raised
from ..reading.documents import Document
from ..reading.polygons import outline_round
from ..reading.problems import in_order
from .counts import refuse_pieces
from .fences import film_of, posts_of
from .geometry import Fault, faults_between_pieces, faults_of_covers, faults_of_pieces
from .joints import JOINT, count_joints, split_at_joints
from .metal_table import MetalTable
from .parts import BuiltPart, Drawn, DrawnMetal, Electrodes, PartNames, built_parts
from .plate_faults import faults_of_plates
from .proximity import Approach, approaches
from .schema_fences import Fence


@dataclass(frozen=True)
class Metal:
    """All metal of a case."""

    conductors: Conductors  # straight pieces, split where they join
    parts: tuple[PartSummary, ...]
    joints: int  # number of places where two or more pieces meet
    # (n, 2): outline in plan of each group that has one round all its metal [m]
    outlines: dict[int, Floats]
    # (n, 2): line in plan of each group that is one fence [m]
    fences: dict[int, Floats]
    tables: tuple[MetalTable, ...]  # tables that were read
    drawn: tuple[tuple[str, Drawn], ...] = ()  # parts of a drawing by their names


def assemble(
    electrodes: Electrodes,
    *,
    names: PartNames,
    document: Document,
    folder: Path | None,
    drawn: DrawnMetal | None = None,
) -> Metal:
    """Metal of a case, built, checked and split at its joints; `names` are those of parts.

    `CaseError` if metal cannot be where the case puts it, all such problems at once;
    `BudgetError` if there is more of it than the limits allow.
    """
    parts = built_parts(electrodes, names=names, document=document, folder=folder, drawn=drawn)
    groups = tuple(name for name, _ in electrodes)
    whole = _conductors(parts, groups)
    conductors = _laid(whole, parts=parts, document=document)
    total = len(conductors.start)
    if message := refuse_pieces(total, parts=[]):
        raise BudgetError([document.problem(message, path=("electrodes",))])
    return Metal(
        conductors=conductors,
        parts=_summaries(parts),
        joints=_joints(conductors),
        outlines=_outlines(parts),
        fences=_fences(parts),
        tables=tuple(e.table for e in parts if e.table is not None),
        drawn=tuple((e.name, e.drawn) for e in parts if e.drawn is not None),
    )


def _joints(conductors: Conductors) -> int:
    """Number of places where two or more pieces of round metal meet."""
    rounded = ~conductors.flat
    if not rounded.any():
        return 0
    return count_joints(conductors.start[rounded], end=conductors.end[rounded])


def _conductors(parts: list[BuiltPart], groups: tuple[str, ...]) -> Conductors:
    """Pieces of all parts in one set of arrays."""
    sizes = [len(part.pieces.start) for part in parts]
    sheaths = [part.part.sheath for part in parts]
    radius, sheath_radius = [], []
    for entry, sheath, size in zip(parts, sheaths, sizes, strict=True):
        given = entry.pieces.radius
        metal = np.full(size, entry.part.radius) if given is None else given
        radius.append(metal)
        if sheath is None or sheath.thickness > 0:
            sheath_radius.append(metal + (sheath.thickness if sheath else 0.0))
        else:
            sheath_radius.append(np.full(size, sheath.radius))
    return Conductors(
        start=np.vstack([e.pieces.start for e in parts]),
        end=np.vstack([e.pieces.end for e in parts]),
        radius=np.concatenate(radius),
        group=np.repeat([e.group for e in parts], sizes),
        part=np.repeat(np.arange(len(parts)), sizes),
        group_names=groups,
        part_names=tuple(e.name for e in parts),
        contact=np.repeat([film_of(e.part) for e in parts], sizes),
        sheath_radius=np.concatenate(sheath_radius),
        sheath_resistivity=np.repeat([s.resistivity if s else 1.0 for s in sheaths], sizes),
        sheath_cover=np.repeat([s.cover if s else 0.0 for s in sheaths], sizes),
        **_patches(parts),
    )


def _patches(parts: list[BuiltPart]) -> dict[str, Any]:
    """Plate and corners of each piece, where there are plates."""
    if all(entry.pieces.plate is None for entry in parts):
        return {}
    plates, corners, count = [], [], 0
    for entry in parts:
        pieces = entry.pieces
        if pieces.plate is None or pieces.corners is None:
            plates.append(np.full(len(pieces.start), -1))
            corners.append(np.zeros((len(pieces.start), 4, 3)))
        else:
            plates.append(pieces.plate + count)
            corners.append(pieces.corners)
            count += int(pieces.plate.max()) + 1
    return {"plate": np.concatenate(plates), "corners": np.concatenate(corners)}


def _laid(whole: Conductors, *, parts: list[BuiltPart], document: Document) -> Conductors:
    """The metal with round pieces split at their joints, patches of plates after them."""
    flat = whole.flat
    _refuse(faults_of_plates(whole), parts, document)
    if flat.all():
        return whole
    metal = some_of(whole, piece=~flat)
    _refuse(faults_of_pieces(metal), parts, document)
    near = _near(metal, document)
    _refuse(faults_between_pieces(metal, near=near), parts, document)
    metal = _split(metal, near)
    _refuse(faults_of_covers(metal), parts, document)
    return metal if not flat.any() else joined(metal, some_of(whole, piece=flat))


def _near(whole: Conductors, document: Document) -> Approach:
    try:
        return approaches(whole.start, end=whole.end, reach=whole.sheath_radius + JOINT / 2)
    except BudgetError as error:
        raise BudgetError([document.problem(str(error), path=("electrodes",))]) from error


def _split(whole: Conductors, near: Approach) -> Conductors:
    split = split_at_joints(whole.start, end=whole.end, diameter=2 * whole.radius, near=near)
    return some_of(whole, piece=split.origin, start=split.start, end=split.end)


def _refuse(faults: list[Fault], parts: list[BuiltPart], document: Document) -> None:
    if faults:
        raise CaseError(
            in_order([document.problem(f.message, path=parts[f.part].path) for f in faults])
        )


def _summaries(parts: list[BuiltPart]) -> tuple[PartSummary, ...]:
    found = []
    for entry in parts:
        pieces = entry.pieces
        if pieces.corners is not None and pieces.plate is not None:
            found.append(
                PartSummary(
                    name=entry.name,
                    kind=entry.part.kind,
                    group=entry.group,
                    rods=0,
                    rod_length=0.0,
                    conductor_length=0.0,
                    plates=int(pieces.plate.max()) + 1,
                    area=float(areas(pieces.corners).sum()),
                )
            )
            continue
        lengths = np.linalg.norm(pieces.end - pieces.start, axis=1)
        length = float(lengths.sum())
        stranded, given = entry.part.stranded, entry.part.temperature
        found.append(
            PartSummary(
                name=entry.name,
                kind=entry.part.kind,
                group=entry.group,
                rods=len(pieces.start) if pieces.rod else 0,
                rod_length=length if pieces.rod else 0.0,
                conductor_length=0.0 if pieces.rod else length,
                strip=entry.part.strip,
                section=_least_section(entry),
                material=entry.part.material or "",
                stranded=None if stranded is None else stranded.cross_section,
                temperature=20.0 if given is None else given,
                sections=() if pieces.rod else _sections(entry, lengths),
                raised=_raised(entry),
            )
        )
    return tuple(found)


def _raised(entry: BuiltPart) -> Raised | None:
    """What joins metal of a part above ground, or bonds of rails."""
    pieces, part = entry.pieces, entry.part
    if pieces.raised is None:
        return None
    ends = tuple((tuple(one), tuple(other)) for one, other in pieces.raised.tolist())
    if not isinstance(part, Fence):
        return Raised(ends, apart=1)
    rail, spans = part.rail, posts_of(part).spans
    links = coo_array((np.ones(len(spans)), spans.T), shape=(len(pieces.start),) * 2)
    return Raised(
        ends,
        apart=int(connected_components(links, directed=False)[0]),
        height=rail.height,
        material=rail.material or part.material or "",
        radius=rail.radius or 0.0,
        stranded=None if rail.stranded is None else rail.stranded.cross_section,
        strip=rail.strip,
    )


def _least_section(entry: BuiltPart) -> float:
    """Section of the metal of a part, of a table the least in it. [m²]"""
    given, radius = entry.part.section, entry.pieces.radius
    if given is not None:
        return given
    assert radius is not None  # a table has the sizes that its part does not give
    return float(np.pi * radius.min() ** 2)


def _sections(entry: BuiltPart, lengths: Floats) -> tuple[tuple[float, float], ...]:
    """Section of the metal of a part, or those of its table, and the length that has it."""
    radius = entry.pieces.radius
    if radius is None:
        assert entry.part.section is not None  # only tables go without
        return ((entry.part.section, float(lengths.sum())),)
    each, of = np.unique(radius, return_inverse=True)
    total = np.bincount(of, weights=lengths)
    return tuple(zip((np.pi * each**2).tolist(), total.tolist(), strict=True))


def _fences(parts: list[BuiltPart]) -> dict[int, Floats]:
    """Line in plan of each group that is one fence."""
    groups = Counter(entry.group for entry in parts)
    return {
        entry.group: np.array([*entry.part.points, *entry.part.points[: entry.part.closed]])
        for entry in parts
        if isinstance(entry.part, Fence) and groups[entry.group] == 1
    }


def _outlines(parts: list[BuiltPart]) -> dict[int, Floats]:
    """Outline in plan of each group that has one round all its metal."""
    found: dict[int, Floats] = {}
    for group in {entry.group for entry in parts}:
        mine = [part.pieces for part in parts if part.group == group]
        runs = [b.run[:-1, :2] for b in mine if b.run is not None and b.closed]
        plan = np.vstack([ends[:, :2] for b in mine for ends in (b.start, b.end)])
        patches = [b.corners.reshape(-1, 3)[:, :2] for b in mine if b.corners is not None]
        plan = np.vstack([plan, *patches])
        outline = outline_round(plan, runs=runs)
        if outline is not None:
            found[group] = outline
    return found
