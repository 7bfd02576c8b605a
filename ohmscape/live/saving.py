"""The case file on the disk: read as it is, written whole or not at all, in its own folder."""

import stat
from dataclasses import dataclass
from pathlib import Path

from ..cases.reading.documents import decoded
from ..cases.reading.size_limits import LARGEST_FILE
from ..solver.errors import BudgetError, CaseError, Problem, ResultError
from .journal import digest, write_whole_file

_mark = b"\xef\xbb\xbf"  # of UTF-8, which some programs put before a text
_endings = (".yaml", ".yml")
_may_write = stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH


@dataclass(frozen=True)
class CaseText:
    """Text of a case file as it was found, lines ending by a line feed alone.

    Attributes
    ----------
    text : str
    file : str
        Hash of the bytes of the file.
    marked, returns : bool
        Whether the file begins with the mark of UTF-8; whether all its lines end by a carriage
        return and a line feed.
    """

    text: str
    file: str
    marked: bool = False
    returns: bool = False

    def content(self, text: str) -> bytes:
        """Bytes of a text as the file has them."""
        if self.returns:
            text = text.replace("\n", "\r\n")
        return _mark * self.marked + text.encode()


def read_case_text(path: Path) -> CaseText:
    """Text of a case file; `CaseError` if it is none, or too long."""
    content = path.read_bytes()
    if len(content) > LARGEST_FILE:
        msg = f"{len(content):,} bytes; a case file has at most {LARGEST_FILE:,}"
        raise BudgetError([Problem(msg, file=path.name)])
    text = decoded(content, file=path.name)
    returns = "\r\n" in text and text.count("\n") == text.count("\r\n") == text.count("\r")
    if returns:
        text = text.replace("\r\n", "\n")
    return CaseText(text, digest(content), content.startswith(_mark), returns)


def save_over(path: Path, content: bytes, *, known: str) -> None:
    """Write the case file, unless somebody else has changed it.

    Parameters
    ----------
    known : str
        Hash of what the file is known to hold.

    Raises
    ------
    ResultError
        If it holds something else, or is gone, is write-protected, or cannot be written.
    """
    try:
        found = digest(path.read_bytes()) if path.exists() else ""
        if found not in (known, digest(content)):
            what = "was changed" if found else "was taken away"
            msg = (
                f"{path.name} {what} since it was opened here; nothing is written: save a copy"
            )
            raise ResultError(msg)
        # A file put in its place would not ask for its rights.
        if found and not path.stat().st_mode & _may_write:
            msg = f"{path.name} is write-protected; nothing is written: save a copy"
            raise ResultError(msg)
        write_whole_file(path, content)
    except OSError as error:
        msg = f"{path.name} cannot be written: {error.strerror or error}; save a copy elsewhere"
        raise ResultError(msg) from error


def save_copy(folder: Path, name: str, content: bytes) -> Path:
    """Write a copy of the case into its folder; the file.

    Raises
    ------
    CaseError
        If the name is none for a new case file in that folder.
    ResultError
        If it cannot be written.
    """
    plain = name == Path(name).name and "\\" not in name and name.isprintable()
    if not plain or name.startswith(".") or not name.endswith(_endings):
        msg = f"{name[:80]!r} is no name for a copy: give that of a file, such as other.yaml"
        raise CaseError(msg)
    path = folder / name
    try:
        write_new(path, content)
    except FileExistsError as error:
        msg = f"'{name}' exists; name another file"
        raise CaseError(msg) from error
    except OSError as error:
        msg = f"{name} cannot be written: {error.strerror or error}"
        raise ResultError(msg) from error
    return path


def write_new(path: Path, content: bytes) -> None:
    """Write a new file; nothing of it is left where it cannot be written whole.

    Raises
    ------
    FileExistsError
        If there is one.
    """
    with path.open("xb") as file:
        try:
            file.write(content)
            file.flush()
        except OSError:
            path.unlink(missing_ok=True)
            raise
