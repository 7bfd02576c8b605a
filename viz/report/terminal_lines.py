"""Sections of a report as lines of the terminal, without their pictures."""

import re
from collections.abc import Sequence
from itertools import groupby

from ..words.lines import aligned_as, hanging, terminal_text
from .contents import Block, Bullets, Cell, Listing, Paragraph, Section, Table

_widest = 110
_number = re.compile(r"[−+±×<]? ?\d|–$|$")


def section_lines(section: Section, *, units: str) -> list[str]:
    """A section as lines: paragraphs and lists hang, tables stand in columns.

    Parameters
    ----------
    units : {"SI", "US"}
        Lengths in metres or feet.
    """
    lines = [terminal_text(section.title, units=units)]
    for block in section.blocks:
        lines += block_lines(block, units=units)
    return lines


def block_lines(block: Block, *, units: str) -> list[str]:
    """Lines of one block, set in, a listing as it stands; none of a picture."""
    if isinstance(block, Paragraph):
        text = terminal_text(block.text, units=units)
        mark = "! " if block.tone in ("warning", "fail") and text[0] not in "✕–" else ""
        return hanging(mark + text, indent="  ")
    if isinstance(block, Bullets):
        return [
            line
            for item in block.items
            for line in hanging(f"- {terminal_text(item, units=units)}", indent="  ")
        ]
    if isinstance(block, Table):
        caption = hanging(terminal_text(block.caption, units=units), indent="  ")
        return [*caption, *_table(block, units=units)]
    if isinstance(block, Listing):
        summary = hanging(terminal_text(block.summary, units=units), indent="  ")
        return [*summary, "", *block.text.splitlines(), ""]
    return []


def _table(table: Table, *, units: str) -> list[str]:
    """Its columns; too wide for those, the first as a line above the rest, or all in words."""

    def texts(cells: Sequence[Cell]) -> list[str]:
        return [terminal_text(cell, units=units) for cell in cells]

    header, rows = texts(table.header), [texts(row) for row in table.rows]
    used = [k for k, name in enumerate(header) if any(row[k] for row in rows)]
    header, *rows = ([row[k] for k in used] for row in (header, *rows))
    lines = _columns([header, *rows])
    if max(map(len, lines)) <= _widest:
        return lines
    if len(header) < 3:
        above = header if len(header) == 1 else []
        return [
            line
            for text in (*above, *map(": ".join, rows))
            for line in hanging(text, indent="  ")
        ]
    head, *rest = _columns([["", *header[1:]], *(["", *row[1:]] for row in rows)])
    if max(map(len, (head, *rest))) <= _widest:
        lines = [head]
        for name, below in groupby(zip(rows, rest, strict=True), lambda pair: pair[0][0]):
            lines += [f"  {name}", *(line for _, line in below)]
        return lines
    return [line for row in rows for line in hanging(_in_words(header, row), indent="  ")]


def _columns(rows: list[list[str]]) -> list[str]:
    """Rows in columns, those of numbers set to the right."""
    right = [
        all(_number.match(cell) for cell in column) for column in zip(*rows[1:], strict=True)
    ]
    return ["  " + line for line in aligned_as(rows, right=right)]


def _in_words(header: Sequence[str], row: Sequence[str]) -> str:
    """A row as a paragraph: its first cell, then each other after its heading."""
    named = zip(header[1:], row[1:], strict=True)
    rest = (f"{name[:1].lower()}{name[1:]}: {cell}" for name, cell in named if cell)
    return f"{row[0]} – {'; '.join(rest)}"
