"""Cells that a spreadsheet would run are shown instead; numbers stay what they are."""

import csv

import pytest

from ohmscape.viz.tables.csv_files import harmless, write_table

_hostile = ["=cmd|' /C calc'!A0", "@SUM(1)", "-2+3+cmd|' /C calc'!A0", "+1-1", "＝1", "-yard"]


@pytest.mark.parametrize("text", _hostile)
def test_text_that_begins_like_a_formula_is_shown(text):
    assert harmless(text) == f"'{text}"
    # In some countries cells are split at semicolons, whatever else stands in them.
    for before in ("Yard,", "Yard; ", "Yard\t"):
        assert harmless(before + text) == f"{before}'{text}"


@pytest.mark.parametrize("text", ["-3.5e-3", "+1", "-.5", "a,-3,+2", "rod-a", "a=b", "−3 V"])
def test_numbers_and_all_other_text_stay_as_they_are(text):
    assert harmless(text) == text


def test_a_place_off_nought_by_round_off_is_nought(tmp_path):
    header = ["x [m]", "voltage [V]"]
    rows = [(-2.76e-16, 1.2e-16), (2e-9, -3.0), (float("nan"), float("nan"))]
    lines = write_table(tmp_path / "a.csv", notes=[], header=header, rows=rows).read_text()
    assert lines.splitlines()[1:] == ["0,1.2e-16", "2e-09,-3", ","]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_no_cell_of_a_table_begins_like_a_formula(tmp_path, separator):
    path = write_table(
        tmp_path / "a.csv",
        notes=[f"Yard,{text}" for text in _hostile] + _hostile,
        header=["name", *_hostile],
        rows=[[text, *([-1.5] * len(_hostile))] for text in _hostile],
    )
    lines = path.read_text("utf-8").splitlines()
    for cells in csv.reader(lines, delimiter=separator):
        assert not [c for c in cells if c.strip()[:1] in "=@+-＝" and c.strip()[1:4] != "1.5"]
    rows = list(csv.reader(line for line in lines if not line.startswith("#")))
    assert [float(cell) for cell in rows[1][1:]] == [-1.5] * len(_hostile)
