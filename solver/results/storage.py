"""Saving and loading a result as one file, without loss, and files of earlier formats too.

What a tree of frozen dataclasses becomes is said in `packing`; its arrays go into a NumPy
archive, all else into one JSON text beside them. Nothing in the file is executed: pickles are
refused. The text holds a hash of each array, and a hash of the text lies beside it, so that a
number changed since is noticed.
"""

import hashlib
import json
import math
import os
import tokenize
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import IO, Any

import numpy as np

from ..errors import ResultError
from ..soil_survey import Sounding
from .packing import UnknownFieldError, pack, unpack
from .result import Result
from .shapes import require_fitting

format_version = 9
_first_sealed = 9  # the format from which on there are hashes
_tree, _head, _hashes, _seal = "tree", "ohmscape result", "sha256", "sha256 of tree"
# Files are written as they are; whoever deflates one gains less than this.
_most_bytes, _most_growth = 100e6, 20.0

Arrays = Mapping[str, np.ndarray]
# What reading a damaged file, or one of another kind, can raise.
_damage = (
    OSError,
    ValueError,
    LookupError,
    EOFError,
    TypeError,
    AttributeError,
    ArithmeticError,
    RuntimeError,  # nesting without end; packed in ways that are not read
    SyntaxError,
    tokenize.TokenError,  # of numpy's headers
    zipfile.BadZipFile,
    zlib.error,
)
# From the JSON tree and the arrays of the format to those of the next one; neither is changed.
Upgrade = Callable[[dict[str, Any], Arrays], tuple[dict[str, Any], Arrays]]


def _with_unknowns(tree: dict[str, Any], arrays: Arrays) -> tuple[dict[str, Any], Arrays]:
    """From 7, the format of 0.1.0, to 8: what a mesh holds is no longer called a potential."""
    return _renamed(tree, {"potential": "unknowns"}), arrays


def _with_sources(tree: dict[str, Any], arrays: Arrays) -> tuple[dict[str, Any], Arrays]:
    """From 8 to 9, which has flat ends among its sources, and hashes."""
    return _renamed(tree, {"elements": "sources", "current": "source_current"}), arrays


def _renamed(tree: dict[str, Any], names: Mapping[str, str]) -> dict[str, Any]:
    """The tree with other names for what both finite-element solutions hold."""
    named = {
        mesh: {names.get(name, name): value for name, value in tree[mesh].items()}
        for mesh in ("solution", "coarse")
    }
    return {**tree, **named}


upgrades: dict[int, Upgrade] = {7: _with_unknowns, 8: _with_sources}


def save(result: Result, path: str | Path) -> Path:
    """Write a result to one file.

    Parameters
    ----------
    path : str or Path
        File to write; its name should end in ``.npz``.
    """
    packed, arrays = pack(Result, result, name="result")
    target = Path(path)
    members = sealed({_head: format_version, "result": packed}, arrays)
    with target.open("wb") as file:
        np.savez(file, **members)  # type: ignore[arg-type]
    return target


def sealed(tree: Mapping[str, Any], arrays: Arrays) -> dict[str, np.ndarray]:
    """Arrays of an archive: a tree with the hash of each array, its own hash, the arrays."""
    hashes = {name: _digest(array) for name, array in arrays.items()}
    text = np.frombuffer(json.dumps({**tree, _hashes: hashes}).encode(), dtype=np.uint8)
    return {_tree: text, _seal: np.array(_digest(text)), **arrays}


def _digest(array: np.ndarray) -> str:
    """SHA-256 of kind, shape and content of an array."""
    head = f"{array.dtype.str} {array.shape} ".encode()
    found = hashlib.sha256(head)
    found.update(array.tobytes())
    return found.hexdigest()


