"""The list that a command leaves in its folder of the files it made there.

Only what the list names, and what still is as the command made it, is ever replaced: a name
alone says nothing about whose file it is. Hence a hash of each file and not its size or time,
which an edit can keep and a copy of the folder changes.
"""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from ... import __version__
from ...solver.errors import ResultError

manifest_name = "ohmscape-files.json"
draft_name = f".{manifest_name}.draft"
_format = 1
_head = "ohmscape files"


@dataclass(frozen=True)
class Made:
    """One file as it was made.

    Attributes
    ----------
    sha256 : str
        Of its content, in hexadecimal.
    command : str
        The command that made it.
    """

    sha256: str
    command: str


@dataclass(frozen=True)
class Manifest:
    """Files that commands made in one folder.

    Attributes
    ----------
    kind : str
        What the folder holds: result, compare, earth-test or soil.
    files : mapping of str to Made
        By path from the folder, with forward slashes.
    """

    kind: str
    files: Mapping[str, Made]

    def ours(self, folder: Path) -> frozenset[str]:
        """The files that are there and still as they were made."""
        return frozenset(
            name for name, made in self.files.items() if holds(folder, name, made.sha256)
        )

    def changed(self, folder: Path) -> frozenset[str]:
        """The files that are there but have been changed since, and so are somebody's work."""
        there = {name for name in self.files if (folder / name).is_file()}
        return frozenset(there - self.ours(folder))


def digest(path: Path) -> str:
    """SHA-256 of a file, in hexadecimal."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def holds(folder: Path, name: str, sha256: str) -> bool:
    """Whether a plain file of that name is in the folder itself, with that content.

    What a link leads to is never ours to replace.
    """
    path = folder / name
    between = path.parents[: len(PurePosixPath(name).parts) - 1]
    if path.is_symlink() or any(parent.is_symlink() for parent in between):
        return False
    return path.is_file() and digest(path) == sha256


def files_below(folder: Path) -> tuple[str, ...]:
    """Path of every file below a folder, in order, with forward slashes."""
    return tuple(
        sorted(
            path.relative_to(folder).as_posix()
            for path in folder.rglob("*")
            if not path.is_dir()
        )
    )


def made_below(folder: Path, *, command: str) -> dict[str, Made]:
    """All files below a folder, as made by a command."""
    return {name: Made(digest(folder / name), command) for name in files_below(folder)}


def write_manifest(manifest: Manifest, folder: Path) -> Path:
    """Write the list into a folder that exists, in place of the one there, whole."""
    entries = [
        {"name": name, "sha256": made.sha256, "command": made.command}
        for name, made in sorted(manifest.files.items())
    ]
    tree = {_head: _format, "version": __version__, "kind": manifest.kind, "files": entries}
    draft = folder / draft_name
    draft.write_text(json.dumps(tree, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    return draft.replace(folder / manifest_name)


def read_manifest(folder: Path) -> Manifest | None:
    """The list in a folder; None where there is none.

    Raises
    ------
    ResultError
        If it cannot be read: then nobody knows what may be replaced.
    """
    path = folder / manifest_name
    if not path.exists():
        return None
    try:
        tree = json.loads(path.read_text(encoding="utf-8"))
        version = tree[_head]
        if version != _format:
            msg = f"it has format {version}, this version reads {_format}"
            raise ValueError(msg)
        files = {
            _inside(item["name"]): Made(str(item["sha256"]), str(item["command"]))
            for item in tree["files"]
        }
        return Manifest(str(tree["kind"]), files)
    except (OSError, ValueError, KeyError, TypeError) as error:
        msg = f"{path} does not say which files are ours: {error}; name another folder"
        raise ResultError(msg) from error


def _inside(name: str) -> str:
    """The name, unless it leads out of the folder."""
    path = PurePosixPath(name)
    if not path.parts or path.is_absolute() or ".." in path.parts or "\\" in name:
        msg = f"{name!r} is not a file in the folder"
        raise ValueError(msg)
    return name
