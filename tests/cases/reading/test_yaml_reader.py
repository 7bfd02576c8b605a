"""Text of a case file: what comes out of it, and what is refused where it starts."""

import pytest

from ohmscape.cases.reading.yaml_reader import read_document
from ohmscape.solver.errors import BudgetError, CaseError


def test_plain_values_come_out_with_the_lines_they_stand_on():
    document = read_document("a: 1\nb:\n  - x: 2.5\n    y: [true, text]\nc:\n")
    assert document.content == {"a": 1, "b": [{"x": 2.5, "y": [True, "text"]}], "c": None}
    assert document.lines[("a",)] == 1
    assert document.lines[("b", 0, "y")] == 4
    assert document.lines[("b", 0, "y", 1)] == 4
    assert document.lines[("c",)] == 5


def test_words_that_older_yaml_turned_into_something_else_stay_text():
    document = read_document("a: on\nb: 12:30\nc: 1_000\nd: .inf\ne: 0o17\nf: 2020-01-01\n")
    assert list(document.content.values()) == [
        "on",
        "12:30",
        "1_000",
        ".inf",
        "0o17",
        "2020-01-01",
    ]


def test_quoted_numbers_are_text_and_a_number_too_long_for_one_is_text():
    document = read_document("a: '1'\nb: " + "9" * 5000 + "\nc: 1e5\n")
    assert document.content == {"a": "1", "b": "9" * 5000, "c": 100000.0}


def test_a_byte_order_mark_is_no_part_of_the_text():
    assert read_document("\ufeffa: 1").content == {"a": 1}


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (
            "a: 1\nb: {c: 1, c: 2}\n",
            r"^case:2: b\.c: key 'c' stands twice; the first is on line 2",
        ),
        ("a: &x [1]\n", "^case:1: anchor '&x'"),
        ("a: 1\nb: *x\n", r"^case:2: alias '\*x'"),
        ("a: !!python/object/apply:os.system [ls]\n", "^case:1: tag 'tag:yaml.org,2002:python"),
        ("a: !!float 1\n", "^case:1: tag"),
        ("a: 1\n---\nb: 2\n", "^case:2: a second document"),
        ("[1]: 2\n", "^case:1: a key must be plain text"),
        ("? {a: 1}\n: 2\n", "^case:1: a key must be plain text"),
        ("a: b: c\n", "^case:1: is not YAML"),
        ("title: Yard: first\n", "^case:1: is not YAML: .*a colon and a blank in quotes"),
        ("\ta: 1\n", "^case:1: is not YAML"),
        ("title:\tYard\n", "^case:1: is not YAML: .*write blanks for the tab"),
        ("a: [1\n", "is not YAML"),
        ("a: \x00\n", "is not YAML"),
        ('a: 1\nb: ["\\U00110000"]\n', "^case:2: is not YAML: an escape here is beyond all"),
        ('a: 1\nb: "\\UFFFFFFFF"\n', "^case:2: is not YAML: an escape here is beyond all"),
        ('a: 1\nb: "\\uD800"\n', "^case:2: half of a character"),
        ('a: 1\n"\\uDFFF": 1\n', "^case:2: half of a character"),
        ("a: \ud800\n", "^case: holds half of a character"),
        ("", "^case:1: a case file is a mapping"),
        ("- 1\n", "^case:1: a case file is a mapping"),
        ("just words\n", "^case:1: a case file is a mapping"),
    ],
)
def test_what_a_case_file_cannot_hold_is_refused_with_its_line(text, why):
    with pytest.raises(CaseError, match=why):
        read_document(text, file="case")


def test_all_repeated_keys_are_reported_at_once():
    with pytest.raises(CaseError) as caught:
        read_document("a: 1\na: 2\nb: 3\nb: 4\n")
    assert [problem.line for problem in caught.value.problems] == [2, 4]


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("a: " + "[" * 100_000, "deeper than 20 levels"),
        ("a:\n" + "".join(f"{' ' * n}a:\n" for n in range(1, 400)), "deeper than 20 levels"),
        ("- " * 100_000, "deeper than 20 levels"),
        ("a: [" + "1," * 61_000 + "]", "more than 60,000 values"),
        ("a" * 300_000, "300,000 characters; a case file has at most 250,000"),
    ],
    ids=["brackets", "blocks", "dashes", "values", "length"],
)
def test_a_file_made_to_exhaust_memory_is_refused_with_the_numbers(text, why):
    with pytest.raises(BudgetError, match=why):
        read_document(text)


def test_an_alias_bomb_is_refused_at_its_first_anchor():
    lines = ["a0: &a0 [x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 30)]
    with pytest.raises(CaseError, match="anchor '&a0'"):
        read_document("\n".join(lines))
