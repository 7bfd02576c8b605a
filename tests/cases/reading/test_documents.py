"""Values of a case and the lines they stand on, however they came."""

import pytest

from ohmscape.cases.reading.documents import Document, decoded, plain_document
from ohmscape.cases.reading.yaml_reader import read_document
from ohmscape.solver.errors import BudgetError, CaseError


def test_a_problem_names_the_users_own_things_and_the_nearest_line():
    text = "electrodes:\n- name: yard\n  parts:\n  - kind: rod\n    name: north rod\n"
    document = read_document(text, file="yard.yaml")
    problem = document.problem("is missing", path=("electrodes", 0, "parts", 0, "length"))
    assert str(problem) == (
        "yard.yaml:4: electrodes[1] 'yard'.parts[1] 'north rod'.length: is missing"
    )


def test_the_place_of_what_does_not_exist_can_still_be_written():
    assert Document({}).place(("a", 3, "b")) == "a[4].b"


def test_values_from_python_are_copied():
    given = {"a": [1, (2.5, "x")], "b": {"c": True}}
    document = plain_document(given)
    assert document.content == {"a": [1, [2.5, "x"]], "b": {"c": True}}
    given["a"].append(3)
    assert len(document.content["a"]) == 2


def test_values_from_python_are_held_to_the_same_limits():
    deep: list = []
    for _ in range(30):
        deep = [deep]
    with pytest.raises(BudgetError, match="20 levels"):
        plain_document({"a": deep})
    loop: dict = {}
    loop["again"] = loop
    with pytest.raises(BudgetError, match="20 levels"):
        plain_document(loop)
    with pytest.raises(CaseError, match="object in a case"):
        plain_document({"a": object()})
    with pytest.raises(CaseError, match="more than 30 digits"):
        plain_document({"a": -(10**5000)})
    for content in ({"a": "\ud800"}, {"\ud800": 1}):
        with pytest.raises(CaseError, match="half of a character"):
            plain_document(content)


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"PK\x03\x04 and more", "a.csv: is a workbook, .*; save the sheet as CSV"),
        (bytes.fromhex("d0cf11e0a1b11ae1") + b"more", "a.csv: is a workbook"),
        ("x [m];y [m]".encode("utf-16"), "a.csv: is UTF-16 text; save it as UTF-8"),
        ("x [m];y [m]".encode("utf-16-le"), "a.csv: is UTF-16 text"),
        ("x [m];y [m]".encode("utf-16-be"), "a.csv: is UTF-16 text"),
        ("x\ny: °".encode("latin-1"), "a.csv:2: is not UTF-8 text"),
    ],
)
def test_files_that_are_no_text_are_told_by_what_they_are(content, why):
    with pytest.raises(CaseError, match=why):
        decoded(content, file="a.csv")
