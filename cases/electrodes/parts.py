"""Parts of electrodes as the case file gives them, counted, then built into straight pieces."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Protocol

import numpy as np

from ...solver.errors import BudgetError, CaseError, Problem
from ..reading.documents import Document, Step
from ..reading.problems import in_order
from .builders import ring_pieces, rod_pieces, run_pieces, star_pieces
from .counts import count_pieces, refuse_pieces
from .fences import fence_pieces, rails_pieces
from .grids import grid_pieces
from .layouts import rods_pieces
from .mats import mat_pieces
from .metal_table import MetalTable, read_table, table_pieces
from .pieces import Pieces
from .plates import flat_pieces
from .schema import (
    Conductor,
    ConductorTable,
    DrawnConductors,
    DrawnRods,
    Grid,
    Loop,
    Mat,
    Part,
    Ring,
    RodTable,
    Star,
)
from .schema_fences import Fence, Rails
from .schema_plates import Flat
from .schema_rods import Rod, Rods

Electrodes = Sequence[tuple[str, Sequence[Part]]]  # name and parts of each
PartNames = Mapping[tuple[Step, ...], str]  # by path in the document


class Drawn(Protocol):
    """What a drawing gives for one part."""

    @property
    def pieces(self) -> Pieces:
        """Its metal."""


# Gives metal for the drawn parts of a case, each with its group; errors in place of those that
# cannot be built.
DrawnMetal = Callable[
    [Sequence[tuple[int, DrawnConductors | DrawnRods]]], Sequence[Drawn | CaseError]
]


@dataclass(frozen=True)
class BuiltPart:
    """One part with the metal it became."""

    part: Part  # the block of the case file
    name: str  # the user's name, or kind and number
    group: int  # index of its electrode
    path: tuple[Step, ...]  # path of the block in the document
    table: MetalTable | None  # table it was read from
    pieces: Pieces
    drawn: Drawn | None = None  # what of a drawing it is


@dataclass(frozen=True)
class _Entry:
    """A part with all that is known about it before it is built."""

    part: Part
    name: str
    group: int
    path: tuple[Step, ...]
    host: Part | None
    table: MetalTable | None = None
    drawn: Drawn | None = None


def built_parts(
    electrodes: Electrodes,
    *,
    names: PartNames,
    document: Document,
    folder: Path | None,
    drawn: DrawnMetal | None = None,
) -> list[BuiltPart]:
    """All parts of a case, in the order of the file.

    `CaseError` if a table or a drawing is missing or wrong, or a part cannot be built, all at
    once;
    `BudgetError` if there would be too many pieces; counted before any is built.
    """
    entries = _entries(electrodes, names)
    _refuse_too_many(entries, document, [count_pieces(e.part, host=e.host) for e in entries])
    entries = _with_tables(entries, document, folder)
    entries = _with_drawn(entries, document, drawn)
    counts = [_count(entry) for entry in entries]
    _refuse_too_many(entries, document, counts)
    built = _built(entries, document)
    return [
        BuiltPart(e.part, e.name, e.group, e.path, e.table, pieces, e.drawn)
        for e, pieces in zip(entries, built, strict=True)
    ]


def _entries(electrodes: Electrodes, names: PartNames) -> list[_Entry]:
    entries = []
    for group, (_, parts) in enumerate(electrodes):
        paths = [("electrodes", group, "parts", number) for number in range(len(parts))]
        hosts = {names[path]: part for path, part in zip(paths, parts, strict=True)}
        for path, part in zip(paths, parts, strict=True):
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
                table = read_table(
                    entry.part, folder=folder, document=document, path=entry.path
                )
                entry = replace(entry, table=table)
            except CaseError as error:
                problems += _located(error, entry, document)
                kind = BudgetError if isinstance(error, BudgetError) else kind
        found.append(entry)
    if problems:
        raise kind(in_order(problems))
    return found


def _with_drawn(
    entries: list[_Entry], document: Document, drawn: DrawnMetal | None
) -> list[_Entry]:
    """The entries, those that a drawing shows with what it gives for them."""
    mine = [k for k, e in enumerate(entries) if isinstance(e.part, DrawnConductors | DrawnRods)]
    if not mine:
        return entries
    if drawn is None:
        msg = "is drawn, but the case names no drawing; give it a 'drawing'"
        raise CaseError([document.problem(msg, path=entries[k].path) for k in mine])
    problems: list[Problem] = []
    found = list(entries)
    pairs = [
        (entry.group, entry.part)
        for entry in entries
        if isinstance(entry.part, DrawnConductors | DrawnRods)
    ]
    for k, each in zip(mine, drawn(pairs), strict=True):
        if isinstance(each, CaseError):
            problems += _located(each, entries[k], document)
        else:
            found[k] = replace(entries[k], drawn=each)
    if problems:
        raise CaseError(in_order(problems))
    return found


def _count(entry: _Entry) -> int:
    if entry.table is not None:
        return len(next(iter(entry.table.columns.values())))
    if entry.drawn is not None:
        return len(entry.drawn.pieces.start)
    return count_pieces(entry.part, host=entry.host)


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
    if isinstance(part, Mat):
        return mat_pieces(part)
    if isinstance(part, Fence):
        return fence_pieces(part)
    if isinstance(part, Rails):
        return rails_pieces(part)
    if isinstance(part, Rods):
        return rods_pieces(part, host=host)
    if entry.drawn is not None:
        return entry.drawn.pieces
    if isinstance(part, Flat):
        return flat_pieces(part)
    assert entry.table is not None
    assert isinstance(part, RodTable | ConductorTable)
    return table_pieces(part, table=entry.table)


def _located(error: CaseError, entry: _Entry, document: Document) -> list[Problem]:
    """Problems of one part, placed in the case file unless they have a place."""
    return [
        problem
        if problem.file or problem.path
        else document.problem(problem.message, path=entry.path)
        for problem in error.problems
    ]
