"""Headings of a table of differences: places in the case with units, names, coordinates.

A place is written as messages show it: keys with points between, entries of lists by their
number from 1 or by their name, as ``soil.layers[1].resistivity [ohm*m]`` or
``electrodes[yard].parts[rods].length [m]``.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from ...solver.errors import CaseError
from ..changes import A_BLOCK, CHANGEABLE
from ..reading import quantities as q
from ..reading.documents import Document, Step
from ..reading.messages import did_you_mean, not_among, shown
from ..reading.steps import overlap, path_in
from ..reading.table_columns import plain_number
from ..reading.yaml_reader import read_document

NAME, NOTE = "name", "note: "
AS_TEMPLATE = "as template"
COORDINATES = {"east": "m", "north": "m", "latitude": "deg", "longitude": "deg"}
_settable = (*CHANGEABLE, "variants", "system")
_with_unit = re.compile(r"(?P<place>.*?\S)\s*\[(?P<unit>[^\[\]]+)\]")
_step = re.compile(r"(?P<point>\.?)(?P<key>[A-Za-z_][A-Za-z_0-9]*)|\[(?P<entry>[^\[\]]+)\]")
_kinds = tuple(kind for kind in vars(q).values() if isinstance(kind, q.Kind))


@dataclass(frozen=True)
class Column:
    """What one column of a table holds.

    Attributes
    ----------
    heading : str
        As it is written.
    target : tuple
        Path in the template that takes its values; empty for what is about the row itself.
    unit : str
        As it is written; empty where its cells have their own, or none.
    own : str
        For what is about the row itself: name, a coordinate or a note.
    """

    heading: str
    target: tuple[Step, ...] = ()
    unit: str = ""
    own: str = ""

    def value(self, cell: str) -> Any:
        """What a cell puts in its place, as a case file would have it.

        `CaseError` if it is empty, or no number though the heading has a unit.
        """
        if not cell:
            msg = f"is empty; write a value, or '{AS_TEMPLATE}' for what the template has"
            raise CaseError(msg)
        if self.unit:
            if not plain_number(cell):
                msg = f"{shown(cell)} is not a plain number; its unit stands in the heading"
                raise CaseError(msg)
            return f"{cell} {self.unit}"
        if cell in ("true", "false"):
            return cell == "true"
        if plain_number(cell):
            return int(cell) if re.fullmatch(r"[+-]?[0-9]{1,30}", cell) else float(cell)
        if cell.startswith(("[", "{")):
            return read_document(f"value: {cell}", file="").content["value"]
        return cell


def column_of(heading: str, *, template: Document) -> Column:
    """Column of a heading; `CaseError` if it leads nowhere or has another kind of unit."""
    if heading == NAME:
        return Column(heading, own=NAME)
    if heading.startswith(NOTE) and heading != NOTE:
        return Column(heading, own=heading.removeprefix(NOTE).strip())
    words, unit = heading, ""
    # A bracket right behind a key is an entry of a list: rods[1]; a unit has a blank before it.
    match = _with_unit.fullmatch(heading)
    if match is not None and (match["place"] in COORDINATES or " [" in heading):
        words, unit = match["place"].strip(), match["unit"].strip()
    if words in COORDINATES:
        if unit != COORDINATES[words]:
            msg = f"write '{words} [{COORDINATES[words]}]'"
            raise CaseError(msg)
        return Column(heading, own=words)
    target = path_in_template(words, template=template)
    _check_unit(unit, _at(template.content, target))
    return Column(heading, target, unit)


def path_in_template(words: str, *, template: Document) -> tuple[Step, ...]:
    """Path of a place as headings write it; `CaseError` if it is none."""
    steps = _steps(words)
    if steps[0] not in _settable:
        also = (NAME, *COORDINATES)
        close = did_you_mean(str(steps[0]), also)
        hint = f"; {close}or begin with '{NOTE}' what is only carried along"
        raise CaseError(not_among(str(steps[0]), _settable, what=A_BLOCK) + hint)
    return path_in(template.content, steps)


def _steps(words: str) -> list[Step]:
    steps: list[Step] = []
    end = 0
    for match in _step.finditer(words):
        whole = match.start() == end and (match["entry"] or bool(match["point"]) == bool(steps))
        if not whole:
            break
        end = match.end()
        entry = match["entry"]
        if entry is None:
            steps.append(match["key"])
        else:
            bare = entry.strip()
            steps.append(int(bare) if bare.isdecimal() and len(bare) < 9 else bare.strip("'\""))
    if not steps or end != len(words):
        msg = (
            "is no place of a case: write keys with points between, and entries of lists by "
            "number from 1 or name, such as soil.layers[1].resistivity [ohm*m]"
        )
        raise CaseError(msg)
    return steps


def _check_unit(unit: str, before: Any) -> None:
    """Raise `CaseError` if the template has another kind of quantity than a unit is of."""
    if not unit:
        return
    if "AWG" in unit:
        msg = "a column cannot be in AWG; leave the unit out and write it into each cell"
        raise CaseError(msg)
    if isinstance(before, int | float):
        msg = f"has no unit in the template, which says {before}; leave out '[{unit}]'"
        raise CaseError(msg)
    kinds = [kind for kind in _kinds if _reads(str(before), kind)]
    if isinstance(before, str) and kinds and not any(_reads(f"1 {unit}", k) for k in kinds):
        msg = f"'{unit}' is no unit of {kinds[0].name}; write one such as [{kinds[0].unit}]"
        raise CaseError(msg)


def _reads(words: str, kind: q.Kind) -> bool:
    try:
        q.quantity(words, kind=kind)
    except CaseError:
        return False
    return True


def _at(content: Any, path: tuple[Step, ...]) -> Any:
    """What stands at a path whose last key may be missing."""
    for step in path:
        content = content.get(step) if isinstance(content, dict) else content[step]
    return content


def overlapping(columns: Sequence[Column]) -> list[tuple[Column, Column]]:
    """Columns that set what one before them sets, or a part of it, with that one."""
    found = []
    for k, column in enumerate(columns):
        for other in columns[:k]:
            own = column.own and column.own == other.own
            if overlap(column.target, other.target) or own:
                found.append((column, other))
    return found
