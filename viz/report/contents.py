"""What a report is made of, before it is a page or a paper."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from ..words.text import Text, Units

Cell = str | Text


@dataclass(frozen=True)
class Paragraph:
    """Some sentences.

    Attributes
    ----------
    text : str or Text
    tone : str
        Empty, ``note``, ``warning``, ``pass`` or ``fail``.
    """

    text: Cell
    tone: str = ""
    kind = "paragraph"


@dataclass(frozen=True)
class Bullets:
    """A list."""

    items: tuple[Cell, ...]
    kind = "bullets"


@dataclass(frozen=True)
class Table:
    """A table.

    Attributes
    ----------
    header : tuple of str or Text
    rows : tuple of tuple of str or Text
        Each as long as the header.
    caption : str or Text
    tones : tuple of str
        One for each row: empty, ``pass`` or ``fail``; no entry means empty for all.
    to_write : bool
        Whether it is filled in by hand: ruled, with room for a pencil.
    """

    header: tuple[Cell, ...]
    rows: tuple[tuple[Cell, ...], ...]
    caption: Cell = ""
    tones: tuple[str, ...] = ()
    to_write: bool = False
    kind = "table"

    @property
    def toned_rows(self) -> list[tuple[str, tuple[Cell, ...]]]:
        """Rows with their tone."""
        tones = self.tones or ("",) * len(self.rows)
        return list(zip(tones, self.rows, strict=True))


@dataclass(frozen=True)
class Picture:
    """A drawing that does not move.

    Attributes
    ----------
    draw : callable
        Gives the bytes of the drawing for a unit system and a format, ``svg`` or ``png``.
    caption : str or Text
        Says in words what it shows.
    type_size : float
        Of its smallest type on paper, where it is as large as it was drawn. [point]
    """

    draw: Callable[[Units, str], bytes]
    caption: Cell
    type_size: float = 6.5
    kind = "picture"


@dataclass(frozen=True)
class Live:
    """A picture that the page draws itself and that answers to the pointer.

    Attributes
    ----------
    name : {"map", "scene"}
    caption : str or Text
    """

    name: str
    caption: Cell
    kind = "live"


@dataclass(frozen=True)
class Listing:
    """Text as it stands, such as a case file.

    Attributes
    ----------
    summary : str or Text
        What it is.
    text : str
    """

    summary: Cell
    text: str
    kind = "listing"


Block = Paragraph | Bullets | Table | Picture | Live | Listing


@dataclass(frozen=True)
class Section:
    """A chapter of a report.

    Attributes
    ----------
    key : str
        For links.
    title : str or Text
    blocks : tuple of Block
    """

    key: str
    title: Cell
    blocks: tuple[Block, ...]


class Origin(Protocol):
    """What a report is about and what made it; a result is one.

    Attributes
    ----------
    title, units, case_file, case_text, case_hash : str
        The user's title; SI or US; the case in full and its SHA-256.
    job : tuple of (str, str)
        What the work is filed under: what each text is, and the text.
    versions : dict of str to str
        Of Python, ohmscape and its libraries.
    """

    @property
    def title(self) -> str: ...  # noqa: D102
    @property
    def job(self) -> tuple[tuple[str, str], ...]: ...  # noqa: D102
    @property
    def units(self) -> str: ...  # noqa: D102
    @property
    def case_file(self) -> str: ...  # noqa: D102
    @property
    def case_text(self) -> str: ...  # noqa: D102
    @property
    def case_hash(self) -> str: ...  # noqa: D102
    @property
    def versions(self) -> dict[str, str]: ...  # noqa: D102


@dataclass(frozen=True)
class CaseOrigin:
    """Origin of a report without a result, with name and SHA-256 of each table of the case."""

    title: str
    units: str
    case_file: str
    case_text: str
    case_hash: str
    tables: tuple[tuple[str, str], ...]
    versions: dict[str, str]
    job: tuple[tuple[str, str], ...] = ()
