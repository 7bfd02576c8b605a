"""The JSON Schema says to editors what the loader says to users."""

import json

import pytest

from ohmscape.cases.documents import read_document
from ohmscape.cases.schema import case_file_schema
from ohmscape.cases.shipped import shipped_case_path, shipped_cases
from ohmscape.cases.starter import starter_case
from ohmscape.errors import CaseError

SCHEMA = case_file_schema()
TYPES = {
    "object": dict,
    "array": list,
    "string": str,
    "integer": int,
    "number": (int, float),
    "boolean": bool,
}


def faults(value, schema, place="case"):
    """What is wrong with a value, by the few words of JSON Schema that ours uses."""
    known = {"$schema", "$ref", "$defs", "title", "description", "examples", "default"} | {
        *("type", "const", "enum", "properties", "required", "additionalProperties"),
        *("items", "prefixItems", "minItems", "maxItems", "minLength", "maxLength"),
        *("minimum", "maximum", "oneOf", "allOf", "not", "discriminator"),
    }
    assert set(schema) <= known, f"{place}: this check does not know {set(schema) - known}"
    found = []
    if "$ref" in schema:
        found += faults(value, SCHEMA["$defs"][schema["$ref"].rsplit("/", 1)[1]], place)
    if "type" in schema and not isinstance(value, TYPES[schema["type"]]):
        return [f"{place}: {value!r} is no {schema['type']}"]
    if value not in schema.get("enum", [value]) or value != schema.get("const", value):
        found.append(f"{place}: {value!r} is not allowed")
    if isinstance(value, str):
        if not schema.get("minLength", 0) <= len(value) <= schema.get("maxLength", 10**9):
            found.append(f"{place}: {len(value)} characters")
    elif isinstance(value, int | float):
        if not schema.get("minimum", value) <= value <= schema.get("maximum", value):
            found.append(f"{place}: {value} is out of bounds")
    elif isinstance(value, dict):
        keys = schema.get("properties", {})
        needed = schema.get("required", ())
        found += [f"{place}: {k} is missing" for k in needed if k not in value]
        if schema.get("additionalProperties") is False:
            found += [f"{place}: {k} is not known" for k in value if k not in keys]
        for key in value.keys() & keys.keys():
            found += faults(value[key], keys[key], f"{place}.{key}")
    elif isinstance(value, list):
        if not schema.get("minItems", 0) <= len(value) <= schema.get("maxItems", 10**9):
            found.append(f"{place}: {len(value)} items")
        each = schema.get("prefixItems", [schema.get("items", {})] * len(value))
        for number, (item, inner) in enumerate(zip(value, each, strict=False)):
            found += faults(item, inner, f"{place}[{number}]")
    for rule in schema.get("allOf", ()):
        found += faults(value, rule, place)
    if "oneOf" in schema:
        fits = [choice for choice in schema["oneOf"] if not faults(value, choice, place)]
        if len(fits) != 1:
            found.append(f"{place}: {len(fits)} of the choices fit")
    if "not" in schema and not faults(value, schema["not"], place):
        found.append(f"{place}: must not fit")
    return found


@pytest.mark.parametrize("name", shipped_cases())
def test_shipped_cases_fit(name):
    text = shipped_case_path(name).read_text(encoding="utf-8")
    assert faults(read_document(text).content, SCHEMA) == []


def test_the_starter_fits():
    assert faults(read_document(starter_case()).content, SCHEMA) == []


@pytest.mark.parametrize(
    "change",
    [
        {"titel": "x"},
        {"title": ""},
        {"ohmscape": 2},
        {"units": "metric"},
        {"electrodes": []},
        {"soil": {"layers": [{"resistivity": 120}]}},
        {"numerics": {"order": 3}},
        {"numerics": {"fineness": 2, "element_size": "1 m"}},
        {"study": {"area": {"spacing": "1 m"}}},
        {"study": {"touch": [{"name": "x", "electrode": "main"}]}},
        {"bonds": [{"name": "x", "between": ["main"], "closed": True}]},
    ],
)
def test_what_the_loader_refuses_does_not_fit(change, case_with, content):
    assert faults(content(), SCHEMA) == []
    assert faults(content(**change), SCHEMA) != []
    with pytest.raises(CaseError):
        case_with(**change)


@pytest.mark.parametrize(
    "change",
    [
        {"kind": "rodd"},
        {"strip": ["30 mm", "3 mm"]},
        {"at": ["0 m"]},
        {"at": ["0 m", "0 m", "0 m"]},
        {"at": [0, 0]},
        {"width": "1 m"},
    ],
)
def test_parts_are_told_apart_by_kind(change, content, rod):
    assert faults(content(rod | change), SCHEMA) != []


def test_every_key_is_described():
    bare = [
        f"{block['title']}.{key}"
        for block in [SCHEMA, *SCHEMA["$defs"].values()]
        for key, entry in block["properties"].items()
        if "description" not in entry and key != "kind"
    ]
    assert bare == []


def test_it_is_plain_json_of_a_named_dialect():
    assert json.loads(json.dumps(SCHEMA)) == SCHEMA
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
