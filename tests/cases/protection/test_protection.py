"""Devices written in a case file: every kind, every refusal with its place."""

import math

import pytest
from pydantic import ValidationError

from ohmscape.cases.protection.devices import devices_of
from ohmscape.cases.protection.schema import Devices
from ohmscape.cases.reading.blocks import Block
from ohmscape.cases.reading.documents import Document
from ohmscape.cases.reading.problems import in_order, problems_of
from ohmscape.cases.reading.yaml_reader import read_document
from ohmscape.cases.references import problems_of_names
from ohmscape.solver.errors import CaseError
from ohmscape.solver.protection import (
    FixedTime,
    GroundFaultInterrupter,
    Iec60898Breaker,
    InverseTimeRelay,
    ResidualCurrentDevice,
    TimeCurrentPoints,
    Ul489Breaker,
)

MEASURABLE = ("supply", "service neutral", "earth current of test rod")


class File(Block):
    """A case file that holds nothing else."""

    protection: Devices


def devices_from(content, *, document=None):
    document = document or Document({"protection": content})
    try:
        given = File.model_validate(document.content)
    except ValidationError as error:
        raise CaseError(problems_of(error, document=document)) from error
    return devices_of(given.protection, measurable=MEASURABLE, document=document)


def device(**keys):
    return {"name": "bench", "measures": "supply", **keys}


POINTS = [["30 A", "300 s"], ["1 kA", "20 ms"]]
SLOWER = [["40 A", "400 s"], ["0.9 kA", "70 ms"]]
CURVES = {"minimum_melting": POINTS, "total_clearing": SLOWER}
INVERSE = {"curve": "very inverse", "pickup": "200 A", "time_multiplier": 0.3}


@pytest.mark.parametrize(
    ("keys", "expected"),
    [
        (
            {"breaker": {"standard": "IEC 60898-1", "rating": "16 A", "curve": "B"}},
            Iec60898Breaker(16.0, "B"),
        ),
        ({"breaker": {"standard": "UL 489", "rating": "15 A"}}, Ul489Breaker(15.0)),
        ({"residual": {"standard": "UL 943"}}, GroundFaultInterrupter()),
        (
            {"residual": {"standard": "IEC 61008-1", "rating": "300 mA", "delayed": True}},
            ResidualCurrentDevice(0.3, delayed=True),
        ),
        ({"fuse": {"points": POINTS}}, TimeCurrentPoints(((30.0, 300.0), (1000.0, 0.02)))),
        (
            {"fuse": CURVES},
            TimeCurrentPoints(((30.0, 300.0), (1000.0, 0.02)), ((40.0, 400.0), (900.0, 0.07))),
        ),
        (
            {"relay": {"points": POINTS, "opening_time": "80 ms"}},
            TimeCurrentPoints(((30.0, 300.0), (1000.0, 0.02)), opening_time=0.08),
        ),
        (
            {"relay": INVERSE | {"opening_time": "60 ms", "tolerance": "5 %"}},
            InverseTimeRelay(
                "very inverse",
                pickup=200.0,
                time_multiplier=0.3,
                opening_time=0.06,
                tolerance=0.05,
            ),
        ),
        ({"fixed": {"clearing_time": "0.5 s"}}, FixedTime(0.5)),
        ({"fixed": {"clearing_time": "0.5 s", "pickup": "1.2 kA"}}, FixedTime(0.5, 1200.0)),
    ],
)
def test_every_kind_of_device_comes_in(keys, expected):
    (found,) = devices_from([device(**keys)])
    assert found.characteristic == expected
    assert (found.name, found.measures, found.backup) == ("bench", "supply", False)


