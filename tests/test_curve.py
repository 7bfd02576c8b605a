"""The verb `curve`: a case against one choice, and where more metal stops paying."""

import re

import pytest
from click.testing import CliRunner

from ohmscape.cases.loading import load_case, load_case_text
from ohmscape.command_line import main
from ohmscape.jobs.curves import curve_of
from ohmscape.jobs.trying import Trials
from ohmscape.solver.design import pays_until
from ohmscape.solver.errors import CaseError

CASE = """\
ohmscape: 1
title: Rods in a row
soil: {layers: [{resistivity: 90 ohm*m}]}
electrodes:
  - name: row
    drive: {current: 5 A}
    parts:
      - kind: rods
        name: rods
        line: {start: [0 m, 0 m], end: [9 m, 0 m], count: 2}
        top_depth: 0 m
        length: 2 m
        diameter: 16 mm
design:
  choices:
    - {name: number, set: [electrodes, row, parts, rods, line, count], from: 2, to: 10, step: 2}
    - {name: length, set: [electrodes, row, parts, rods, length], values: [2 m, 4 m]}
  targets: {resistance: 20 ohm}
  prices: {currency: EUR, rods: {each: 30, driven: 10, per: 1 m}}
"""


def test_more_rods_have_less_resistance_and_cost_more():
    found = curve_of(load_case_text(CASE), "number")
    assert [point.option for point in found.points] == ["2", "4", "6", "8", "10"]
    assert list(found.costs) == [100.0, 200.0, 300.0, 400.0, 500.0]
    assert list(found.ohms) == sorted(found.ohms, reverse=True)
    assert found.shares == pytest.approx([ohms / 20 for ohms in found.ohms])
    # Rods side by side help each other less and less: never in proportion to their number.
    assert found.ohms[4] > found.ohms[0] / 5


def test_other_choices_may_be_made():
    case = load_case_text(CASE)
    short, long = (curve_of(case, "number", others={"length": one}) for one in ("2 m", "4 m"))
    assert all(a > b for a, b in zip(short.ohms, long.ohms, strict=True))
    assert short.ohms == curve_of(case, "number").ohms  # as the case stands
    assert long.others == "length: 4 m"


@pytest.mark.parametrize(
    ("choice", "others", "said"),
    [
        ("numbers", {}, "did you mean 'number'"),
        ("number", {"lenght": "2 m"}, "did you mean 'length'"),
        ("number", {"length": "3 m"}, "no option of choice 'length' '3 m'"),
        ("number", {"number": "4"}, "leave it out of the others"),
    ],
)
def test_what_is_not_there_is_refused(choice, others, said):
    with pytest.raises(CaseError, match=said):
        curve_of(load_case_text(CASE), choice, others=others)


def test_an_option_that_cannot_be_built_has_its_reason_in_place_of_a_value():
    text = CASE.replace("values: [2 m, 4 m]", "values: [2 m, 4 m, 4000 m]")
    with pytest.raises(CaseError, match="m deep"):
        load_case_text(text)  # said when the case is loaded


def test_more_stops_paying_where_cost_buys_a_tenth_of_its_share():
    assert pays_until([1.0, 2.0, 4.0, 8.0], [10.0, 5.0, 4.9, 4.8]) == 1
    assert pays_until([1.0, 2.0, 4.0], [10.0, 5.0, 2.5]) == 2
    # A step that buys nothing before one that does is worth going through.
    assert pays_until([1.0, 2.0, 4.0], [10.0, 10.0, 5.0]) == 2
    assert pays_until([1.0, 1.0], [10.0, 5.0]) is None
    assert pays_until([1.0, float("inf"), 2.0], [10.0, float("nan"), 5.0]) == 2


@pytest.mark.slow
def test_the_command_leaves_table_and_pictures(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "row.yaml").write_text(CASE, encoding="utf-8")
    done = CliRunner().invoke(main, ["curve", "row.yaml", "number", "--with", "length: 4 m"])
    assert done.exit_code == 0, done.output
    assert "qualified engineer" in done.output
    assert "length: 4 m" in done.output
    names = {path.name for path in (tmp_path / "row-curve").iterdir()}
    assert {"curve.csv", "curve.png", "curve.svg"} <= names
    wrong = CliRunner().invoke(main, ["curve", "row.yaml", "number", "--with", "length 4 m"])
    assert wrong.exit_code == 2
    assert "a colon" in wrong.output


@pytest.mark.parametrize("name", ["pad-to-size", "yard-to-size"])
def test_shipped_cases_say_how_many_designs_they_have(name):
    case = load_case(name)
    count = sum(1 for _ in case.design.designs())
    done = CliRunner().invoke(main, ["check", name])
    assert done.exit_code == 0, done.output
    assert f"{count} designs are possible; all tried" in done.output
    assert count == {"pad-to-size": 60, "yard-to-size": 480}[name]


@pytest.mark.slow
@pytest.mark.parametrize("name", ["pad-to-size", "yard-to-size"])
def test_shipped_sketches_are_unsafe_and_have_the_resistance_they_state(name):
    case = load_case(name)
    found = Trials().evaluation(case)
    assert found.surely_misses(case.design.targets)
    stated = re.search(r"the sketch has ([\d.]+) Ω", case.source.text)[1]
    sketch = found.conditions[0].resistance
    assert abs(sketch - float(stated)) <= 0.005 * sketch  # thin conductors state no less
