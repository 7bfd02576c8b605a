"""Tables of differences: what a row makes of a template, and what is said of bad ones."""

from datetime import date

import openpyxl
import pytest

from ohmscape.cases.family.columns import column_of
from ohmscape.cases.family.reading import (
    read_family,
    row_case,
    row_case_text,
    row_sha256,
    template_document,
)
from ohmscape.cases.loading import load_case, load_case_text
from ohmscape.cases.reading.yaml_reader import read_document
from ohmscape.solver.errors import CaseError

TEMPLATE = """\
ohmscape: 1
title: A rod on many plots   # kept
soil: {layers: [{resistivity: 120 ohm*m, thickness: 2 m}, {resistivity: 70 ohm*m}]}
variants:
  - {name: dry, soil: {layers: [{resistivity: 300 ohm*m}]}}
electrodes:
  - name: plot earth
    drive: {current: 60 A}
    parts:
      - {kind: rod, name: rod, at: [0 m, 0 m], top_depth: 0 m, length: 1.5 m, diameter: 16 mm}
study: {area: {margin: 2 m}, pace: 1 m}
numerics: {order: 2}
"""
RHO = "soil.layers[1].resistivity [ohm*m]"
LENGTH = "electrodes[plot earth].parts[rod].length [ft]"
DRY = "variants[dry].soil.layers[1].resistivity [ohm*m]"


