"""Lines of the terminal: width, indents, columns."""

import pytest

from ohmscape.viz.words.lines import aligned, hanging, listed, page

LONG = "a name-with-hyphens stays whole, wherever the line that it is on may have to end " * 3


def test_a_paragraph_hangs_and_keeps_its_width_and_names():
    first, *rest = hanging(LONG, indent="  ")
    assert first.startswith("  a name-with-hyphens")
    assert rest
    assert all(line.startswith("    ") and len(line) <= 92 for line in rest)
    assert " ".join(line.strip() for line in (first, *rest)) == LONG.strip()
    assert not any(line.endswith("-") for line in (first, *rest))


def test_a_list_has_a_dash_before_each_item_and_no_heading_without_one():
    assert listed("Mind", ["one", "two"], indent="  ") == ["Mind", "  - one", "  - two"]
    assert listed("Mind", []) == []


def test_columns_are_set_left_but_for_those_asked_for():
    rows = [("", "best", ""), ("soil", "7", "so"), ("a", "12.5", "")]
    assert aligned(rows, right=1) == ["      best", "soil     7  so", "a     12.5"]


def test_a_page_leaves_out_blocks_without_lines():
    assert page("Rod", [["a", "b"], [], ["c"]]) == "Rod\n===\n\na\nb\n\nc"


@pytest.mark.parametrize("unit", ["%", "Ω", "mA", "kV", "s", "Ω·m", "m", "ft"])
def test_a_number_and_its_unit_stay_on_one_line(unit):
    for before in range(80, 92):
        lines = hanging("x" * before + f" 1,310 {unit} of it")
        assert any(f"1,310 {unit}" in line for line in lines)
        assert " ".join(line.strip() for line in lines) == "x" * before + f" 1,310 {unit} of it"
