"""A case file opened for editing, with the edits that an earlier session did not save."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..cases.shipped import shipped_cases
from ..solver.errors import CaseError, Problem
from ..solver.wording import number_text
from .document import EditedCase
from .journal import Journal, Kept
from .saving import CaseText, read_case_text, write_new


@dataclass(frozen=True)
class Opened:
    """A case file that nobody else edits while this is open.

    Attributes
    ----------
    file : Path
    case : EditedCase
        With edits that were kept.
    disk : CaseText
        What the file holds.
    saved : dict
        The content of that.
    journal : Journal
    taken_up : int
        Number of edits that were kept and not saved.
    aside : Path or None
        File that those were written to instead.
    """

    file: Path
    case: EditedCase
    disk: CaseText
    saved: Any
    journal: Journal
    taken_up: int = 0
    aside: Path | None = None


def opened(path: Path, *, set_aside: bool = False) -> Opened:
    """A case file with the edits kept beside it.

    Parameters
    ----------
    set_aside : bool
        Whether edits that were kept go to a file of their own instead.

    Raises
    ------
    CaseError
        If there is no such file or it is no case file, if it is open already, or if it was
        changed since the edits that are kept were made.
    ResultError
        If those cannot be read.
    OSError
        If no file can be made beside the case.
    """
    if not path.is_file():
        raise CaseError(_no_file(path))
    disk = read_case_text(path)
    case = EditedCase.of(disk.text, file=path.name)
    journal = Journal(path)
    try:
        return _taken_up(path, case, disk, journal, set_aside=set_aside)
    except BaseException:
        journal.close(remove=False)
        raise


def _taken_up(
    path: Path, case: EditedCase, disk: CaseText, journal: Journal, *, set_aside: bool
) -> Opened:
    """The case as its journal has it; `CaseError` if that is of another file."""
    kept = journal.kept
    if kept is not None and kept.case.text == disk.text:
        kept = None  # all of it was saved
    aside = None
    if kept is not None and set_aside:
        aside = _written_aside(path, kept, disk)
        kept = None
    if kept is None:
        journal.begin(case, file=disk.file)
        return Opened(path, case, disk, case.content, journal, aside=aside)
    if disk.file not in kept.files:
        raise CaseError(_changed_since(path, kept, journal))
    return Opened(path, kept.case, disk, case.content, journal, max(kept.edits, 1))


def _no_file(path: Path) -> str:
    if str(path) in shipped_cases():
        return (
            f"'{path}' is a shipped case, which stays as it is; make one of your own: "
            f"ohmscape new my-case.yaml --like {path}"
        )
    return f"no case file '{path}' here; begin one with: ohmscape new {path}"


def _changed_since(path: Path, kept: Kept, journal: Journal) -> list[Problem]:
    msg = (
        f"was changed since {number_text(max(kept.edits, 1), 'edit')} on its page, not saved; "
        f"that is kept in {journal.path.name}. Put the file back as it was to take it up, "
        "or give --set-aside to have it written to a case file of their own"
    )
    return [Problem(msg, file=path.name)]


def _written_aside(path: Path, kept: Kept, disk: CaseText) -> Path:
    """File beside the case file, of a free name, with the case and the edits that were kept."""
    for number in range(1, 1000):
        ending = "" if number == 1 else f"-{number}"
        aside = path.with_name(f"{path.stem}-unsaved{ending}{path.suffix}")
        try:
            write_new(aside, disk.content(kept.case.text))
        except FileExistsError:
            continue
        return aside
    msg = f"too many files like {path.stem}-unsaved{path.suffix}; move some elsewhere"
    raise CaseError(msg)
