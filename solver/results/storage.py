"""Saving and loading a result as one file, without loss, and files of earlier formats too.

What a tree of frozen dataclasses becomes is said in `packing`; its arrays go into a NumPy
archive, all else into one JSON text beside them. Nothing in the file is executed: pickles are
refused.
"""

import json
import zipfile
import zlib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from ..errors import ResultError
from ..soil_survey import Sounding
from .packing import UnknownFieldError, pack, unpack
from .result import Result

format_version = 8
_tree, _head = "tree", "ohmscape result"

Arrays = Mapping[str, np.ndarray]
# What reading a damaged file, or one of another kind, can raise.
_damage = (
    OSError,
    ValueError,
    KeyError,
    EOFError,
    TypeError,
    AttributeError,
    zipfile.BadZipFile,
    zlib.error,
)
# From the JSON tree and the arrays of the format to those of the next one; neither is changed.
Upgrade = Callable[[dict[str, Any], Arrays], tuple[dict[str, Any], Arrays]]


def _with_unknowns(tree: dict[str, Any], arrays: Arrays) -> tuple[dict[str, Any], Arrays]:
    """From 7, the format of 0.1.0, to 8: what finite elements hold had other names."""
    names = {"potential": "unknowns", "elements": "sources", "current": "source_current"}
    named = {
        mesh: {names.get(name, name): value for name, value in tree[mesh].items()}
        for mesh in ("solution", "coarse")
    }
    return {**tree, **named}, arrays


upgrades: dict[int, Upgrade] = {7: _with_unknowns}


def save(result: Result, path: str | Path) -> Path:
    """Write a result to one file.

    Parameters
    ----------
    path : str or Path
        File to write; its name should end in ``.npz``.
    """
    packed, arrays = pack(Result, result, name="result")
    tree = {_head: format_version, "result": packed}
    text = np.frombuffer(json.dumps(tree).encode(), dtype=np.uint8)
    target = Path(path)
    with target.open("wb") as file:
        np.savez(file, **{_tree: text, **arrays})  # type: ignore[arg-type]
    return target


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
            tree = json.loads(archive[_tree].tobytes())
            _require_known(tree[_head], path)
            return _unpacked(kind, tree, archive, part=part)
    except UnknownFieldError as error:
        msg = f"{path} is of a later version: {error}; load it with that, or run the case again"
        raise ResultError(msg) from error
    except _damage as error:
        msg = f"{path} is not a readable ohmscape result, or is damaged: {error!r}; run the "
        msg += "case again"
        raise ResultError(msg) from error


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
    return unpack(kind, packed.get(part) if part else packed, arrays=arrays)
