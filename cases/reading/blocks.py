"""What every block of a case file has in common: known keys only, choices, frozen."""

import ast
from inspect import cleandoc, getsource
from itertools import combinations, pairwise
from textwrap import dedent
from typing import Any, ClassVar, Self

from pydantic import (
    BaseModel,
    ConfigDict,
    ModelWrapValidatorHandler,
    ValidationError,
    model_validator,
)
from pydantic_core import InitErrorDetails, PydanticCustomError

from .messages import did_you_mean

OWN_WORDS = "case"  # type of the errors that carry a message of ours


def own_error(message: str) -> PydanticCustomError:
    """Pydantic error that carries our own message."""
    return PydanticCustomError(OWN_WORDS, "{text}", {"text": message})


def _told(model: type[BaseModel]) -> dict[str, str]:
    """What stands below each key in the code of a block.

    pydantic would look it up whenever a case is read, a third of the time to load all blocks.
    """
    found = {}
    for block in reversed(model.__mro__[: model.__mro__.index(BaseModel)]):
        (lines,) = ast.parse(dedent(getsource(block))).body
        assert isinstance(lines, ast.ClassDef)
        for field, text in pairwise(lines.body):
            match field, text:
                case (
                    ast.AnnAssign(target=ast.Name(id=name)),
                    ast.Expr(value=ast.Constant(value=str(words))),
                ) if name in model.model_fields:
                    found[model.model_fields[name].alias or name] = cleandoc(words)
    return found


def _as_written(schema: dict[str, Any], model: type[BaseModel]) -> None:
    """Turn the schema of a block into what a file may hold: no nulls, choices spelled out."""
    by_key = {field.alias or name: field for name, field in model.model_fields.items()}
    told = _told(model)
    for name, entry in schema.get("properties", {}).items():
        entry.pop("title", None)
        if name in told:
            entry["description"] = told[name]
        kinds = [kind for kind in entry.get("anyOf", []) if kind != {"type": "null"}]
        if len(kinds) == 1 and "anyOf" in entry:
            del entry["anyOf"]
            if entry.get("default", 0) is None:
                del entry["default"]
            # The key's own description says more than the kind's.
            schema["properties"][name] = {**kinds[0], **entry}
        if isinstance(by_key[name].default, float | BaseModel):
            # SI floats and whole blocks are not what a user would write.
            schema["properties"][name].pop("default", None)
    if issubclass(model, Block):
        rules: list[dict[str, Any]] = [
            {"oneOf": [{"required": [key]} for key in keys]} for keys in model.exactly_one
        ]
        rules += [
            {"not": {"required": list(pair)}}
            for keys in model.at_most_one
            for pair in combinations(keys, 2)
        ]
        if rules:
            schema["allOf"] = rules


class Block(BaseModel):
    """A mapping of a case file: unknown keys refused, choices checked, all at once."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        defer_build=True,  # each block is part of the case, which is built once and whole
        json_schema_extra=_as_written,
    )

    exactly_one: ClassVar[tuple[tuple[str, ...], ...]] = ()
    at_most_one: ClassVar[tuple[tuple[str, ...], ...]] = ()

    @model_validator(mode="wrap")
    @classmethod
    def _with_keys_checked(cls, data: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        """Report wrong keys and choices beside, not before, what is wrong with the values."""
        if not isinstance(data, dict):
            return handler(data)
        problems = [
            InitErrorDetails(type=own_error(message), loc=loc, input=None)
            for loc, message in cls._key_problems(data)
        ]
        allowed = cls._keys()
        try:
            block = handler({k: v for k, v in data.items() if k in allowed and v is not None})
        except ValidationError as error:
            problems += [_again(dict(found)) for found in error.errors(include_url=False)]
        if problems:
            raise ValidationError.from_exception_data(cls.__name__, problems)
        return block

    @classmethod
    def _keys(cls) -> list[str]:
        return [field.alias or name for name, field in cls.model_fields.items()]

    @classmethod
    def _key_problems(cls, data: dict[Any, Any]) -> list[tuple[tuple[str, ...], str]]:
        allowed = cls._keys()
        found: list[tuple[tuple[str, ...], str]] = []
        for key in data:
            if key not in allowed:
                hint = did_you_mean(str(key), allowed)
                found.append(((str(key),), f"unknown key; {hint}allowed: {', '.join(allowed)}"))
            elif data[key] is None:
                found.append(((key,), "is empty; give a value or leave the key out"))
        for wanted, least in [(c, 1) for c in cls.exactly_one] + [
            (c, 0) for c in cls.at_most_one
        ]:
            given = [key for key in wanted if data.get(key) is not None]
            if not least <= len(given) <= 1:
                amount = "exactly" if least else "at most"
                got = " and ".join(given) or "none"
                found.append(((), f"give {amount} one of {', '.join(wanted)}; got {got}"))
        return found


def _again(found: dict[str, Any]) -> InitErrorDetails:
    """Error of an inner block, in the form in which it can be raised again."""
    kind = found["type"]
    if kind == OWN_WORDS:
        kind = own_error(found["ctx"]["text"])
    details = InitErrorDetails(type=kind, loc=found["loc"], input=found["input"])
    if "ctx" in found and found["type"] != OWN_WORDS:
        details["ctx"] = found["ctx"]
    return details
