"""A result as a workbook, read again by the library for them."""

from dataclasses import replace

import openpyxl
import pytest

from ohmscape.viz.exports.workbook import write_workbook


@pytest.fixture(scope="module")
def book(result, tmp_path_factory):
    return openpyxl.load_workbook(write_workbook(result, tmp_path_factory.mktemp("book")))


def columns(sheet):
    """Values of the first row by heading."""
    return {head.value: cell.value for head, cell in zip(sheet[1], sheet[2], strict=True)}


def test_the_verdict_comes_first_and_what_to_mind_is_there(book):
    assert book.sheetnames[0] == "verdict"
    assert {"worst", "electrodes", "parts", "summary", "about"} <= set(book.sheetnames)
    about = "\n".join(str(row[0].value) for row in book["about"])
    assert "licensed practice" in about
    assert "Never energise" in about
    for name in book.sheetnames[:-2]:
        assert book[name].freeze_panes == "B2"


def test_numbers_are_numbers_and_lengths_are_those_the_case_prints(result, book):
    worst = columns(book["worst"])
    first = result.worst[0]
    assert worst["voltage [V]"] == pytest.approx(first.voltage, rel=1e-8)
    # The case prints feet.
    assert worst["foot x [ft]"] == pytest.approx(first.foot[0] / 0.3048, rel=1e-7, abs=1e-8)
    assert not any("[m]" in str(cell.value) for sheet in book for cell in sheet[1])


def test_every_row_of_the_tables_is_there(result, book):
    judged = {item.name for item in result.verdict.judgements if item.worst is not None}
    rows = {row[0].value for row in book["verdict"].iter_rows(min_row=2) if row[1].value}
    assert judged <= rows


def test_what_a_spreadsheet_would_run_is_text(tmp_path, result):
    odd = replace(result, title="=1+1")
    book = openpyxl.load_workbook(write_workbook(odd, tmp_path))
    cells = [cell for sheet in book for row in sheet for cell in row]
    assert all(cell.data_type != "f" for cell in cells)
