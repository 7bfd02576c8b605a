"""Work in threads gives what work one after another gives."""

import threading

import pytest
from threadpoolctl import ThreadpoolController

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


def test_one_of_several_processes_keeps_to_its_part(monkeypatch):
    monkeypatch.setattr(threads.os, "cpu_count", lambda: 4)
    assert threads.cores() == 4
    threads.take_share(threads=1, memory=2e9)
    try:
        assert threads.cores() == 1
        assert threads.own_memory() == 2e9
        assert set(in_threads(lambda _: threading.get_ident(), range(5))) == {
            threading.get_ident()
        }
    finally:
        threads.take_share(threads=None, memory=None)
    assert threads.cores() == 4
    assert threads.own_memory() is None


def test_processes_that_share_a_machine_keep_to_their_part(monkeypatch):
    monkeypatch.setattr(threads.os, "cpu_count", lambda: 4)
    with threads.shared_by(2):
        assert threads.cores() == 2
        with threads.shared_by(4):
            assert threads.cores() == 1
        libraries = ThreadpoolController().select(user_api="blas").info()
        assert {library["num_threads"] for library in libraries} == {1}
    assert threads.cores() == 4
