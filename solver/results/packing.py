"""Trees of dataclasses as JSON and arrays, and back, by the annotations of their fields.

A field may hold a number, text, truth value or None, an array, a dataclass, and tuples, lists,
dictionaries and unions of these. Where a union leaves open what a value is, its kind is kept
beside it: the name of its class, so a class that is stored must keep its name. A field with a
default may be missing; one that is not known is refused, since it may change what the others
mean.
"""

from collections.abc import Mapping
from dataclasses import MISSING, Field, dataclass, fields, is_dataclass
from functools import cache
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import numpy as np

_kind, _value = "kind", "value"
_numbers = (bool, int, float)


class UnknownFieldError(ValueError):
    """A tree holds a field that its dataclass does not have."""


def pack(kind: Any, value: Any, *, name: str) -> tuple[Any, dict[str, np.ndarray]]:
    """JSON form of a value of an annotated kind, and its arrays under their path.

    A kind is a dataclass, or what a field of one may be annotated with. `TypeError` if the
    value is not of the kind, or of one that cannot be kept.
    """
    arrays: dict[str, np.ndarray] = {}
    return _pack(kind, value, name, arrays), arrays


def unpack(kind: Any, packed: Any, *, arrays: Mapping[str, np.ndarray]) -> Any:
    """Value of an annotated kind from what `pack` gave.

    `UnknownFieldError` if there is a field that the dataclass does not have; `KeyError`,
    `TypeError` or `ValueError` if something is missing or not what it should be.
    """
    return _unpack(kind, packed, arrays)


def _pack(kind: Any, value: Any, path: str, arrays: dict[str, np.ndarray]) -> Any:
    shape = _shape_of(kind)
    if shape.union:
        label = shape.label_of(value, path)
        inner = None if label is None else _pack(shape.union[label], value, path, arrays)
        return (
            inner if label is None or len(shape.union) == 1 else {_kind: label, _value: inner}
        )
    if not shape.fits(value):
        raise _unfit(value, shape.label, path)
    if is_dataclass(kind):
        return {
            field.name: _pack(hint, getattr(value, field.name), f"{path}.{field.name}", arrays)
            for field, hint in _fields(shape.origin)
        }
    if shape.origin is np.ndarray:
        if value.dtype.hasobject:
            raise _unfit(value, "an array of numbers or text", path)
        arrays[path] = value
        return path
    if shape.origin in (tuple, list):
        return [
            _pack(inner, item, f"{path}[{k}]", arrays)
            for k, (inner, item) in enumerate(zip(shape.inner(len(value)), value, strict=True))
        ]
    if shape.origin is dict:
        # A key may be any text, which would make a poor name for an array.
        key_kind, item_kind = get_args(kind)
        keys = [_pack(key_kind, key, f"{path} key", arrays) for key in value]
        items = [
            _pack(item_kind, item, f"{path}[{k}]", arrays)
            for k, item in enumerate(value.values())
        ]
        pairs = zip(keys, items, strict=True)
        return dict(pairs) if key_kind is str else [list(pair) for pair in pairs]
    plain = value.item() if isinstance(value, np.generic) else value
    return [plain.real, plain.imag] if isinstance(plain, complex) else plain


def _unpack(kind: Any, packed: Any, arrays: Mapping[str, np.ndarray]) -> Any:
    shape = _shape_of(kind)
    if shape.union:
        if packed is None and shape.optional:
            return None
        if len(shape.union) == 1:
            return _unpack(next(iter(shape.union.values())), packed, arrays)
        return _unpack(shape.union[packed[_kind]], packed[_value], arrays)
    if is_dataclass(kind):
        return _dataclass(kind, packed, arrays)
    if shape.origin is np.ndarray:
        return arrays[packed]
    if shape.origin in (tuple, list):
        if not isinstance(packed, list):
            raise _unfit(packed, shape.label, "a field")
        inner = shape.inner(len(packed))
        return shape.origin(_unpack(k, v, arrays) for k, v in zip(inner, packed, strict=True))
    if shape.origin is dict:
        key_kind, item_kind = get_args(kind)
        pairs = packed.items() if key_kind is str else packed
        return {_unpack(key_kind, k, arrays): _unpack(item_kind, v, arrays) for k, v in pairs}
    value = complex(*packed) if kind is complex and isinstance(packed, list) else packed
    value = complex(value) if kind is complex and isinstance(value, _numbers) else value
    if not shape.fits(value):
        raise _unfit(value, shape.label, "a field")
    return value


