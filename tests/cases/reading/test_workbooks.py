"""Tables from workbooks that another library wrote."""

import io
import zipfile

import openpyxl
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.soil_survey.readings import load_survey
from ohmscape.solver.errors import BudgetError, CaseError

HEADINGS = ["x [m]", "y [m]", "top_depth [ft]", "length [ft]", "diameter [in]"]
ROWS = [[0, 0, 0, 8, 0.625], [3.7, -4.3, 2, 10, 0.75]]


def workbook(*sheets):
    """A workbook with sheets, each a name and rows."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets:
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    return book


def saved(book):
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


@pytest.fixture
def load(case_with, tmp_path):
    def build(content, **more):
        data = content if isinstance(content, bytes) else saved(content)
        (tmp_path / "rods.xlsx").write_bytes(data)
        return case_with({"kind": "rod table", "file": "rods.xlsx", **more}, folder=tmp_path)

    return build


def refused(load, content, **more):
    with pytest.raises(CaseError) as caught:
        load(content, **more)
    return str(caught.value)


def test_rows_of_a_sheet_are_those_of_a_table(load):
    book = workbook(("rods", [["# driven in spring"], HEADINGS, *ROWS, [None] * 5]))
    c = load(book).conductors
    assert_allclose(c.start, [[0, 0, 0], [3.7, -4.3, -0.6096]], rtol=1e-15)
    assert_allclose(c.radius, [0.0079375, 0.009525], rtol=1e-15)


def test_of_several_sheets_one_is_named(load):
    book = workbook(("rods", [HEADINGS, *ROWS]), ("notes", [["a", "b"]]), ("empty", []))
    assert "has sheets 'rods', 'notes'; say which by 'sheet'" in refused(load, book)
    assert len(load(book, sheet="rods").conductors.start) == 2
    assert "no sheet 'rod'; did you mean 'rods'" in refused(load, book, sheet="rod")


def test_what_is_wrong_is_said_by_row(load):
    book = workbook(("rods", [HEADINGS, ROWS[0], [1, 2, 0, "long", 0.5]]))
    message = refused(load, book)
    assert "rods.xlsx:3" in message
    assert "length" in message


def test_cells_out_of_sight_are_refused_by_their_names(load):
    book = workbook(("rods", [HEADINGS, *ROWS]))
    book["rods"].merge_cells("A2:A3")
    book["rods"].column_dimensions["E"].hidden = True
    message = refused(load, book)
    assert "cells A2:A3 are merged" in message
    assert "cell E2 is hidden" in message
    book = workbook(("rods", [HEADINGS, *ROWS]))
    book["rods"].row_dimensions[3].hidden = True
    assert "cell A3 is hidden" in refused(load, book)


def test_formulas_count_by_their_values_and_without_one_are_refused(load):
    book = workbook(("rods", [HEADINGS, [0, 0, 0, "=4+4", 0.625]]))
    assert "cell D2 is a formula without a value" in refused(load, book)
    content = saved(book)
    # What a spreadsheet adds when it has worked the formula out.
    done = rewritten(content, "xl/worksheets/sheet1.xml", b"<v />", b"<v>8</v>")
    assert load(done).conductors.length[0] == pytest.approx(8 * 0.3048)


def rewritten(content, name, old, new):
    """A workbook with a piece of one of its files changed."""
    file = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as one, zipfile.ZipFile(file, "w") as other:
        for item in one.namelist():
            data = one.read(item)
            if item == name:
                assert old in data or b"<v></v>" in data
                data = data.replace(old, new).replace(b"<v></v>", new)
            other.writestr(item, data)
    return file.getvalue()


def test_errors_in_cells_are_refused(load):
    book = workbook(("rods", [HEADINGS, [0, 0, 0, "#DIV/0!", 0.625]]))
    assert "cell D2 holds the error #DIV/0!" in refused(load, book)


def with_file(content, name, data):
    file = io.BytesIO(content)
    with zipfile.ZipFile(file, "a", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr(name, data)
    return file.getvalue()


def test_macros_passwords_bombs_and_damage_are_refused(load):
    content = saved(workbook(("rods", [HEADINGS, *ROWS])))
    assert "holds macros" in refused(load, with_file(content, "xl/vbaProject.bin", b"x"))
    assert "needs a password" in refused(load, b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"0" * 600)
    assert "cannot be read as a workbook" in refused(load, content[:-200])
    with pytest.raises(BudgetError, match="unpacks to"):
        load(with_file(content, "xl/media/a.png", b"0" * 30_000_000))


def test_a_sheet_of_a_text_file_is_refused(case_with, tmp_path):
    (tmp_path / "list.csv").write_text("x [m],y [m]\n")
    with pytest.raises(CaseError, match="no sheet 'a' in a text file"):
        case_with({"kind": "rod table", "file": "list.csv", "sheet": "a"}, folder=tmp_path)


def test_surveys_come_from_workbooks_too(tmp_path):
    rows = [
        ["spacing [m]", "resistance [ohm]", "date"],
        [1, 12.5, "2026-05-02"],
        [2, 5.1, None],
    ]
    (tmp_path / "survey.xlsx").write_bytes(saved(workbook(("May", rows))))
    readings = load_survey(tmp_path / "survey.xlsx")
    assert len(readings.survey) == 2
    assert readings.survey.traverses[0].date == "2026-05-02"


def test_a_survey_is_read_from_the_sheet_that_is_asked_for(tmp_path):
    rows = [["spacing [m]", "resistance [ohm]"], [1, 21.0], [2, 9.5], [4, 4.1]]
    book = workbook(("north", rows), ("south", [rows[0], *([a, 2 * r] for a, r in rows[1:])]))
    (tmp_path / "survey.xlsx").write_bytes(saved(book))
    path = tmp_path / "survey.xlsx"
    north, south = (load_survey(path, sheet=each).survey for each in ("north", "south"))
    assert_allclose(south.resistance, 2 * north.resistance)
    with pytest.raises(CaseError, match=r"north.*south"):
        load_survey(path)
    with pytest.raises(CaseError, match="'east'"):
        load_survey(path, sheet="east")
