"""The JSON Schema says to editors what the loader says to users."""

import json

import jsonschema
import pytest

from ohmscape.cases.reading.yaml_reader import read_document
from ohmscape.cases.schema import case_file_schema
from ohmscape.cases.shipped import shipped_case_path, shipped_cases
from ohmscape.cases.starter import starter_case
from ohmscape.solver.errors import CaseError

SCHEMA = case_file_schema()


def faults(value):
    """What a validator of the open standard finds wrong with a case."""
    checker = jsonschema.Draft202012Validator(SCHEMA)
    return [f"{fault.json_path}: {fault.message}" for fault in checker.iter_errors(value)]


@pytest.mark.parametrize("name", shipped_cases())
def test_shipped_cases_fit(name):
    text = shipped_case_path(name).read_text(encoding="utf-8")
    assert faults(read_document(text).content) == []


def test_the_starter_fits():
    assert faults(read_document(starter_case()).content) == []


@pytest.mark.parametrize(
    "change",
    [
        {"titel": "x"},
        {"title": ""},
        {"ohmscape": 2},
        {"units": "metric"},
        {"electrodes": []},
        {"soil": {"layers": [{"resistivity": 120}]}},
        {"soil": {"layers": [{"resistivity": "abc"}]}},
        {"soil": {"layers": [{"resistivity": "60 m"}]}},
        {"soil": {"layers": [{"resistivity": "60 ohm"}]}},
        {"north": "15 percent"},
        {"study": {"area": {"margin": "6"}}},
        {"study": {"area": {"corner": ["0 m", "0 V"], "size": ["1 m", "1 m"]}}},
        {"numerics": {"order": 3}},
        {"numerics": {"fineness": 2, "element_size": "1 m"}},
        {"study": {"area": {"spacing": "1 m"}}},
        {"study": {"touch": [{"name": "x", "electrode": "main"}]}},
        {"bonds": [{"name": "x", "between": ["main"], "closed": True}]},
    ],
)
def test_what_the_loader_refuses_does_not_fit(change, case_with, content):
    assert faults(content()) == []
    assert faults(content(**change)) != []
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
    assert faults(content(rod | change)) != []


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
    assert SCHEMA["$id"] == "urn:ohmscape:case:1"


def test_the_starter_names_the_schema_in_its_first_line():
    first, _, _, _ = starter_case().splitlines()[:4]
    assert first == "# yaml-language-server: $schema=ohmscape-schema.json"
