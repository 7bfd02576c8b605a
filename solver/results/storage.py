"""Saving and loading a result as one file, without loss.

A result is a tree of frozen dataclasses. Its arrays go into a NumPy archive under their
path in the tree, all else into one JSON text beside them; loading follows the annotations.
Nothing in the file is executed: pickles are refused.
"""

import json
import zipfile
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import Path
from types import UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

import numpy as np

from ..errors import ResultError
from .result import Result

format_version = 8
_tree = "tree"


def save(result: Result, path: str | Path) -> Path:
    """Write a result to one file.

    Parameters
    ----------
    path : str or Path
        File to write; its name should end in ``.npz``.
    """
    arrays: dict[str, np.ndarray] = {}
    tree = {"ohmscape result": format_version, "result": _pack(result, "result", arrays)}
    text = np.frombuffer(json.dumps(tree).encode(), dtype=np.uint8)
    target = Path(path)
    with target.open("wb") as file:
        np.savez(file, **{_tree: text, **arrays})  # type: ignore[arg-type]
    return target


def load(path: str | Path) -> Result:
    """Read a result that `save` wrote.

    Raises
    ------
    ResultError
        If the file is missing, damaged, not a result, or of another format version.
    """
    try:
        # numpy leaves a damaged file open when it is given only the name.
        with Path(path).open("rb") as file, np.load(file, allow_pickle=False) as archive:
            arrays = {name: archive[name] for name in archive.files}
        tree = json.loads(arrays.pop(_tree).tobytes())
        version = tree["ohmscape result"]
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile, TypeError) as error:
        msg = f"{path} is not a readable ohmscape result: {error}"
        raise ResultError(msg) from error
    if version != format_version:
        msg = (
            f"{path} has result format {version}, this version reads {format_version}; "
            "run the case again"
        )
        raise ResultError(msg)
    try:
        result: Result = _unpack(Result, tree["result"], arrays)
    except (KeyError, TypeError, ValueError) as error:
        msg = f"{path} is damaged: {error!r} is missing or wrong; run the case again"
        raise ResultError(msg) from error
    return result


def _pack(value: Any, path: str, arrays: dict[str, np.ndarray]) -> Any:
    """JSON form of a value, its arrays put aside under their path."""
    if is_dataclass(value):
        return {
            field.name: _pack(getattr(value, field.name), f"{path}.{field.name}", arrays)
            for field in fields(value)
        }
    if isinstance(value, np.ndarray):
        arrays[path] = value
        return path
    if isinstance(value, tuple):
        return [_pack(item, f"{path}[{k}]", arrays) for k, item in enumerate(value)]
    if isinstance(value, dict):
        return dict(value)
    plain = value.item() if isinstance(value, np.generic) else value
    return [plain.real, plain.imag] if isinstance(plain, complex) else plain


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)


def _unpack(kind: Any, value: Any, arrays: dict[str, np.ndarray]) -> Any:
    """Value of an annotated kind from its JSON form."""
    if is_dataclass(kind):
        hints = _hints(kind)  # type: ignore[arg-type]
        given = {f.name: _unpack(hints[f.name], value[f.name], arrays) for f in fields(kind)}
        return kind(**given)  # type: ignore[operator]
    origin, inner = get_origin(kind), get_args(kind)
    if origin is np.ndarray:
        return arrays[value]
    if origin is tuple:
        kinds = [inner[0]] * len(value) if inner[-1] is Ellipsis else inner
        return tuple(_unpack(k, item, arrays) for k, item in zip(kinds, value, strict=True))
    if origin in (Union, UnionType):
        some = next(k for k in inner if k is not type(None))
        return None if value is None else _unpack(some, value, arrays)
    if kind is complex:
        return complex(*value) if isinstance(value, list) else complex(value)
    return value