@pytest.fixture
def family(tmp_path):
    """Family of the template and of a table with these lines."""

    def build(*lines, template=TEMPLATE):
        (tmp_path / "plots.yaml").write_text(template, encoding="utf-8")
        (tmp_path / "plots.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
        return read_family(tmp_path / "plots.yaml", tmp_path / "plots.csv")

    return build


def said(family, row=0):
    """What is wrong with a row."""
    with pytest.raises(CaseError) as caught:
        row_case(family.template, family.rows[row])
    return [str(problem) for problem in caught.value.problems]


def test_a_row_puts_its_values_in_place_and_leaves_the_rest(family):
    found = family(
        f"name,{RHO},{LENGTH},{DRY},numerics.order",
        "mill,45.5,8,410,1",
        "ford,60,10,as template,2",
    )
    case = row_case(found.template, found.rows[0])
    assert case.soil.resistivity == (45.5, 70.0)
    assert case.conductors.length.sum() == pytest.approx(8 * 0.3048, rel=1e-12)
    assert case.variants[0].soil.resistivity == (410.0,)
    assert case.numerics.order == 1
    other = row_case(found.template, found.rows[1])
    assert other.variants[0].soil.resistivity == (300.0,)
    assert [row.name for row in found.rows] == ["mill", "ford"]


def test_cells_are_what_a_case_file_would_have():
    document = read_document(TEMPLATE, file="")
    column = column_of("electrodes[1].parts[1].diameter", template=document)
    assert column.value("4/0 AWG") == "4/0 AWG"
    assert column.value("3") == 3
    assert column.value("0.5") == 0.5
    assert column.value("true") is True
    points = column_of("electrodes[1].parts[1].at", template=document)
    assert points.value("[1 m, 2 m]") == ["1 m", "2 m"]


def test_all_wrong_headings_are_said_at_once(family):
    with pytest.raises(CaseError) as caught:
        family(
            f"name,soil.layrs[1].resistivity [ohm*m],{RHO},soil.layers[1].thickness [kg],note",
            "a,1,2,3,4",
        )
    found = [str(problem) for problem in caught.value.problems]
    assert len(found) == 3
    assert all(text.startswith("plots.csv:1: heading ") for text in found)
    assert "there are 'layers'" in found[0]
    assert "'kg' is no unit of length" in found[1]
    assert "no block that may be changed 'note'" in found[2]
    assert "or begin with 'note: ' what is only carried along" in found[2]


@pytest.mark.parametrize(
    ("headings", "text"),
    [
        (f"{RHO},soil [ohm*m]", "sets what"),
        (f"{RHO},east [m]", "east and north go together"),
        (f"{RHO},latitude [m],longitude [deg]", "write 'latitude \\[deg\\]'"),
        ("name,note: feeder", "no heading is a place"),
        (f"name,{RHO.replace('[1]', '[3]')}", "entry 3 of a list of 2"),
        (f"name,{RHO},numerics.order [m]", "has no unit in the template"),
        (f"name,{RHO},electrodes[1].parts[1].diameter [AWG]", "cannot be in AWG"),
        (f"name,{RHO},title", "no block that may be changed 'title'"),
        (f"name,{RHO},soil..layers", "is no place of a case"),
    ],
)
def test_headings_that_are_no_places_are_refused(family, headings, text):
    with pytest.raises(CaseError, match=text):
        family(headings, ",".join("1" * len(headings.split(","))))


def test_a_bad_row_costs_that_row_only_and_says_all_that_is_wrong(family):
    found = family(
        f"name,{RHO},{LENGTH}", "good,45,8", "twice bad,-45,0", "words,many,8", "short,1",
        "good,50,8", ",50,8", "empty,,8", "last,90,8",
    )  # fmt: skip
    names = [item.row.name for item in found.bad]
    assert names == ["row 4", "good", ""]
    assert "2 cells, the headings name 3" in found.bad[0].problems[0].message
    assert "is the name of line 2 too" in str(found.bad[1].problems[0])
    assert [row.name for row in found.rows] == ["good", "twice bad", "words", "empty", "last"]
    row_case(found.template, found.rows[0])
    row_case(found.template, found.rows[4])
    both = said(found, 1)
    assert [text.split(": ")[:2] for text in both] == [
        ["plots.csv:3", RHO],
        ["plots.csv:3", LENGTH],
    ]
    assert "'-45 ohm*m'" in both[0]
    assert said(found, 2) == [
        f"plots.csv:4: {RHO}: 'many' is not a plain number; its unit stands in the heading"
    ]
    assert "is empty; write a value, or 'as template'" in said(found, 3)[0]


def test_what_only_goes_wrong_together_is_said_at_its_place_and_line(family):
    found = family(f"name,{LENGTH},soil.layers[1].thickness [m]", "deep,4000,2")
    (text,) = said(found)
    assert text.startswith("plots.csv:2: ")
    assert "1,000" in text or "1000" in text


def test_rows_of_the_same_case_have_one_hash_and_others_another(family):
    found = family(f"name,{RHO}", "a,45", "b,45", "c,46")
    one, two, three = (row_sha256(found.template, row) for row in found.rows)
    assert one == two != three


def test_the_text_of_a_row_is_the_same_case_with_the_comments(family):
    found = family(f"name,{RHO},{LENGTH},{DRY}", "mill,45.5,8,410")
    row = found.rows[0]
    text = row_case_text(found.template, row, heading=["Row 1, mill"])
    assert text.startswith("# Row 1, mill\n")
    assert "A rod on many plots   # kept" in text
    alone, laid = load_case_text(text), row_case(found.template, row)
    assert alone.document.content == laid.document.content
    assert alone.soil == laid.soil
    assert (alone.conductors.start == laid.conductors.start).all()


def test_a_workbook_says_what_the_same_text_says(family, tmp_path):
    text = family(f"name,{RHO},{LENGTH},note: when", "mill,45.5,8,2026-05-12", "ford,60,10,")
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "plots"
    sheet.append(["# surveyed by hand"])
    sheet.append(["name", RHO, LENGTH, "note: when"])
    sheet.append(["mill", 45.5, 8, date(2026, 5, 12)])
    sheet.append(["ford", 60, "10"])
    book.create_sheet("nothing")
    book.save(tmp_path / "plots.xlsx")
    found = read_family(tmp_path / "plots.yaml", tmp_path / "plots.xlsx")
    assert [row.cells for row in found.rows] == [row.cells for row in text.rows]
    hashes = [[row_sha256(one.template, row) for row in one.rows] for one in (text, found)]
    assert hashes[0] == hashes[1]
    book.create_sheet("more").append(["name", RHO])
    book.save(tmp_path / "plots.xlsx")
    with pytest.raises(CaseError, match="has sheets 'plots', 'more'; say which"):
        read_family(tmp_path / "plots.yaml", tmp_path / "plots.xlsx")
    both = read_family(tmp_path / "plots.yaml", tmp_path / "plots.xlsx", sheet="plots")
    assert len(both.rows) == 2


def test_what_is_no_workbook_is_refused(family, tmp_path):
    family(f"name,{RHO}", "mill,45.5")
    (tmp_path / "plots.xlsx").write_bytes(b"PK\x03\x04 nothing of the kind")
    with pytest.raises(CaseError, match="cannot be read as a workbook"):
        read_family(tmp_path / "plots.yaml", tmp_path / "plots.xlsx")


def test_decimal_commas_between_semicolons_are_numbers(family):
    found = family(f"name;{RHO};{LENGTH}", "mill;45,5;8", "ford;60,25;10")
    assert row_case(found.template, found.rows[0]).soil.resistivity[0] == 45.5


def test_coordinates_and_notes_are_carried_along(family):
    found = family(f"name,east [m],north [m],note: feeder,{RHO}", "mill,3500,-20.5,F1,45",
                   "ford,far,0,F2,60")  # fmt: skip
    assert found.coordinates == "plan"
    assert found.place(found.rows[0]) == (3500.0, -20.5)
    assert found.own(found.rows[0])["feeder"] == "F1"
    assert "'far' is not a plain number" in str(found.bad[0].problems[0])


def test_readings_and_choices_of_the_template_are_no_part_of_rows(tmp_path):
    (tmp_path / "sites.csv").write_text(f"name,{RHO}\na,150\nb,210\n", encoding="utf-8")
    found = read_family("pad-to-size", tmp_path / "sites.csv")
    case = row_case(found.template, found.rows[0])
    assert case.design is None
    assert load_case("pad-to-size").design is not None
    assert "design" in template_document(found.template).content


def test_the_shipped_family_is_forty_good_rows():
    found = read_family("forty-pads", "forty-pads")
    assert not found.bad
    assert len(found.rows) == 40
    for row in found.rows:
        assert len(row_case(found.template, row).variants) == 2
    assert found.coordinates == "geographic"
