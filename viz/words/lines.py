"""Lines of the terminal: rows in columns, paragraphs and lists that hang."""

import re
from collections.abc import Sequence
from textwrap import wrap

from .text import Text, plain

_width = 92
_before_unit = re.compile(r"(?<=\d) (?=(%|[kmMµ]?(Ω|V|A|W)|s|m|ft|Hz)(?!\w))")
_unbroken = "\u00a0"


def terminal_text(text: str | Text, *, units: str) -> str:
    """Text as the terminal has it: remote earth, in the units of the case."""
    words = plain(text, units="US" if units == "US" else "SI", vocabulary="ground")
    # What a device measures is a key of case files: a terminal repeats it as it is written.
    return words.replace("ground current of ", "earth current of ")


def page(title: str, blocks: Sequence[Sequence[str]]) -> str:
    """Text under a title, with an empty line between blocks; empty ones are left out."""
    every = [[title, "=" * len(title)], *blocks]
    return "\n\n".join("\n".join(block) for block in every if block)


def aligned(rows: Sequence[Sequence[str]], *, right: int) -> list[str]:
    """Rows in columns of equal width; the first column is set left, `right` more to the right.

    Parameters
    ----------
    right : int
        Number of columns after the first that are set to the right.
    """
    return aligned_as(rows, right=[0 < k <= right for k in range(len(rows[0]))])


def aligned_as(rows: Sequence[Sequence[str]], *, right: Sequence[bool]) -> list[str]:
    """Rows in columns of equal width, each set to the right or to the left."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return [
        "  ".join(
            cell.rjust(width) if far else cell.ljust(width)
            for cell, width, far in zip(row, widths, right, strict=True)
        ).rstrip()
        for row in rows
    ]


def hanging(text: str, *, indent: str = "") -> list[str]:
    """Lines of a paragraph, those after the first set in by two more than the indent.

    A number and its unit stay on one line.

    Parameters
    ----------
    indent : str, optional
        Blanks before its first line.
    """
    lines = wrap(
        _before_unit.sub(_unbroken, text),
        _width,
        initial_indent=indent,
        subsequent_indent=indent + "  ",
        # Names of cases and files would be torn apart.
        break_on_hyphens=False,
    )
    return [line.replace(_unbroken, " ") for line in lines]


def beside(name: str, text: str, *, column: int) -> list[str]:
    """Lines of a text beside its name, all of them beginning at a column."""
    return wrap(
        text,
        _width,
        initial_indent=name.ljust(column),
        subsequent_indent=" " * column,
        break_on_hyphens=False,
    )


def listed(heading: str, items: Sequence[str], *, indent: str = "") -> list[str]:
    """A heading and a list below it; no lines where there is nothing to list.

    Parameters
    ----------
    indent : str, optional
        Blanks before the dash of each item.
    """
    if not items:
        return []
    return [heading, *(line for item in items for line in hanging(f"- {item}", indent=indent))]
