"""Separators and decimal marks as spreadsheets write them: recognised or refused."""

import pytest

from ohmscape.cases.reading.table_marks import table_lines
from ohmscape.solver.errors import CaseError


def cells(text):
    return [line.cells for line in table_lines(text, file="yard.csv")[1:]]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a [m],resistance [ohm]\n1.5,20.25\n", ("1.5", "20.25")),
        ("a [m];resistance [ohm]\n1,5;20,25\n", ("1.5", "20.25")),
        ("a [m]\tresistance [ohm]\n1,5\t20,25\n", ("1.5", "20.25")),
        ("a [m];resistance [ohm]\n1.5;20.25\n", ("1.5", "20.25")),
        # 0,5 shows that the comma is decimal, so 1,500 is one and a half.
        ("a [m];resistance [ohm]\n0,5;1,500\n", ("0.5", "1.500")),
        ("a [m];resistance [ohm]\n2;35\n", ("2", "35")),
    ],
)
def test_separator_and_decimal_mark_are_recognised(text, expected):
    assert cells(text) == [expected]


def test_dates_and_notes_keep_their_commas_and_points():
    text = "a [m];resistance [ohm];date;note\n1,5;20,25;04.05.2026;dry, 31.5 °C\n"
    assert cells(text) == [("1.5", "20.25", "04.05.2026", "dry, 31.5 °C")]


def test_comments_and_empty_lines_keep_the_count_of_lines():
    text = '# site\n"# quoted, by a spreadsheet"\n\na [m],resistance [ohm]\n;;\n,\n1,2\n'
    (line,) = table_lines(text, file="yard.csv")[1:]
    assert (line.number, line.cells) == (7, ("1", "2"))


def test_quoted_cells_may_hold_the_separator():
    text = 'note,a [m]\n"wet, by the ditch",3\n'
    assert cells(text) == [("wet, by the ditch", "3")]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("a [m];resistance [ohm]\n1,500;2,250\n", r"yard.csv:2: '1,500': it cannot be told"),
        (
            "a [m];resistance [ohm]\n1.500;2.250\n",
            r"it cannot be told whether '\.' is a decimal",
        ),
        ("a [m];resistance [ohm]\n1,5;2.25\n", r"'1,5' has a comma, '2.25' on line 2 a point"),
        ('a [m],resistance [ohm]\n"1,5",2\n', r"'1,5' holds a comma where commas separate"),
        ("a [m];b [m],c [m]\n1;2;3\n", r"semicolons and commas stand between the headings"),
        ("resistance [ohm]\n3\n", r"is one heading; a table needs two or more"),
        ("# nothing\n\n", r"holds no headings and no readings"),
        ('a [m],note\n1,"open\n', r"yard.csv:2: cannot be split into cells"),
    ],
)
def test_what_cannot_be_told_is_refused(text, message):
    with pytest.raises(CaseError, match=message):
        table_lines(text, file="yard.csv")
