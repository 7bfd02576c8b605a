"""Edits kept beside the case until they are saved, so that none is lost whatever dies.

A hidden file holds a line for each record: the text that the edits began from, each edit before
anything is made of it, and what became of it. A line bears a checksum of itself and is on the
disk before the edit is answered (of a drag, in the hands of the system, until it rests); one
that was cut short says nothing. Whoever has the case open holds a lock on it.
"""

import errno
import hashlib
import json
import os
import zlib
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from ..solver.errors import CaseError, ResultError
from .document import Edit, EditedCase, Splice

_format = 1
_head = "ohmscape live"


def journal_path(case: Path) -> Path:
    """The hidden file beside a case."""
    return case.with_name(f".{case.name}.ohmscape-live")


def digest(content: bytes) -> str:
    """SHA-256 of the bytes of a file, in hexadecimal."""
    return hashlib.sha256(content).hexdigest()


@dataclass(frozen=True)
class Kept:
    """What a journal keeps of an earlier session.

    Attributes
    ----------
    case : EditedCase
        With all edits.
    files : tuple of str
        Hashes of what the case file may be: as it was opened, and as it was saved since.
    edits : int
        Since the file was saved last.
    """

    case: EditedCase
    files: tuple[str, ...]
    edits: int


class Journal:
    """The file that keeps the edits of one case; whoever has it has the case alone.

    Parameters
    ----------
    case : Path
        The case file, which may have no journal yet.

    Raises
    ------
    CaseError
        If another process has the case open.
    ResultError
        If what an earlier session left cannot be read.
    OSError
        If no file can be made beside the case.
    """

    def __init__(self, case: Path) -> None:
        self.path = journal_path(case)
        flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0)
        self._file: Any = os.fdopen(os.open(self.path, flags, 0o600), "r+b", buffering=0)
        try:
            if not _locked(self._file):
                msg = f"{case} is open already: use the page that `ohmscape live` opened on it"
                raise CaseError(msg)
            whole, records = _records(self._file.read(), name=self.path)
            self.kept = _replayed(records, name=self.path)
        except BaseException:
            self._file.close()
            raise
        self._file.seek(whole)
        self._file.truncate()

    def begin(self, case: EditedCase, *, file: str) -> None:
        """Begin anew from a case whose text is in its file, which has that hash."""
        self._file.seek(0)
        self._file.truncate()
        self._write({_head: _format, "file": file, "text": case.text})
        _sync_folder(self.path.parent)

    def edit(self, edit: Edit) -> None:
        """Keep an edit that is about to be tried."""
        self._write({"edit": edit.record()}, surely=not edit.moving)

    def done(self, splice: Splice) -> None:
        """Keep what the last edit has done to the text."""
        self._write({"splice": [splice.start, splice.old, splice.new]})

    def refused(self) -> None:
        """Keep that the last edit was not taken."""
        self._write({"refused": True})

    def saving(self, file: str) -> None:
        """Keep which hash the case file is about to get."""
        self._write({"saving": file})

    def close(self, *, remove: bool) -> None:
        """Let go of the case; the file stays where it holds what is not saved."""
        if remove:
            with suppress(OSError):  # the folder is gone
                self.path.unlink()
        self._file.close()

    def _write(self, record: dict[str, Any], *, surely: bool = True) -> None:
        content = json.dumps(record, ensure_ascii=False).encode()
        line = f"{zlib.crc32(content):08x} ".encode() + content + b"\n"
        place = self._file.tell()
        try:
            if self._file.write(line) != len(line):
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            if surely:
                os.fsync(self._file.fileno())
        except OSError:
            self._file.seek(place)
            with suppress(OSError):
                self._file.truncate()
            raise


def write_whole_file(path: Path, content: bytes) -> None:
    """Put content in the place of a file's, whole or not at all, its rights kept."""
    path = path.resolve()
    draft = path.with_name(f".{path.name}.ohmscape-draft")
    try:
        draft.unlink(missing_ok=True)  # of one that was cut short, or a link of somebody else
        with draft.open("xb") as file:
            if path.exists():
                os.chmod(draft, path.stat().st_mode & 0o7777)  # noqa: PTH101 - as the file's
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        draft.replace(path)
    except OSError:
        draft.unlink(missing_ok=True)
        raise
    _sync_folder(path.parent)


def _sync_folder(folder: Path) -> None:
    """Have the system keep the names in a folder, where it can."""
    with suppress(OSError):
        place = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(place)
        finally:
            os.close(place)


def _records(content: bytes, *, name: Path) -> tuple[int, list[dict[str, Any]]]:
    """Bytes up to which a journal is whole, and its records; `ResultError` if it is damaged."""
    found: list[dict[str, Any]] = []
    place = 0
    for number, line in enumerate(content.splitlines(keepends=True), start=1):
        mark, _, rest = line.partition(b" ")
        last = place + len(line) == len(content)
        if not line.endswith(b"\n") and last:
            break  # cut short as it was written; it was never answered
        if mark != f"{zlib.crc32(rest[:-1]):08x}".encode():
            msg = f"{name} is damaged in line {number}: its edits cannot be taken up; move it "
            raise ResultError(msg + "elsewhere to go on without them")
        found.append(json.loads(rest))
        place += len(line)
    return place, found


def _replayed(records: list[dict[str, Any]], *, name: Path) -> Kept | None:
    """The case with the edits of some records; None where there are none."""
    if not records:
        return None
    head, rest = records[0], records[1:]
    if head.get(_head) != _format:
        msg = f"{name} is of another version of ohmscape; open the case with that one"
        raise ResultError(msg)
    files = [str(head["file"])]
    edits = 0
    try:
        case = EditedCase.of(str(head["text"]))
        for edit, splice in _taken(rest):
            if isinstance(edit, str):
                files.append(edit)
                edits = 0
            else:
                case = case.with_edit(edit, splice=splice)
                edits += not edit.moving
        # A drag that was not ended is: all of it is one step.
        case = case.with_edit(Edit("settle"))
        EditedCase.of(case.text)
    except (CaseError, KeyError, TypeError, ValueError) as error:
        msg = f"the edits in {name} cannot be taken up ({error}); move it elsewhere to go on "
        raise ResultError(msg + "without them") from error
    return Kept(case, tuple(files), edits)


def _taken(
    records: list[dict[str, Any]],
) -> Iterator[tuple[Edit | str, Splice | None]]:
    """Edits that were not refused, each with its splice, and hashes of what was saved."""
    waiting: tuple[Edit, Splice | None] | None = None
    for record in records:
        if "splice" in record and waiting is not None:
            waiting = (waiting[0], Splice(*record["splice"]))
            continue
        if "refused" in record:
            waiting = None
            continue
        if waiting is not None:
            yield waiting
            waiting = None
        if "edit" in record:
            waiting = (Edit.read(record["edit"]), None)
        elif "saving" in record:
            yield str(record["saving"]), None
    if waiting is not None:
        yield waiting


def _locked(file: IO[bytes]) -> bool:
    """Lock a file until it is closed or the process ends; False if another process has it."""
    try:
        import fcntl
    except ImportError:  # not on every system; then nobody is kept out
        return True
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
