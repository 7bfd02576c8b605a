"""Cases of the benchmark of coverage, one of each class, and the table made of them."""

import pytest

from benchmarks.coverage.drawing import CLASSES, drawn
from benchmarks.coverage.judging import Row, judged
from benchmarks.coverage.table import append_rows, coverage_table, read_rows, worst_ten

pytestmark = pytest.mark.slow

# Number of the case of each class. Each has its quantities within the stated band and its
# reference settled to a third of that.
CASES = dict.fromkeys(CLASSES, 0) | {"filled": 1, "stars": 2}


# Cases that once missed it, with the preset at which they did: class, seed and number.
MENDED = [
    ("fat", 90210, 29, "normal"),
    ("filled", 90210, 3, "normal"),
    ("stars", 90210, 23, "normal"),
    ("stars", 502, 8, "normal"),
    ("inclined", 7411, 13, "normal"),
    ("layered", 90210, 23, "normal"),  # gave no answer
    ("layered", 90210, 2, "normal"),
]


@pytest.mark.parametrize(
    ("kind", "seed", "number", "preset"),
    [*((kind, 1, number, "normal") for kind, number in CASES.items()), *MENDED],
)
def test_the_stated_band_holds_the_error(kind, seed, number, preset):
    rows = judged(kind, seed=seed, number=number, preset=preset)
    assert {row.attempt for row in rows} == {0}
    assert {"resistance", "touch", "step", "map", "touch on map"} <= {
        row.quantity for row in rows
    }
    outside = [f"{row.quantity}, {row.where}" for row in rows if not row.within]
    assert not outside


def test_a_narrow_band_stands_beside_every_resistance():
    # Wide enough to be true is no success.
    rows = judged("rods", seed=1, number=0, preset="normal")
    (band,) = (row.band for row in rows if row.quantity == "resistance")
    assert 0.0005 <= band < 0.0035


def test_a_seed_draws_the_same_file_again_and_another_seed_another():
    text = drawn("groups", seed=3, number=5)
    assert text == drawn("groups", seed=3, number=5)
    assert text != drawn("groups", seed=4, number=5)
    assert text != drawn("groups", seed=3, number=5, attempt=1)


def _row(number, *, quantity="resistance", error, band=0.002):
    return Row(
        kind="rods", seed=1, number=number, attempt=0, preset="normal", quantity=quantity,
        where="rod", value=10.0 * (1 + error), reference=10.0, error=error, band=band,
        unsettled=1e-5,
    )  # fmt: skip


ROWS = [
    _row(0, error=0.001),
    _row(0, quantity="step", error=-0.003),
    _row(1, error=-0.0015),
    _row(1, quantity="step", error=0.0001),
]


def test_a_case_counts_as_within_if_all_of_it_is():
    cells = coverage_table(ROWS, preset="normal").splitlines()[2].split(" | ")
    assert cells[1:5] == ["2", "50.0 %", "100 %", "–"]  # cases, all, resistance, touch
    assert cells[5] == "50.0 %"  # step
    assert cells[9:12] == ["0.12 %", "0.15 %", "0.20 %"]  # median and worst error, band


def test_the_worst_stand_first_by_error_over_band():
    lines = worst_ten(ROWS, preset="normal").splitlines()[2:]
    assert lines[0].startswith("| rods 0 | step, rod |")
    assert "-0.30 %" in lines[0]
    assert lines[1].startswith("| rods 1 | resistance, rod |")


def test_rows_come_back_from_the_file_as_they_were(tmp_path):
    path = tmp_path / "rows.csv"
    assert read_rows(path) == []
    append_rows(path, ROWS[:1])
    append_rows(path, ROWS[1:])
    back = read_rows(path)
    assert [(row.number, row.quantity, row.error, row.within) for row in back] == [
        (row.number, row.quantity, row.error, row.within) for row in ROWS
    ]
