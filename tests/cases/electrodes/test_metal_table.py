"""Rods and conductors from comma-separated tables."""

import hashlib

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.reading.size_limits import LARGEST_TABLE, MOST_PIECES
from ohmscape.solver.errors import BudgetError, CaseError

RODS = (
    "x [m],y [m],top_depth [ft],length [ft],diameter [in]\n0,0,0,8,0.625\n3.7,-4.3,2,10,0.75\n"
)
WIRES = (
    "x1 [m],y1 [m],depth1 [m],x2 [m],y2 [m],depth2 [m],diameter [mm]\n"
    "0,0,0.5,5,0,0.5,8\n5,0,0.5,5,4,0.8,10\n"
)


@pytest.fixture
def load(case_with, tmp_path):
    def build(text, *, kind="rod table", file="list.csv", **more):
        (tmp_path / "list.csv").write_bytes(text if isinstance(text, bytes) else text.encode())
        return case_with({"kind": kind, "file": file, **more}, folder=tmp_path)

    return build


def test_each_row_is_a_rod_in_si(load):
    case = load(RODS)
    c = case.conductors
    assert_allclose(c.start, [[0, 0, 0], [3.7, -4.3, -0.6096]], rtol=1e-15)
    assert_allclose(c.end, [[0, 0, -2.4384], [3.7, -4.3, -3.6576]], rtol=1e-15)
    assert_allclose(c.radius, [0.0079375, 0.009525], rtol=1e-15)
    assert case.parts[0].rods == 2


def test_each_row_is_a_conductor_and_rows_join(load):
    case = load(WIRES, kind="conductor table")
    assert_allclose(case.conductors.start, [[0, 0, -0.5], [5, 0, -0.5]])
    assert_allclose(case.conductors.end, [[5, 0, -0.5], [5, 4, -0.8]])
    assert case.joints == 1
    assert case.parts[0].rods == 0


def test_the_case_knows_the_hash_of_its_table(load):
    sha = hashlib.sha256(RODS.encode()).hexdigest()
    assert load(RODS).source.tables == (("list.csv", sha),)


def test_raked_rods_run_out_along_their_azimuth(load):
    text = (
        "x [m],y [m],top_depth [m],length [m],diameter [mm],tilt [deg],azimuth [deg]\n"
        "1,2,0,3,16,30,90\n"
    )
    c = load(text).conductors
    assert_allclose(c.end, [[1, 2 + 1.5, -3 * np.sqrt(0.75)]], rtol=1e-14)


def test_one_size_for_all_rows_may_stand_in_the_part(load):
    text = "x [m],y [m],top_depth [m],length [m]\n0,0,0,3\n"
    assert_allclose(load(text, diameter="20 mm").conductors.radius, 0.01)


def test_a_size_in_the_part_and_in_a_column_contradict(load):
    with pytest.raises(CaseError, match=r"heading 'diameter \[in\]'; each heading is a name"):
        load(RODS, diameter="20 mm")
    with pytest.raises(CaseError, match="give at most one of diameter, strip, stranded"):
        load(RODS, diameter="20 mm", strip=["30 mm", "3 mm"])


def test_a_backfill_must_hold_the_widest_row(load):
    fill = {"diameter": "19 mm", "resistivity": "5 ohm*m"}
    message = (
        r"parts\[1\]: backfill: diameter 0\.019 m does not hold the metal, up to 0\.01905 m"
    )
    with pytest.raises(CaseError, match=message):
        load(RODS, backfill=fill)
    c = load(RODS, backfill=fill | {"diameter": "0.2 m"}).conductors
    assert_allclose(c.sheath_radius, 0.1)


def test_a_spreadsheet_may_leave_blank_lines_and_a_byte_order_mark(load):
    text = b"\xef\xbb\xbf" + RODS.replace("\n", "\r\n").encode() + b",,,,\r\n\r\n"
    assert len(load(text).conductors.start) == 2


def test_a_spreadsheet_may_write_semicolons_and_decimal_commas(load):
    text = (
        "# pegs of the yard\n"
        "x [m];y [m];top_depth [m];length [m];diameter [mm]\n0;0;0;2,5;16\n1,250;2;0;3;15,5\n"
    )
    c = load(text).conductors
    assert_allclose(c.start, [[0, 0, 0], [1.25, 2, 0]])
    assert_allclose(c.radius, [0.008, 0.00775], rtol=1e-15)


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ("1,500;2;0;3;16", r"list\.csv:2: '1,500': it cannot be told whether ','"),
        ("1.500;2;0;3;16", r"list\.csv:2: '1.500': it cannot be told whether '.'"),
        ("1,5;2.5;0;3;16", r"'1,5' has a comma, '2.5' on line 2 a point"),
    ],
)
def test_what_may_be_thousands_is_not_guessed(row, message, load):
    with pytest.raises(CaseError, match=message):
        load(HEAD.replace(",", ";") + row)


