"""One unit system and one vocabulary at a time in a report, also in what the solver says."""

import re
from dataclasses import fields, is_dataclass
from datetime import datetime

import pytest

from ohmscape.cases.loading import load_case, load_case_text
from ohmscape.cases.shipped import shipped_case_path
from ohmscape.jobs.run import run_case
from ohmscape.jobs.understood import understood
from ohmscape.viz.report.assembly import sections
from ohmscape.viz.report.contents import Listing
from ohmscape.viz.words.text import Text, plain

_metres = re.compile(r"\d ?(m|mm|cm|km)\b(?![²·])")
_feet = re.compile(r"\d ?(ft|in)\b")


@pytest.fixture(scope="module", params=["tt-workshop", "surveyed-pump-house"])
def result(request):
    return run_case(load_case(shipped_case_path(request.param)), accuracy="coarse")


def _texts(item, **reader):
    """All texts of a report for one reader but the case file, which is the user's."""
    if isinstance(item, str | Text):
        yield plain(item, **reader)
    elif isinstance(item, tuple):
        for inner in item:
            yield from _texts(inner, **reader)
    elif is_dataclass(item) and not isinstance(item, Listing):
        for field in fields(item):
            yield from _texts(getattr(item, field.name), **reader)


def _read(result, **reader):
    found = list(_texts(sections([result], made=datetime(2026, 5, 1)), **reader))
    assert len(found) > 100
    names = [
        result.title,
        result.case_file,
        *result.group_names,
        *result.solution.conductors.part_names,
        *(metal.name for metal in result.metals),
    ]
    if result.operation is not None:
        names += [path.name for path in result.operation.circuit.paths]
    if result.clearing is not None:
        names += [answer.name for answer in result.clearing.answers]
    for name in names:  # are the user's, in whatever words
        found = [text.replace(name, "") for text in found]
    return found


@pytest.mark.slow
def test_a_reader_in_feet_finds_feet_wherever_there_are_metres(result):
    for text in _read(result, units="US", vocabulary="ground"):
        assert len(_metres.findall(text)) <= len(_feet.findall(text)), text


@pytest.mark.slow
def test_a_reader_in_metres_finds_metres_wherever_there_are_feet(result):
    for text in _read(result, units="SI", vocabulary="earth"):
        assert len(_feet.findall(text)) <= len(_metres.findall(text)), text


@pytest.mark.slow
def test_a_reader_of_ground_terms_finds_no_earth_but_remote_earth(result):
    for text in _read(result, units="US", vocabulary="ground"):
        assert not re.search(r"\b[Ee]arth", text.replace("remote earth", "")), text


@pytest.mark.slow
def test_a_reader_of_earth_terms_finds_no_grounding(result):
    for text in _read(result, units="SI", vocabulary="earth"):
        assert not re.search(
            r"\b([Gg]rounding|[Gg]rounded|[Gg]round (rod|electr|current))", text
        )


@pytest.mark.slow
def test_the_unit_of_resistivity_is_told_to_readers_in_feet(result):
    customary = " ".join(_read(result, units="US", vocabulary="ground"))
    assert "1 Ω·m is 100 Ω·cm or 3.28 Ω·ft" in customary
    assert "Ω·ft" not in " ".join(_read(result, units="SI", vocabulary="earth"))


def test_check_prints_feet_only_where_the_case_asks_for_them():
    text = shipped_case_path("switchyard").read_text(encoding="utf-8")
    told = understood(load_case_text(text.replace("units: SI", "units: US")))
    assert not _metres.search(told.replace("40 m by 30 m", ""))  # the title
