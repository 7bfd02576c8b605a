"""How fast rows are done, as a person who waits is told."""

import pytest

from ohmscape.jobs import pace
from ohmscape.jobs.pace import Pace


@pytest.mark.parametrize(("total", "left"), [(30, "20 s"), (1090, "18 min"), (20_000, "5.6 h")])
def test_rate_and_time_left_follow_what_was_done(total, left, monkeypatch):
    said = []
    monkeypatch.setattr(pace, "monotonic", lambda: 110.0)
    going = Pace("rows", total, lambda step, share: said.append((step, share)), began=100.0)
    going.more(4)
    going.more(6)
    assert said[-1] == (f"rows: row 10 of {total:,}, 1 a second, {left} left", 10 / total)


def test_a_fast_rate_is_a_plain_number(monkeypatch):
    said = []
    monkeypatch.setattr(pace, "monotonic", lambda: 2.0)
    Pace("rows", 500, lambda step, share: said.append(step), began=1.0).more(123)
    assert said == ["rows: row 123 of 500, 120 a second, 3 s left"]
