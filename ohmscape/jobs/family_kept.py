"""Records of rows kept in a file as they come, so that a killed command goes on from them.

One line of JSON each, written whole; one that a kill has cut is passed over. A record belongs
to the hash of its row's case: rows of an edited table that stayed the same are not done anew.
"""

import json
from pathlib import Path
from typing import IO

from ..solver.errors import ResultError
from ..solver.family import Record

kept_name = "rows-done.jsonl"
_layout = "ohmscape rows done 1"

Key = tuple[str, str]
"""Tier, with what it hangs on beside the case, and hash of the case."""


class KeptRows:
    """Records by tier and case, in a file; without a folder, in memory.

    Parameters
    ----------
    folder : Path or None
        Where the file is, or is made with the first record.

    Raises
    ------
    ResultError
        If there is such a file and it is another's, or another command writes to it.
    """

    def __init__(self, folder: Path | None) -> None:
        self._path = None if folder is None else folder / kept_name
        self._file: IO[str] | None = None
        self.records: dict[Key, Record] = {}
        if self._path is not None and self._path.exists():
            self._read(self._path)

    def add(self, key: Key, record: Record) -> None:
        """Keep a record, in the file too before this returns."""
        self.records[key] = record
        if self._path is None:
            return
        if self._file is None:
            self._file = _opened(self._path)
        line = json.dumps({"tier": key[0], "case": key[1], "found": record.as_tree()})
        self._file.write(line + "\n")
        self._file.flush()

    def close(self) -> None:
        """Close the file."""
        if self._file is not None:
            self._file.close()
            self._file = None

    def _read(self, path: Path) -> None:
        try:
            lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
        except (OSError, UnicodeDecodeError) as error:
            raise _not_ours(path, str(error)) from error
        if lines and lines[0].strip() != _layout:
            raise _not_ours(path, "it does not begin as one")
        for line in lines[1:]:
            if not line.endswith("\n"):
                continue  # cut by a kill: done anew
            try:
                tree = json.loads(line)
                key = (str(tree["tier"]), str(tree["case"]))
                self.records[key] = Record.of_tree(tree["found"])
            except (ValueError, KeyError, TypeError) as error:
                raise _not_ours(path, str(error)) from error


def _opened(path: Path) -> IO[str]:
    """The file to add lines to, locked, a cut line at its end taken off."""
    path.parent.mkdir(parents=True, exist_ok=True)
    file = path.open("a+", encoding="utf-8", newline="\n")
    try:
        import fcntl

        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except ImportError:
        pass  # no locks on this system
    except OSError as error:
        file.close()
        msg = f"another command is writing to {path}; name another folder, or wait for its end"
        raise ResultError(msg) from error
    file.seek(0)
    text = file.read()
    whole = text.rfind("\n") + 1
    if whole < len(text):
        file.truncate(len(text[:whole].encode()))
    if whole == 0:
        file.write(_layout + "\n")
    return file


def _not_ours(path: Path, why: str) -> ResultError:
    return ResultError(
        f"{path} cannot be read as rows done before: {why}; take it away to begin anew, or "
        "name another folder"
    )
