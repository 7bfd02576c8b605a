"""From the validated case file to the arrays the solver takes."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from ..errors import BudgetError, CaseError, Problem
from ..solver.model import Conductors, Floats
from .builders import ring_pieces, rod_pieces, run_pieces, star_pieces
from .case import PartSummary
from .counts import count_pieces, refuse_pieces
from .documents import Document, Step
from .geometry import (
    Fault,
    faults_between_pieces,
    faults_of_covers,
    faults_of_pieces,
)
from .grids import grid_pieces
from .joints import JOINT, count_joints, split_at_joints
from .layouts import rods_pieces
from .pieces import Pieces
from .polygons import outline_round
from .problems import in_order
from .proximity import Approach, approaches
from .references import part_names
from .schema import CaseFile
from .schema_parts import (
    Conductor,
    ConductorTable,
    Grid,
    Loop,
    Part,
    Ring,
    RodTable,
    Star,
)
from .schema_rods import Rod, Rods
from .tables import Table, read_table, table_pieces


@dataclass(frozen=True)
class Metal:
    """All metal of a case.

    Attributes
    ----------
    conductors : Conductors
        Straight pieces, split where they join.
    parts : tuple of PartSummary
        What each part is.
    joints : int
        Number of places where two or more pieces meet.
    outlines : dict of int to ndarray of float, shape (n, 2)
        Outline in plan of each group that has one round all its metal. [m]
    tables : tuple of Table
        Tables that were read.
    """

    conductors: Conductors
    parts: tuple[PartSummary, ...]
    joints: int
    outlines: dict[int, Floats]
    tables: tuple[Table, ...]


@dataclass(frozen=True)
class _Entry:
    """A part with all that is known about it before it is built."""

    part: Part
    name: str
    group: int
    path: tuple[Step, ...]
    host: Part | None
    table: Table | None = None


def assemble(case_file: CaseFile, *, document: Document, folder: Path | None) -> Metal:
    """Metal of a case, built, checked and split at its joints.

    Parameters
    ----------
    case_file : CaseFile
        The validated case file.
    document : Document
        The document it came from, for lines and paths.
    folder : Path or None
        Folder of the case file, for its tables.

    Raises
    ------
    CaseError
        If metal cannot be where the case puts it; all such problems at once.
    BudgetError
        If there is more of it than the limits allow.
    """
    entries = _entries(case_file, document)
    _refuse_too_many(entries, document, [count_pieces(e.part, host=e.host) for e in entries])
    entries = _with_tables(entries, document, folder)
    counts = [
        len(next(iter(e.table.columns.values())))
        if e.table
        else count_pieces(e.part, host=e.host)
        for e in entries
    ]
    _refuse_too_many(entries, document, counts)
    built = _built(entries, document)
    groups = tuple(electrode.name for electrode in case_file.electrodes)
    whole = _conductors(entries, built, groups)
    _refuse(faults_of_pieces(whole), entries, document)
    near = _near(whole, document)
    _refuse(faults_between_pieces(whole, near=near), entries, document)
    conductors = _split(whole, near)
    _refuse(faults_of_covers(conductors), entries, document)
    total = len(conductors.start)
    if message := refuse_pieces(total, parts=[]):
        raise BudgetError([document.problem(message, path=("electrodes",))])
    return Metal(
        conductors=conductors,
        parts=_summaries(entries, built),
        joints=count_joints(conductors.start, end=conductors.end),
        outlines=_outlines(entries, built),
        tables=tuple(e.table for e in entries if e.table is not None),
    )


def _entries(case_file: CaseFile, document: Document) -> list[_Entry]:
    names = part_names(document)
    entries = []
    for group, electrode in enumerate(case_file.electrodes):
        paths = [
            ("electrodes", group, "parts", number) for number in range(len(electrode.parts))
        ]
        hosts = {names[path]: part for path, part in zip(paths, electrode.parts, strict=True)}
        for path, part in zip(paths, electrode.parts, strict=True):
            host = hosts.get(_host_name(part) or "")
            entries.append(_Entry(part, names[path], group, path, host))
    return entries


def _host_name(part: Part) -> str | None:
    layout = (part.along or part.nodes) if isinstance(part, Rods) else None
    return layout.part if layout is not None else None


def _refuse_too_many(entries: list[_Entry], document: Document, counts: list[int]) -> None:
    parts = [(e.name, count) for e, count in zip(entries, counts, strict=True)]
    if message := refuse_pieces(sum(counts), parts=parts):
        largest = entries[int(np.argmax(counts))]
        raise BudgetError([document.problem(message, path=largest.path)])


def _with_tables(
    entries: list[_Entry], document: Document, folder: Path | None
) -> list[_Entry]:
    problems: list[Problem] = []
    kind: type[CaseError] = CaseError
    found = []
    for entry in entries:
        if isinstance(entry.part, RodTable | ConductorTable):
            try:
                entry = replace(entry, table=read_table(entry.part, folder=folder))
            except CaseError as error:
                problems += _located(error, entry, document)
                kind = BudgetError if isinstance(error, BudgetError) else kind
        found.append(entry)
    if problems:
        raise kind(in_order(problems))
    return found


def _built(entries: list[_Entry], document: Document) -> list[Pieces]:
    problems: list[Problem] = []
    by_part: dict[int, Pieces] = {}
    # Hosts first, then the rods that hang from them.
    for entry in sorted(entries, key=lambda e: e.host is not None):
        host = by_part.get(id(entry.host)) if entry.host is not None else None
        if entry.host is not None and host is None:
            continue  # its host failed and is reported already
        try:
            by_part[id(entry.part)] = _pieces(entry, host)
        except CaseError as error:
            problems += _located(error, entry, document)
    if problems:
        raise CaseError(in_order(problems))
    return [by_part[id(entry.part)] for entry in entries]


def _pieces(entry: _Entry, host: Pieces | None) -> Pieces:
    part = entry.part
    if isinstance(part, Rod):
        return rod_pieces(part)
    if isinstance(part, Conductor | Loop):
        return run_pieces(part)
    if isinstance(part, Ring):
        return ring_pieces(part)
    if isinstance(part, Star):
        return star_pieces(part)
    if isinstance(part, Grid):
        return grid_pieces(part)
    if isinstance(part, Rods):
        return rods_pieces(part, host=host)
    assert entry.table is not None
    return table_pieces(part, table=entry.table)


def _conductors(
    entries: list[_Entry], built: list[Pieces], groups: tuple[str, ...]
) -> Conductors:
    """Pieces of all parts in one set of arrays."""
    sizes = [len(pieces.start) for pieces in built]
    radius, sheath_radius, sheath_rho, cover = [], [], [], []
    for entry, pieces in zip(entries, built, strict=True):
        size = len(pieces.start)
        metal = pieces.radius if pieces.radius is not None else np.full(size, entry.part.radius)
        sheath = entry.part.sheath
        radius.append(metal)
        if sheath is None:
            sheath_radius.append(metal)
        elif sheath.thickness > 0:
            sheath_radius.append(metal + sheath.thickness)
        else:
            sheath_radius.append(np.full(size, sheath.radius))
        sheath_rho.append(np.full(size, 1.0 if sheath is None else sheath.resistivity))
        cover.append(np.full(size, 0.0 if sheath is None else sheath.cover))
    return Conductors(
        start=np.vstack([pieces.start for pieces in built]),
        end=np.vstack([pieces.end for pieces in built]),
        radius=np.concatenate(radius),
        group=np.repeat([e.group for e in entries], sizes),
        part=np.repeat(np.arange(len(entries)), sizes),
        group_names=groups,
        part_names=tuple(e.name for e in entries),
        contact=np.repeat([e.part.contact_resistivity for e in entries], sizes),
        sheath_radius=np.concatenate(sheath_radius),
        sheath_resistivity=np.concatenate(sheath_rho),
        sheath_cover=np.concatenate(cover),
    )


def _near(whole: Conductors, document: Document) -> Approach:
    try:
        return approaches(whole.start, end=whole.end, reach=whole.sheath_radius + JOINT / 2)
    except BudgetError as error:
        raise BudgetError([document.problem(str(error), path=("electrodes",))]) from error


def _split(whole: Conductors, near: Approach) -> Conductors:
    split = split_at_joints(whole.start, end=whole.end, diameter=2 * whole.radius, near=near)
    of = split.origin
    return replace(
        whole,
        start=split.start,
        end=split.end,
        radius=whole.radius[of],
        group=whole.group[of],
        part=whole.part[of],
        contact=whole.contact[of],
        sheath_radius=whole.sheath_radius[of],
        sheath_resistivity=whole.sheath_resistivity[of],
        sheath_cover=whole.sheath_cover[of],
    )


def _refuse(faults: list[Fault], entries: list[_Entry], document: Document) -> None:
    if faults:
        raise CaseError(
            in_order([document.problem(f.message, path=entries[f.part].path) for f in faults])
        )


def _located(error: CaseError, entry: _Entry, document: Document) -> list[Problem]:
    """Problems of one part, placed in the case file; those of a table keep their own place."""
    return [
        problem if problem.file else document.problem(problem.message, path=entry.path)
        for problem in error.problems
    ]


def _summaries(entries: list[_Entry], built: list[Pieces]) -> tuple[PartSummary, ...]:
    found = []
    for entry, pieces in zip(entries, built, strict=True):
        length = float(np.linalg.norm(pieces.end - pieces.start, axis=1).sum())
        found.append(
            PartSummary(
                name=entry.name,
                kind=entry.part.kind,
                group=entry.group,
                rods=len(pieces.start) if pieces.rod else 0,
                rod_length=length if pieces.rod else 0.0,
                conductor_length=0.0 if pieces.rod else length,
            )
        )
    return tuple(found)


def _outlines(entries: list[_Entry], built: list[Pieces]) -> dict[int, Floats]:
    """Outline in plan of each group that has one round all its metal."""
    found: dict[int, Floats] = {}
    for group in {entry.group for entry in entries}:
        mine = [b for e, b in zip(entries, built, strict=True) if e.group == group]
        runs = [b.run[:-1, :2] for b in mine if b.run is not None and b.closed]
        plan = np.vstack([ends[:, :2] for b in mine for ends in (b.start, b.end)])
        outline = outline_round(plan, runs=runs)
        if outline is not None:
            found[group] = outline
    return found
