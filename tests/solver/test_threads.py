"""Work in threads gives what work one after another gives."""

import threading

import pytest

from ohmscape.solver import threads
from ohmscape.solver.threads import in_threads


@pytest.mark.parametrize("most", [1, 3])
@pytest.mark.parametrize("count", [0, 1, 7])
def test_answers_stand_in_the_order_of_the_items(most, count, monkeypatch):
    monkeypatch.setattr(threads, "_most", most)
    monkeypatch.setattr(threads.os, "cpu_count", lambda: 3)
    assert in_threads(lambda k: k**2, range(count)) == [k**2 for k in range(count)]


def test_items_are_worked_on_at_the_same_time(monkeypatch):
    monkeypatch.setattr(threads.os, "cpu_count", lambda: 2)
    # Nobody passes before both are there.
    barrier = threading.Barrier(2, timeout=20.0)
    in_threads(lambda _: barrier.wait(), range(2))


def test_an_error_in_a_thread_is_raised(monkeypatch):
    monkeypatch.setattr(threads.os, "cpu_count", lambda: 2)
    with pytest.raises(ZeroDivisionError):
        in_threads(lambda k: 1 / k, [2, 1, 0])
