"""Headings with units and the numbers below them, whatever table they stand in."""

import pytest

from ohmscape.cases.reading import quantities as q
from ohmscape.cases.reading.table_columns import DEVIATION, Column, Headings
from ohmscape.solver.errors import CaseError

WIDTH = Column(q.DIAMETER, 1e-3, 0.5)
SHARE = Column(q.Kind("share", "1", ("0.5",)), -2.0, 2.0, units={"1": 1.0, "%": 0.01})
HEADINGS = Headings(
    columns={"width": WIDTH, "share": SHARE, "deviation": DEVIATION},
    wanted="a heading is one of three",
    words=("note",),
    also={"w": "width"},
)


def test_a_heading_gives_name_and_factor_of_its_unit():
    names, factors, faults = HEADINGS.read([" w [in]", "share [%]", "note", "deviation [%]"])
    assert names == ["width", "share", "note", "deviation"]
    assert factors == [0.0254, 0.01, 1.0, 1.0]
    assert faults == []


def test_all_wrong_headings_are_told_with_what_may_have_been_meant():
    cells = ["Width [mm]", "width [V]", "share [V]", "deviation", "w [AWG]", "note", "note"]
    _, _, faults = HEADINGS.read(cells)
    assert faults[0] == (
        "heading 'Width [mm]'; did you mean 'width [mm]'? a heading is one of three"
    )
    assert faults[1].startswith("heading 'width [V]': '1 V': 'V' is not a unit of diameter")
    assert faults[2] == "heading 'share [V]': unit 'V'; write [1] or [%]"
    assert "did you mean 'deviation [%]'" in faults[3]
    assert faults[4] == (
        "heading 'w [AWG]': a column cannot be in AWG; give diameters in mm or in"
    )
    assert faults[5] == "heading 'note' stands twice; keep one"
    assert len(faults) == 6


def test_a_cell_is_a_plain_number_within_its_bounds():
    assert WIDTH.value("2.5e1", name="width", factor=1e-3) == 0.025
    for cell, message in (
        ("1,5", "width: '1,5' is not a plain number"),
        ("nan", "width: 'nan' is not a plain number"),
        ("900", "width: 900 is 0.9 m; allowed from 0.001 to 0.5 m"),
    ):
        with pytest.raises(CaseError, match=message):
            WIDTH.value(cell, name="width", factor=1e-3)
