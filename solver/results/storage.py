"""Saving and loading a result as one file, without loss, and files of earlier formats too.

What a tree of frozen dataclasses becomes is said in `packing`; its arrays go into a NumPy
archive, all else into one JSON text beside them. Nothing in the file is executed: pickles are
refused.
"""

import json
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from ..errors import ResultError
from .packing import UnknownFieldError, pack, unpack
from .result import Result

format_version = 8
_tree, _head = "tree", "ohmscape result"

Arrays = dict[str, np.ndarray]
# From the JSON tree and the arrays of the format to those of the next one; neither is changed.
Upgrade = Callable[[dict[str, Any], Arrays], tuple[dict[str, Any], Arrays]]


def _with_unknowns(tree: dict[str, Any], arrays: Arrays) -> tuple[dict[str, Any], Arrays]:
    """From 7, the format of 0.1.0, to 8: what finite elements hold was called potential."""
    named = {}
    for mesh in ("solution", "coarse"):
        given = dict(tree[mesh])
        named[mesh] = {"unknowns": given.pop("potential"), **given}
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
    try:
        # numpy leaves a damaged file open when it is given only the name.
        with Path(path).open("rb") as file, np.load(file, allow_pickle=False) as archive:
            arrays = {name: archive[name] for name in archive.files}
        tree = json.loads(arrays.pop(_tree).tobytes())
        version = tree[_head]
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile, TypeError) as error:
        msg = f"{path} is not a readable ohmscape result: {error}"
        raise ResultError(msg) from error
    if version not in (*upgrades, format_version):
        oldest = min(upgrades, default=format_version)
        msg = (
            f"{path} has result format {version}, this version reads {format_version}; run the "
            f"case again (formats from {oldest} on are read; a later one by a later version)"
        )
        raise ResultError(msg)
    try:
        packed = tree["result"]
        for number in range(version, format_version):
            packed, arrays = upgrades[number](packed, arrays)
        result: Result = unpack(Result, packed, arrays=arrays)
    except UnknownFieldError as error:
        msg = f"{path} is of a later version: {error}; load it with that, or run the case again"
        raise ResultError(msg) from error
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        msg = f"{path} is damaged: {error!r} is missing or wrong; run the case again"
        raise ResultError(msg) from error
    return result
