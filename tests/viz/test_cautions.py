"""Cautions: each where it holds, none where it does not, the same to every reader."""

from dataclasses import replace
from datetime import datetime
from itertools import product
from pathlib import Path
from types import SimpleNamespace

import pytest

from ohmscape.cases.shipped import shipped_case_path
from ohmscape.cases.starter import starter_case
from ohmscape.viz.cautions import (
    ABOUT_EARTH_TESTS,
    ABOUT_READINGS,
    NEVER_ENERGISE,
    caution_texts,
)
from ohmscape.viz.report.assembly import sections
from ohmscape.viz.report.contents import Paragraph, Table
from ohmscape.viz.variants import write_comparison

JUDGED, UNJUDGED = "Limits protect only", "no limit has been applied"
DIVIDED, UNDIVIDED = "Current divides as the circuit", "All of the current given enters"


def under(result, *, judged, divided):
    """The result with or without a verdict, with or without a circuit that divides."""
    circuit = SimpleNamespace(all_current_in_soil=False, split_factor=None)
    return replace(
        result,
        verdict=result.verdict if judged else None,
        operation=SimpleNamespace(circuit=circuit) if divided else None,
    )


@pytest.mark.parametrize("first", list(product([True, False], repeat=2)))
@pytest.mark.parametrize("second", list(product([True, False], repeat=2)))
def test_all_that_holds_is_said_and_nothing_else(result, first, second, tmp_path):
    pair = [
        under(result, judged=judged, divided=divided) for judged, divided in (first, second)
    ]
    path = write_comparison(pair, path=tmp_path / "comparison.csv")
    texts = (" ".join(caution_texts(pair)), path.read_text(encoding="utf-8"))
    for text in texts:
        assert (JUDGED in text) == (first[0] or second[0])
        assert (UNJUDGED in text) == (not (first[0] and second[0]))
        assert (DIVIDED in text) == (first[1] or second[1])
        assert (UNDIVIDED in text) == (not (first[1] and second[1]))


def test_a_circuit_that_sends_all_into_the_soil_says_so(result):
    circuit = SimpleNamespace(all_current_in_soil=True)
    whole = replace(result, operation=SimpleNamespace(circuit=circuit))
    assert caution_texts([whole]) == caution_texts([replace(result, operation=None)])


@pytest.mark.parametrize(
    "name", ["bench-rod", "driven-rod", "measured-fresh-rod", "tt-workshop"]
)
def test_cases_of_a_live_wire_warn_in_the_file(name):
    assert NEVER_ENERGISE in _comments(shipped_case_path(name).read_text(encoding="utf-8"))


def test_one_wording_against_energising_wherever_it_belongs(result):
    readme = Path(__file__).parents[2] / "README.md"
    assert NEVER_ENERGISE in " ".join(readme.read_text(encoding="utf-8").split())
    assert NEVER_ENERGISE in _comments(starter_case())
    for texts in (ABOUT_READINGS, ABOUT_EARTH_TESTS, caution_texts([result])):
        told = [text for text in texts if "energise an electrode" in text]
        assert told == [NEVER_ENERGISE]


def test_the_first_page_of_a_report_warns_before_its_tables(result):
    first, *_ = sections([result], made=datetime(2031, 5, 6))
    tables = [k for k, block in enumerate(first.blocks) if isinstance(block, Table)]
    above = [block for block in first.blocks[: tables[0]] if isinstance(block, Paragraph)]
    assert any(block.tone == "warning" and NEVER_ENERGISE in block.text for block in above)


def _comments(text):
    lines = [line.lstrip("# ") for line in text.splitlines() if line.startswith("#")]
    return " ".join(" ".join(lines).split())