def _dataclass(kind: Any, packed: Any, arrays: Mapping[str, np.ndarray]) -> Any:
    if not isinstance(packed, dict):
        raise _unfit(packed, kind.__name__, "a field")
    known = _fields(kind)
    unknown = sorted(packed.keys() - {field.name for field, _ in known})
    if unknown:
        msg = f"{kind.__name__} has no {unknown[0]!r}; it has "
        raise UnknownFieldError(msg + ", ".join(field.name for field, _ in known))
    given = {}
    for field, hint in known:
        if field.name in packed:
            given[field.name] = _unpack(hint, packed[field.name], arrays)
        elif field.default is MISSING and field.default_factory is MISSING:
            raise KeyError(f"{kind.__name__}.{field.name}")  # noqa: EM102 - a key, not a text
    return kind(**given)


@dataclass(frozen=True)
class _Shape:
    """What an annotation allows."""

    kind: Any  # the annotation, and the class it is made of
    origin: Any
    union: dict[str, Any]  # its alternatives by their labels; empty where there is only one
    optional: bool  # whether None is one of them

    @property
    def label(self) -> str:
        """Name of the class, or of what is made of others."""
        return str(getattr(self.origin, "__name__", self.origin))

    def fits(self, value: Any) -> bool:
        """Whether a value is of this kind, as far as can be seen without looking into it."""
        if self.origin is Literal:
            return value in get_args(self.kind)
        if is_dataclass(self.origin):
            return type(value) is self.origin
        if self.origin in (float, int, bool):
            return isinstance(value, (*_numbers, np.number, np.bool_)) and not isinstance(
                value, np.complexfloating
            )
        if self.origin is complex:
            return isinstance(value, (*_numbers, complex, np.number))
        return isinstance(value, self.origin)

    def inner(self, count: int) -> tuple[Any, ...]:
        """Kinds of the items of a tuple or list of some length."""
        inner = get_args(self.kind)
        if self.origin is list or inner[-1:] == (Ellipsis,):
            return inner[:1] * count
        return inner

    def label_of(self, value: Any, path: str) -> str | None:
        """Label of the alternative that a value is; None for None."""
        if value is None and self.optional:
            return None
        shapes = {label: _shape_of(kind) for label, kind in self.union.items()}
        fitting = [label for label, shape in shapes.items() if shape.fits(value)]
        exact = [label for label in fitting if type(value) is shapes[label].origin]
        if not fitting:
            raise _unfit(value, " or ".join(self.union), path)
        return (exact or fitting)[0]


@cache
def _shape_of(kind: Any) -> _Shape:
    origin = get_origin(kind) or kind
    if origin not in (Union, UnionType):
        plain = (Literal, bool, int, float, complex, str, NoneType)
        made = origin in (tuple, list, dict) and origin is not kind
        if not (made or origin in plain or origin is np.ndarray or is_dataclass(origin)):
            msg = f"{kind} cannot be kept in a result; give a dataclass or a plain kind"
            raise TypeError(msg)
        return _Shape(kind, origin, {}, optional=False)
    members = [member for member in get_args(kind) if member is not NoneType]
    union: dict[str, Any] = {}
    for member in members:
        shape = _shape_of(member)
        # Arrays know themselves what they hold.
        if shape.label in union and shape.origin is not np.ndarray:
            msg = f"{kind} cannot be kept in a result: it has two kinds of {shape.label}"
            raise TypeError(msg)
        union[shape.label] = member
    return _Shape(kind, origin, union, optional=len(members) < len(get_args(kind)))


@cache
def _fields(kind: type) -> tuple[tuple[Field[Any], Any], ...]:
    """Fields that a dataclass is made of, with their annotations."""
    hints = get_type_hints(kind)
    return tuple((field, hints[field.name]) for field in fields(kind) if field.init)


def _unfit(value: Any, wanted: str, path: str) -> TypeError:
    return TypeError(f"{path} is {value!r:.60}, not {wanted}")
