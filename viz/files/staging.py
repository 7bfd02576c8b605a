"""Files written beside their folder, then moved in, so that a killed command harms nothing.

New files are written to a folder ``.NAME-ohmscape-…`` near where they go. Once all are there,
a plan of moves is kept in it; then old files are moved out, new ones in, and it is cleared. The
process holds a lock on it meanwhile, so that one whose process died is known: without a plan it
is cleared, with one its moves are finished. Old and new files never stand side by side, and a
file that the plan does not name is never moved.
"""

import json
import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, Any

from ...solver.errors import ResultError
from .manifest import draft_name, holds

_mark = "ohmscape-staging"
_plan = "plan.json"
# A folder may have any name.
_text: dict[str, Any] = {"encoding": "utf-8", "errors": "surrogateescape"}
_longest_start = 200  # bytes of the name of a folder; a name has at most 255


@contextmanager
def staging(folder: Path) -> Iterator[Path]:
    """Give a folder to stage files in, in the folder they go to or beside it while it is new.

    It is cleared in the end, unless its moves have begun and are not finished.
    """
    # Within a folder that exists: it may be a mount of its own, out of which nothing moves.
    parent = folder if folder.is_dir() else folder.parent
    missing = [place for place in (parent, *parent.parents) if not place.exists()]
    parent.mkdir(parents=True, exist_ok=True)
    try:
        stage = Path(tempfile.mkdtemp(prefix=_prefix(folder), dir=parent))
        with (stage / _mark).open("w", **_text) as mark:
            _locked(mark)
            try:
                mark.write(folder.resolve().name)
                mark.flush()
                (stage / "new").mkdir()
                yield stage
            finally:
                if not (stage / _plan).exists():
                    _clear(stage)
    finally:
        for place in missing:
            with suppress(OSError):  # the result is in it
                place.rmdir()


def written(stage: Path) -> Path:
    """The folder in the staging folder that new files are written to."""
    return stage / "new"


def move_in(stage: Path, folder: Path, *, out: Mapping[str, str], names: Sequence[str]) -> None:
    """Put staged files in their folder, in place of old ones.

    Parameters
    ----------
    stage, folder : Path
        What `staging` gave, and where its files go.
    out : mapping of str to str
        Path and SHA-256 of each old file to remove.
    names : sequence of str
        Path of each new file.
    """
    if not folder.exists():
        written(stage).rename(folder)
        return
    draft = stage / (_plan + ".draft")
    draft.write_text(json.dumps({"out": dict(out), "in": list(names)}), encoding="utf-8")
    draft.rename(stage / _plan)
    try:
        _finish(stage, folder)
    except KeyboardInterrupt:
        _finish(stage, folder)
        raise
    except OSError as error:
        msg = (
            f"cannot put all files into {folder}: {error.strerror or error}; once it can be "
            "written, the next command over it puts them in"
        )
        raise ResultError(msg) from error


def restore(folder: Path) -> None:
    """Finish the moves of commands that died over a folder, and clear what they left.

    Raises
    ------
    ResultError
        If somebody has put a file where one has to go since.
    """
    if folder.is_dir() and os.access(folder, os.R_OK | os.W_OK):
        (folder / draft_name).unlink(missing_ok=True)
    for parent in (folder, folder.parent):
        if not parent.is_dir() or not os.access(parent, os.R_OK | os.W_OK):
            continue
        for stage in sorted(parent.iterdir()):
            if not stage.name.startswith(_prefix(folder)):
                continue
            if os.access(stage / _mark, os.R_OK | os.W_OK):
                _restore(stage, folder)
            elif stage.is_dir() and not any(stage.iterdir()):
                stage.rmdir()  # one that died on its last step


def _restore(stage: Path, folder: Path) -> None:
    """Finish or clear one staging folder, unless its process lives."""
    with (stage / _mark).open("r+", **_text) as mark:
        # The name of another folder may go on where this one's ends. Without a name its
        # process died before it staged anything.
        if not _locked(mark) or mark.read() not in ("", folder.resolve().name):
            return
        if (stage / _plan).exists():
            _finish(stage, folder, changed_since=True)
        _clear(stage)


def _finish(stage: Path, folder: Path, *, changed_since: bool = False) -> None:
    """Make all moves that have not been made; old files are out before new ones come in.

    Parameters
    ----------
    changed_since : bool
        Whether somebody may have changed the folder since the plan was made.
    """
    plan = json.loads((stage / _plan).read_text(encoding="utf-8"))
    new, old = written(stage), stage / "old"
    for name, sha256 in plan["out"].items():
        is_new = name in plan["in"] and not (new / name).exists()
        if is_new or (old / name).exists() or not os.path.lexists(folder / name):
            continue
        if changed_since and not holds(folder, name, sha256):
            if name in plan["in"]:
                raise _in_the_way(folder, name)
            continue
        _move(folder / name, old / name)
    for name in plan["out"]:
        _remove_empty(folder / name, folder)
    for name in plan["in"]:
        if (new / name).exists():
            if os.path.lexists(folder / name):
                raise _in_the_way(folder, name)
            _move(new / name, folder / name)
    (stage / _plan).unlink()
    _clear(stage)


def _in_the_way(folder: Path, name: str) -> ResultError:
    msg = f"{folder} holds {name}, which was put there while a command was being stopped; "
    return ResultError(
        msg + "move it elsewhere, so that the files of the command can be put in"
    )


def _move(source: Path, target: Path) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    source.rename(target)


def _remove_empty(path: Path, folder: Path) -> None:
    """Remove folders that a file left empty, up to the folder itself."""
    for parent in path.parents:
        if parent == folder or not parent.is_dir() or any(parent.iterdir()):
            return
        parent.rmdir()


def _clear(stage: Path) -> None:
    """Remove a staging folder; its mark goes last, so that what is left is known as ours."""
    for part in (written(stage), stage / "old"):
        shutil.rmtree(part, ignore_errors=True)
    for name in (_plan + ".draft", _mark):
        (stage / name).unlink(missing_ok=True)
    with suppress(OSError):
        stage.rmdir()


def _prefix(folder: Path) -> str:
    # Cut, so that a folder may have as long a name as there is; the mark holds all of it.
    start = os.fsencode(folder.resolve().name)[:_longest_start]
    return f".{os.fsdecode(start)}-ohmscape-"


def _locked(mark: IO[str]) -> bool:
    """Lock a mark until it is closed or the process ends; False if another process has it."""
    try:
        import fcntl

        fcntl.flock(mark, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (ImportError, OSError):  # without locks nobody knows who died: nothing is cleared
        return False
    return True
