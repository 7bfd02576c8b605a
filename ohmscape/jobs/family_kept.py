"""What was found, kept in a file as it comes, so that a killed command goes on from it.

One line of JSON each, written whole; one that a kill has cut is passed over. What is kept
belongs to the hash of its case: rows of an edited table that stayed the same are not done anew.
"""

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import IO, Any, Generic, Protocol, TypeVar

from ..solver.errors import OhmscapeError, ResultError
from ..solver.family import Record, Remedy
from ..solver.uncertainty.draw import Draw
from .family_engines import Engine, Lost, Work
from .pace import Pace

kept_name = "rows-done.jsonl"
remedies_name, draws_name = "remedies-done.jsonl", "draws-done.jsonl"

Key = tuple[str, str]
"""Tier, with what it hangs on beside the case, and hash of the case."""


class _Found(Protocol):
    """Whatever can be kept."""

    def as_tree(self) -> Any:
        """Plain values."""
        ...


_F = TypeVar("_F", bound=_Found)


class Kept(Generic[_F]):
    """What was found by tier and case, in a file; without a folder, in memory.

    Parameters
    ----------
    folder : Path or None
        Where the file is, or is made with the first that is kept.
    name : str
        Of the file.
    of_tree : callable
        Makes of plain values what was kept.

    Raises
    ------
    ResultError
        If there is such a file and it is another's, or another command writes to it.
    """

    def __init__(self, folder: Path | None, *, name: str, of_tree: Callable[[Any], _F]) -> None:
        self._path = None if folder is None else folder / name
        self._layout = f"ohmscape {Path(name).stem.replace('-', ' ')} 1"
        self._of_tree = of_tree
        self._file: IO[str] | None = None
        self.records: dict[Key, _F] = {}
        if self._path is not None and self._path.exists():
            self._read(self._path)

    def add(self, key: Key, record: _F) -> None:
        """Keep one, in the file too before this returns."""
        self.records[key] = record
        if self._path is None:
            return
        if self._file is None:
            self._file = _opened(self._path, self._layout)
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
        if lines and lines[0].strip() != self._layout:
            raise _not_ours(path, "it does not begin as one")
        for line in lines[1:]:
            if not line.endswith("\n"):
                continue  # cut by a kill: done anew
            try:
                tree = json.loads(line)
                key = (str(tree["tier"]), str(tree["case"]))
                self.records[key] = self._of_tree(tree["found"])
            except (ValueError, KeyError, TypeError) as error:
                raise _not_ours(path, str(error)) from error


class KeptRows(Kept[Record]):
    """Records of rows."""

    def __init__(self, folder: Path | None) -> None:
        super().__init__(folder, name=kept_name, of_tree=Record.of_tree)


class KeptRemedies(Kept[Remedy]):
    """What would make rows pass."""

    def __init__(self, folder: Path | None) -> None:
        super().__init__(folder, name=remedies_name, of_tree=Remedy.of_tree)


class KeptDraws(Kept[Draw]):
    """Draws of a case with inputs that are not known."""

    def __init__(self, folder: Path | None) -> None:
        super().__init__(folder, name=draws_name, of_tree=Draw.of_tree)


def kept_answers(
    engine: Engine,
    work: Work,
    items: Sequence[tuple[Key, Any]],
    *,
    kept: Kept[_F],
    lost: Callable[[str], _F],
    pace: Callable[[int], Pace],
) -> list[_F]:
    """What the work finds of each item, in their order; what is kept is not done anew.

    Parameters
    ----------
    items : sequence of (Key, item)
        Those of one key have it done once.
    kept : Kept
        Takes each answer as it comes.
    lost : callable
        What stands for an item that was lost, of which is told why; the next command tries it
        again.
    pace : callable
        Makes of the number of items to be done what is told of each.

    Raises
    ------
    OhmscapeError
        If that is the answer to an item.
    """
    once: dict[Key, Any] = {}
    for key, item in items:
        if key not in kept.records:
            once.setdefault(key, item)
    fresh = list(once.items())
    missing: dict[Key, _F] = {}
    done = pace(len(fresh))
    for number, answer in engine.answers(work, [item for _, item in fresh]):
        key = fresh[number][0]
        if isinstance(answer, OhmscapeError):
            raise answer
        if isinstance(answer, Lost):
            missing[key] = lost(answer.why)
        else:
            kept.add(key, answer)
        done.more(1)
    return [missing[key] if key in missing else kept.records[key] for key, _ in items]


def _opened(path: Path, layout: str) -> IO[str]:
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
        file.write(layout + "\n")
    return file


def _not_ours(path: Path, why: str) -> ResultError:
    return ResultError(
        f"{path} cannot be read as what was done before: {why}; take it away to begin anew, or "
        "name another folder"
    )
