"""A folder of files written whole or not at all, and nothing of others touched."""

import os
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path, PurePosixPath

from ...solver.errors import OhmscapeError, ResultError
from .manifest import (
    Made,
    Manifest,
    digest,
    holds,
    made_below,
    read_manifest,
    write_manifest,
)
from .staging import move_in, restore, staging, written
from .unlisted import unlisted


def check_folder(
    folder: Path,
    *,
    kind: str,
    expected: Mapping[str, str | None] | None = None,
    adding: bool = False,
) -> None:
    """Raise if a command could not leave its files in a folder, before the work is done.

    Parameters
    ----------
    folder : Path
        It may be new, or hold files of others; they are left alone.
    kind : {"result", "compare", "earth-test", "soil", "survey"}
        What the command leaves.
    expected : mapping of str to (str or None), optional
        Files that it will write, as far as they are known, with their SHA-256 where that is.
    adding : bool
        Whether it will write no others.

    Raises
    ------
    ResultError
        If the folder cannot be written, is a file, holds what another kind of command left,
        or if somebody's file, or one of ours that somebody changed, is where one of ours must
        go.
    """
    with _told_of(folder):
        restore(folder)
        before = _made_before(folder, kind=kind)
        with staging(folder):  # as the command will: names too long, no right to write
            pass
    # What a command left and somebody changed would be written again, with few exceptions.
    changed = () if adding else before.changed(folder)
    names = {**dict.fromkeys(changed), **(expected or {})}
    _require_free(folder, names, ours=before.ours(folder), kind=kind)


def write_whole(
    folder: Path,
    *,
    write: Callable[[Path], Sequence[Path]],
    kind: str,
    command: str,
    adding: bool = False,
) -> tuple[Path, ...]:
    """Write files to a folder, all or nothing, with the list of them.

    Parameters
    ----------
    write : callable
        Writes into the folder it is given; returns the files it wrote.

    Returns
    -------
    files : tuple of Path
        The files, in the folder.

    Raises
    ------
    ResultError
        As for `check_folder`. The folder is then as it was.
    """
    with whole(folder, kind=kind, command=command, adding=adding) as new:
        files = write(new)
    return tuple(folder / path.relative_to(new) for path in files)


@contextmanager
def whole(folder: Path, *, kind: str, command: str, adding: bool = False) -> Iterator[Path]:
    """Give a folder to write files into, all of which are in their own in the end, or none.

    Parameters
    ----------
    folder : Path
        Folder to make, or whose files of ours are replaced.
    kind : str
        As for `check_folder`.
    command : str
        The command that writes.
    adding : bool
        Whether files of ours that are not written again stay.

    Raises
    ------
    ResultError
        As for `check_folder`. The folder is then as it was.
    """
    with _told_of(folder):
        restore(folder)
        _made_before(folder, kind=kind)
    with _told_of(folder), staging(folder) as stage:
        new = written(stage)
        yield new
        made = made_below(new, command=command)
        before = _made_before(folder, kind=kind)
        ours = before.ours(folder)
        _require_free(folder, {name: made[name].sha256 for name in made}, ours=ours, kind=kind)
        theirs = [name for name in made if name not in ours and os.path.lexists(folder / name)]
        for name in theirs:  # It says the same, and stays whose it was.
            (new / name).unlink()
            del made[name]
        kept = {}
        if adding:
            kept = {name: item for name, item in before.files.items() if name not in made}
            ours &= made.keys()
        listed = write_manifest(Manifest(kind, {**kept, **made}), new).name
        out = {name: before.files[name].sha256 for name in sorted(ours)}
        if (folder / listed).exists():
            out[listed] = digest(folder / listed)
        move_in(stage, folder, out=out, names=[*made, listed])


@contextmanager
def _told_of(folder: Path) -> Iterator[None]:
    """Say of what the system refuses which folder it was for."""
    try:
        yield
    except OhmscapeError:  # one of them is an OSError too
        raise
    except OSError as error:
        why = error.strerror or str(error)
        msg = f"cannot write to {folder}: {why}; what was there is unchanged"
        raise ResultError(msg) from error


def note_written(folder: Path, files: Sequence[Path], *, command: str) -> None:
    """Enter files in the list of their folder, if it has one.

    Parameters
    ----------
    files : sequence of Path
        Files that were just written into the folder.
    """
    before = read_manifest(folder)
    if before is None:
        return
    written_now = {
        path.relative_to(folder).as_posix(): Made(digest(path), command) for path in files
    }
    write_manifest(Manifest(before.kind, {**before.files, **written_now}), folder)


def _made_before(folder: Path, *, kind: str) -> Manifest:
    """What commands of this kind made in a folder.

    Raises
    ------
    ResultError
        If it is no folder, or of another kind.
    """
    if os.path.lexists(folder) and not folder.is_dir():
        what = "a file" if folder.exists() else "a link that leads nowhere"
        msg = f"{folder} is {what}; name a folder for the result"
        raise ResultError(msg)
    found = read_manifest(folder) or unlisted(folder) or Manifest(kind, {})
    if found.kind != kind:
        left = "no run" if kind == "result" else "no such command"
        msg = f"{folder} holds files that {left} left ({_listed(found.files)}); "
        raise ResultError(msg + "name another folder")
    return found


def _require_free(
    folder: Path, names: Mapping[str, str | None], *, ours: Collection[str], kind: str
) -> None:
    """Raise if anything but ours, or what says the same, is where files must go."""
    found = {
        blocking
        for name, sha256 in names.items()
        if name not in ours
        and (blocking := _in_the_way(folder, name))
        and not (sha256 and holds(folder, name, sha256))
    }
    if found:
        left = "no run" if kind == "result" else "no such command"
        msg = (
            f"{folder} holds files that {left} left, or that were changed since, where new "
            f"ones must go ({_listed(found)}); move them, or name another folder"
        )
        raise ResultError(msg)


def _listed(names: Collection[str]) -> str:
    return ", ".join(sorted(names)[:3]) + (" …" if len(names) > 3 else "")


def _in_the_way(folder: Path, name: str) -> str:
    """What is where a file must go: the file, or part of its path that is no folder."""
    for parent in reversed(PurePosixPath(name).parents[:-1]):
        path = folder / parent
        if os.path.lexists(path) and (path.is_symlink() or not path.is_dir()):
            return parent.as_posix()
    return name if os.path.lexists(folder / name) else ""