def test_several_devices_keep_their_order_and_their_backup():
    found = devices_from(
        [
            device(residual={"standard": "UL 943"}),
            {
                "name": "upstream",
                "measures": " earth current of test rod ",
                "fixed": {"clearing_time": "1 s"},
                "backup": True,
            },
        ]
    )
    assert [one.name for one in found] == ["bench", "upstream"]
    assert [one.backup for one in found] == [False, True]
    assert found[1].measures == "earth current of test rod"
    assert found[0].trip(2.4).longest < 0.03
    assert found[0].trip(0.001).longest == math.inf


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ({}, r"protection\[1\] 'bench': give exactly one of breaker, residual, fuse, relay"),
        (
            {"fixed": {"clearing_time": "1 s"}, "fuse": {"points": POINTS}},
            "give exactly one of .*; got fuse and fixed",
        ),
        ({"breaker": {"standard": "UL 489"}}, "rating: is missing"),
        (
            {"breaker": {"standard": "UL 489", "rating": "15 A", "curve": "B"}},
            r"breaker: 'curve' goes with IEC 60898-1; UL 489 has none",
        ),
        (
            {"breaker": {"standard": "IEC 60898-1", "rating": "16 A"}},
            "needs its 'curve': B, C or D",
        ),
        (
            {"breaker": {"standard": "IEC 60898-1", "rating": "16 A", "curve": "K"}},
            "'K' is not allowed; write 'B', 'C' or 'D'",
        ),
        (
            {"breaker": {"standard": "UL 489", "rating": "-15 A"}},
            "rating of a breaker -15 A: must be positive",
        ),
        (
            {"breaker": {"standard": "IEC 60898-1", "rating": "160 A", "curve": "B"}},
            "IEC 60898-1 ends at 125 A",
        ),
        (
            {"residual": {"standard": "UL 943", "rating": "6 mA"}},
            "class A of UL 943 has one level, leave them out",
        ),
        ({"residual": {"standard": "IEC 61008-1"}}, "needs its 'rating', for example 30 mA"),
        (
            {"residual": {"standard": "IEC 61008-1", "rating": "30 A"}},
            "30000 mA is not held; there are 10, 30, 100, 300, 500 mA",
        ),
        ({"fuse": {}}, "give exactly one of points, minimum_melting; got none"),
        (
            {"fuse": {"minimum_melting": POINTS}},
            "'minimum_melting' and 'total_clearing' go together",
        ),
        (
            {"fuse": {"points": POINTS, "total_clearing": SLOWER}},
            "'minimum_melting' and 'total_clearing' go together",
        ),
        (
            {"fuse": {"minimum_melting": SLOWER, "total_clearing": POINTS}},
            "total clearing starts at 30 A, below minimum melting at 40 A",
        ),
        ({"fuse": {"points": POINTS[:1]}}, "needs 2 or more entries; got 1"),
        ({"fuse": {"points": POINTS[::-1]}}, "currents of a time-current curve must rise"),
        (
            {"relay": {"points": POINTS, "pickup": "200 A"}},
            "'pickup', 'time_multiplier' and 'tolerance' go with 'curve'",
        ),
        (
            {"relay": {"curve": "very inverse", "pickup": "200 A"}},
            "a very inverse relay needs its 'pickup' and its 'time_multiplier'",
        ),
        (
            {"relay": INVERSE | {"pickup": "0 A"}},
            "pickup of a relay 0 A: must be positive",
        ),
        ({"relay": INVERSE | {"tolerance": 0.05}}, "0.05 is no percentage"),
        ({"relay": INVERSE | {"opening_time": "0 s"}}, "'0 s' must be above 0 s"),
        (
            {"fixed": {"clearing_time": "500"}},
            "clearing_time: '500' cannot be read as duration",
        ),
        ({"fixed": {"time": "1 s"}}, "unknown key; .*allowed: clearing_time, pickup"),
    ],
)
def test_devices_that_cannot_be_are_refused(keys, message):
    with pytest.raises(CaseError, match=message):
        devices_from([device(**keys)])


def test_all_wrong_names_are_told_at_once_with_their_lines():
    text = """
protection:
  - {name: bench, measures: suply, fixed: {clearing_time: 1 s}}
  - name: bench
    measures: earth current of fence
    fixed: {clearing_time: 2 s}
"""
    document = read_document(text, file="yard.yaml")
    with pytest.raises(CaseError) as refused:
        devices_from(None, document=document)
    found = in_order([*problems_of_names(document), *refused.value.problems])
    assert [(p.line, p.path, p.message) for p in found] == [
        (
            3,
            "protection[1] 'bench'.measures",
            "no current 'suply'; did you mean 'supply'? there are 'supply', "
            "'service neutral', 'earth current of test rod'",
        ),
        (
            4,
            "protection[2] 'bench'",
            "device name 'bench' is taken by protection[1] 'bench'; give each its own",
        ),
        (
            5,
            "protection[2] 'bench'.measures",
            "no current 'earth current of fence'; did you mean 'earth current of test rod'? "
            "there are 'supply', 'service neutral', 'earth current of test rod'",
        ),
    ]


def test_no_device_at_all_is_refused():
    with pytest.raises(CaseError, match="protection: needs 1 or more entries; got 0"):
        devices_from([])


def test_without_a_circuit_nothing_can_be_measured():
    document = Document({"protection": [device(fixed={"clearing_time": "1 s"})]})
    given = File.model_validate(document.content)
    with pytest.raises(CaseError, match="no current 'supply'; there are none"):
        devices_of(given.protection, measurable=(), document=document)
