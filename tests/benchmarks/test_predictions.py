"""What is measured of a real run to judge `check` by: all of it, by the steps it counts."""

import subprocess
import sys

import pytest
from well_rod import WELL_ROD

from benchmarks.predictions.step_fit import step_of, steps_of
from benchmarks.predictions.watched_runs import memory_of_family, watched_run
from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.expected_course import once_amounts, result_amounts
from ohmscape.jobs.expected_time import works_of

CASE = (
    WELL_ROD
    + """\
study:
  area: {margin: 3 m, spacing: 0.2 m}
  profiles: [{name: away, start: [0 m, 0 m], end: [3 m, 0 m]}]
  soil_shares: true
numerics: {accuracy: coarse}
variants: [{name: frozen, soil: {layers: [{resistivity: 700 ohm*m}]}}]
"""
)


@pytest.mark.slow
def test_every_step_of_a_run_in_two_processes_is_one_that_check_counts():
    case = load_case_text(CASE)
    taken = watched_run(CASE, traced=True)
    assert not taken.failed
    works = works_of(case, accuracy=None)
    counted = {
        (work.case.variant, step)
        for work, own, saved in result_amounts(works)
        for step in own | saved
    } | {("", step) for step in once_amounts(works, drawn=True)}
    seconds = steps_of(case, taken.trace)
    assert set(seconds) == counted
    # The second process draws the maps, the first none at all.
    assert any(name == "apart: maps" for name, _ in taken.trace)
    # What is left is the end of two Pythons.
    assert 0.85 * taken.processor < sum(seconds.values()) <= taken.processor
    assert taken.memory > 3e8
    assert len(taken.made) == 2


def test_a_step_that_check_does_not_count_is_refused():
    assert step_of("apart: maps") == (True, "map pictures")
    assert step_of("variant 1 of 1, frozen: maps") == (False, "maps")
    assert step_of("frozen: soil.vtu") == (False, "volumes")
    with pytest.raises(LookupError, match=r"has the work of 'apart: holograms'"):
        step_of("apart: holograms")


def test_memory_is_that_of_a_process_and_its_children():
    hold = "held = bytearray(b'x') * 60_000_000; print('.', flush=True); input()"
    start = f"import subprocess, sys; subprocess.run([sys.executable, '-c', {hold!r}])"
    with subprocess.Popen(
        [sys.executable, "-c", start], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as process:
        process.stdout.readline()
        assert 6e7 < memory_of_family(process.pid) < 1.5e8
        process.stdin.close()
