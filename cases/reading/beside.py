"""Files beside a case file: read from its folder or below, never from elsewhere."""

from pathlib import Path

from ...solver.errors import BudgetError, CaseError
from .documents import Document, Step
from .size_limits import LARGEST_TABLE


def content_beside(
    name: str,
    *,
    folder: Path | None,
    document: Document,
    path: tuple[Step, ...],
    most: int = LARGEST_TABLE,
) -> bytes:
    """Content of a file that the key `file` of the block at `path` names, `most` bytes.

    `CaseError` if the file is missing or outside the case's folder, or the case is no file;
    `BudgetError` if it is larger than the limits allow.
    """
    try:
        return _content(name, folder, most)
    except CaseError as error:
        found = [document.problem(f"{name!r}{error}", path=(*path, "file"))]
        raise type(error)(found) from error


def _content(name: str, folder: Path | None, most: int) -> bytes:
    """Content of a file; what is wrong in words that go on after its name."""
    if folder is None:
        msg = ": a case that is not read from a file has no tables beside it"
        raise CaseError(msg)
    home = folder.resolve()
    try:
        path = (home / name).resolve()
    except (OSError, ValueError) as error:
        msg = " is not the name of a file"
        raise CaseError(msg) from error
    if not path.is_relative_to(home):
        msg = (
            " lies outside the folder of the case file; put it beside the case file or in a "
            "folder below"
        )
        raise CaseError(msg)
    if not path.is_file():
        msg = f" is no file in {home}"
        raise CaseError(msg)
    size = path.stat().st_size
    if size > most:
        msg = f" has {size:,} bytes; at most {most:,} are read"
        raise BudgetError(msg)
    return path.read_bytes()