HEAD = "x [m],y [m],top_depth [m],length [m],diameter [mm]\n"
REFUSED = [
    ("", r"list\.csv:1: no column x, y, top_depth, length, diameter; each heading is a name"),
    (HEAD, r"list\.csv:1: holds no rows below its headings"),
    (
        HEAD.replace("x [m]", "x"),
        r"list\.csv:1: heading 'x'; did you mean 'x \[m\]'\? each heading is a name and a unit",
    ),
    (HEAD.replace("x [m]", "X [m]"), r"heading 'X \[m\]'"),
    (HEAD.replace("x [m]", "y [m]"), r"heading 'y \[m\]' stands twice; keep one"),
    (HEAD.replace("y [m],", ""), r"list\.csv:1: no column y; each heading"),
    (HEAD.replace("x [m]", "x [V]"), r"heading 'x \[V\]': '1 V': 'V' is not a unit of length"),
    (HEAD.replace("[mm]", "[AWG]"), r"a column cannot be in AWG; give diameters in mm or in"),
    (
        HEAD.replace("\n", ",tilt [deg]\n") + "0,0,0,3,16,5\n",
        r"'tilt' needs a column 'azimuth'",
    ),
    (HEAD + "0,0,0,3\n", r"list\.csv:2: 4 cells, the headings name 5; write decimal points"),
    (
        HEAD + "0,0,0,3,5,16\n1,5,0,0,3,16\n",
        r"list\.csv:2: 6 cells, the headings name 5, and so in all 2 rows: are there decimal",
    ),
    (HEAD + "0,0,0,3,16\n1,5,0,0,3,16\n", r"list\.csv:3: 6 cells, the headings name 5"),
    (HEAD + "0,0,0,,16\n", r"list\.csv:2: length: '' is not a plain number"),
    (HEAD + "0,0,0,3 m,16\n", r"list\.csv:2: length: '3 m' is not a plain number"),
    (HEAD + "0,0,0,nan,16\n", r"list\.csv:2: length: 'nan' is not a plain number"),
    (HEAD + "0,0,0,1e999,16\n", r"list\.csv:2: length: '1e999' is not a plain number"),
    (
        HEAD + "0,0,0,-3,16\n",
        r"list\.csv:2: length: -3 is -3 m; allowed from 0\.0001 to 100000 m",
    ),
    (
        HEAD + "0,0,0,3,16000\n",
        r"list\.csv:2: diameter: 16000 is 16 m; allowed from 0\.0001 to 5",
    ),
    (
        HEAD + "2e5,0,0,3,16\n",
        r"list\.csv:2: x: 2e5 is 200000 m; allowed from -100000 to 100000",
    ),
    (HEAD + '0,0,0,"3,16\n', r"list\.csv:\d: is not comma-separated text"),
    (HEAD.encode() + b"0,0,0,3,\xff\n", r"list\.csv:2: is not UTF-8 text; save it as UTF-8"),
]


@pytest.mark.parametrize(("text", "message"), REFUSED)
def test_a_wrong_table_is_refused_by_line(text, message, load):
    with pytest.raises(CaseError, match=message):
        load(text)


def test_all_wrong_rows_are_reported_at_once(load):
    with pytest.raises(CaseError) as refused:
        load(HEAD + "0,0,0,3,16\nx,0,0,3,16\n1,0,0,3,16\n2,0,0,-3,16\n")
    assert [(p.file, p.line) for p in refused.value.problems] == [
        ("list.csv", 3),
        ("list.csv", 5),
    ]


def test_a_table_of_errors_is_not_read_to_its_end(load):
    with pytest.raises(CaseError, match="more rows are wrong; reading stopped here") as refused:
        load(HEAD + "x,0,0,3,16\n" * 1000)
    assert len(refused.value.problems) == 51


def test_a_table_beyond_the_limits_is_refused_with_the_numbers(load):
    row = "0,0,0,3,16\n"
    with pytest.raises(BudgetError, match=r"has more rows than the 50,000 pieces allowed"):
        load(HEAD + row * (MOST_PIECES + 1))
    with pytest.raises(BudgetError, match=r"has 5,000,05\d bytes; at most 5,000,000 are read"):
        load(HEAD + " " * LARGEST_TABLE)


@pytest.mark.parametrize("file", ["../list.csv", "/etc/hostname"])
def test_a_table_outside_the_folder_is_refused(file, load):
    with pytest.raises(CaseError, match="lies outside the folder of the case file"):
        load(RODS, file=file)


def test_a_link_that_leads_outside_is_refused(load, tmp_path):
    (tmp_path / "link.csv").symlink_to("/etc/hostname")
    with pytest.raises(CaseError, match="lies outside the folder of the case file"):
        load(RODS, file="link.csv")


def test_a_missing_table_is_refused(load):
    with pytest.raises(CaseError, match=r"file: 'lost\.csv' is no file in") as refused:
        load(RODS, file="lost.csv")
    assert refused.value.problems[0].path == "electrodes[1] 'main'.parts[1].file"


def test_text_without_a_folder_has_no_tables(case_with):
    with pytest.raises(CaseError, match="has no tables beside it"):
        case_with({"kind": "rod table", "file": "list.csv"})