class _Sealed(Mapping[str, np.ndarray]):
    """Arrays of an archive, each held against its hash as it is taken."""

    def __init__(self, arrays: Arrays, hashes: Mapping[str, str]) -> None:
        self._arrays = arrays
        self._hashes = hashes

    def __getitem__(self, name: str) -> np.ndarray:
        array = self._arrays[name]
        if _digest(array) != self._hashes[name]:
            msg = f"{name} was changed since it was saved"
            raise ValueError(msg)
        return array

    def __iter__(self) -> Iterator[str]:
        return iter(self._hashes)

    def __len__(self) -> int:
        return len(self._hashes)


def load(path: str | Path) -> Result:
    """Read a result that `save` wrote, in this format or an earlier one from 7 on.

    Raises
    ------
    ResultError
        If the file is missing, damaged, not a result, or of a format that is not read.
    """
    result: Result = _loaded(Result, Path(path))
    return result


def load_sounding(path: str | Path) -> Sounding | None:
    """The fitted survey that a result keeps, without the rest; None where it has none.

    Raises as `load`.
    """
    sounding: Sounding | None = _loaded(Sounding | None, Path(path), part="sounding")
    return sounding


def _loaded(kind: Any, path: Path, *, part: str = "") -> Any:
    """A result, or one field of it; of the arrays only those in it are read."""
    try:
        # numpy leaves a damaged file open when it is given only the name.
        with path.open("rb") as file, np.load(file, allow_pickle=False) as archive:
            _require_no_bomb(file, archive)
            text = archive[_tree]
            tree = json.loads(text.tobytes())
            _require_known(tree[_head], path)
            return _unpacked(kind, tree, _checked(archive, tree, text), part=part)
    except UnknownFieldError as error:
        msg = f"{path} is of a later version: {error}; load it with that, or run the case again"
        raise ResultError(msg) from error
    except _damage as error:
        msg = f"{path} is not a readable ohmscape result, or is damaged: {error!r:.200}; run "
        msg += "the case again"
        raise ResultError(msg) from error


def _require_no_bomb(file: IO[bytes], archive: Any) -> None:
    """Raise on what is larger unpacked than it can be, or says so, before it is unpacked."""
    size = sum(item.file_size for item in archive.zip.infolist())
    if size > max(_most_bytes, _most_growth * os.fstat(file.fileno()).st_size):
        msg = f"it would grow to {size:,} bytes"
        raise ValueError(msg)
    for item in archive.zip.infolist():
        with archive.zip.open(item) as member:
            read = np.lib.format.read_array_header_1_0
            if np.lib.format.read_magic(member) != (1, 0):
                read = np.lib.format.read_array_header_2_0
            shape, _, dtype = read(member)
            if math.prod(shape) * dtype.itemsize != item.file_size - member.tell():
                msg = f"{item.filename} holds less or more than it says"
                raise ValueError(msg)


def _checked(archive: Arrays, tree: Mapping[str, Any], text: np.ndarray) -> Arrays:
    """The arrays of an archive, held against their hashes where its format has them."""
    if tree[_head] < _first_sealed:
        return archive
    if _digest(text) != str(archive[_seal]):
        msg = "it was changed since it was saved"
        raise ValueError(msg)
    return _Sealed(archive, tree[_hashes])


def _require_known(version: object, path: Path) -> None:
    if version in (*upgrades, format_version):
        return
    oldest = min(upgrades, default=format_version)
    msg = (
        f"{path} has result format {version}, this version reads {format_version}; run the "
        f"case again (formats from {oldest} on are read; a later one by a later version)"
    )
    raise ResultError(msg)


def _unpacked(kind: Any, tree: dict[str, Any], arrays: Arrays, *, part: str) -> Any:
    packed = tree["result"]
    for number in range(tree[_head], format_version):
        packed, arrays = upgrades[number](packed, arrays)
    found = unpack(kind, packed.get(part) if part else packed, arrays=arrays)
    if tree[_head] < _first_sealed and isinstance(found, Result):
        require_fitting(found)
    return found
