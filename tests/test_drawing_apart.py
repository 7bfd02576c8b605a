"""Runs tell their verdict first, and draw in a second process: errors, interrupts, its end."""

import os
import resource
import signal
import subprocess
import sys
import time
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from well_rod import WELL_ROD

from ohmscape.cases.loading import load_case_text
from ohmscape.command_line import main
from ohmscape.command_line.second_process import drawing_process
from ohmscape.jobs.run import run_case
from ohmscape.solver.errors import DrawingError
from ohmscape.solver.memory import usable_memory
from ohmscape.solver.results.result import Profile
from ohmscape.solver.results.storage import save
from ohmscape.viz.files.manifest import manifest_name
from ohmscape.viz.result_folder import load_result, save_result, saving
from ohmscape.viz.studio.board import Board
from ohmscape.viz.studio.parts import Studio
from ohmscape.viz.studio.process import Helper

pytestmark = pytest.mark.slow

CASE = (
    WELL_ROD
    + """\
study: {area: {margin: 3 m, spacing: 1 m}}
numerics: {accuracy: coarse, second_opinion: never}
"""
)


@pytest.fixture(scope="module")
def result():
    return run_case(load_case_text(CASE))


@pytest.fixture
def case_file(tmp_path):
    path = tmp_path / "well.yaml"
    path.write_text(CASE, encoding="utf-8")
    return path


def _refuse(*_, **__):
    msg = "no ink"
    raise ValueError(msg)


@pytest.mark.slow
def test_the_summary_is_out_before_any_picture_is_waited_for(case_file, monkeypatch):
    order = []
    finish = Board.finish
    monkeypatch.setattr(
        "ohmscape.command_line.running.say", lambda text: order.append(text.split("\n")[0])
    )
    monkeypatch.setattr(
        Board, "finish", lambda *args, **named: order.append("drawn") or finish(*args, **named)
    )
    done = CliRunner().invoke(
        main, ["run", str(case_file), "-o", str(case_file.parent / "out")]
    )
    assert done.exit_code == 0, done.output
    assert order == ["Rod by the well", "drawn"]
    assert "Written to" in done.stdout


def test_numbers_are_kept_where_pictures_fail(result, tmp_path, monkeypatch):
    monkeypatch.setattr(Studio, "draw", _refuse)
    with pytest.raises(
        DrawingError, match=r"could not be drawn: ValueError: no ink; numbers and"
    ):
        save_result(result, tmp_path / "out")
    assert load_result(tmp_path / "out").resistance(0) == result.resistance(0)
    assert not list((tmp_path / "out").glob("*.png"))
    assert not (tmp_path / "out" / "report.pdf").exists()


def test_a_run_whose_pictures_fail_tells_its_verdict_and_ends_with_1(case_file, monkeypatch):
    monkeypatch.setattr(Studio, "still", _refuse)
    out = case_file.parent / "out"
    done = CliRunner().invoke(main, ["run", str(case_file), "-o", str(out)])
    assert done.exit_code == 1
    assert done.stdout.startswith("Rod by the well")
    (line,) = done.stderr.splitlines()
    assert f"numbers and tables are in {out}; ohmscape draw {out}" in line
    assert (out / "result.npz").is_file()


def _drawn_apart(result, folder, helper):
    with saving(folder, helper=helper) as saved:
        saved.add(result)
        saved.draw()


def test_numbers_are_kept_where_the_other_process_dies(result, tmp_path):
    with drawing_process(wanted=True) as process:
        process.kill()
        with pytest.raises(DrawingError, match="the process that draws has ended"):
            _drawn_apart(result, tmp_path / "out", process)
    assert (tmp_path / "out" / "result.npz").is_file()


def test_what_fails_in_the_other_process_is_told_here(tmp_path):
    with drawing_process(wanted=True) as process:
        helper = Helper(process, made=datetime(2026, 11, 28))
        with pytest.raises(DrawingError, match=r"nothing\.npz"):
            helper.ask("add", str(tmp_path / "nothing.npz"), "")
        with pytest.raises(DrawingError, match="IndexError"):
            helper.ask("draw", ("maps", 3))


@pytest.mark.skipif(not hasattr(resource, "prlimit"), reason="limits of others are of Linux")
def test_what_the_other_process_is_refused_in_memory_is_told_with_a_remedy(result, tmp_path):
    # 200 MB, far more than a process that has drawn a page has over.
    count = 6_000_000
    long = Profile("long", np.zeros((count, 3)), np.zeros(count))
    save(replace(result, profiles=(long,)), tmp_path / "result.npz")
    with drawing_process(wanted=True) as process:
        helper = Helper(process, made=datetime(2026, 11, 28))
        with pytest.raises(DrawingError, match=r"nothing\.npz"):  # by now all is loaded
            helper.ask("add", str(tmp_path / "nothing.npz"), "")
        most, _ = resource.prlimit(process.pid, resource.RLIMIT_DATA)
        assert 0 < most <= usable_memory()
        resource.prlimit(process.pid, resource.RLIMIT_DATA, (2**20, 2**20))
        with pytest.raises(DrawingError, match=r"refused the memory.*a larger spacing"):
            helper.ask("add", str(tmp_path / "result.npz"), "")


def test_an_interrupt_while_drawing_leaves_what_was_there(result, tmp_path, monkeypatch):
    out = tmp_path / "out"
    save_result(result, out, pictures=False)
    before = {path.name: path.read_bytes() for path in out.iterdir()}

    def interrupt(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(Studio, "draw", interrupt)
    with pytest.raises(KeyboardInterrupt):
        save_result(result, out)
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def _alive(pid):
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0]
    except FileNotFoundError:
        return False
    return state != "Z"


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="processes are told by /proc")
@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGINT])
def test_the_other_process_ends_with_a_command_that_is_killed(how, tmp_path):
    program = (
        "import time; from ohmscape.command_line.second_process import drawing_process\n"
        "with drawing_process(wanted=True) as helper:\n"
        "    print(helper.pid, flush=True); time.sleep(60)\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", program], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
    ) as command:
        pid = int(command.stdout.readline())
        assert _alive(pid)
        os.kill(command.pid, how)
    ends = time.monotonic() + 60  # it may be loading libraries, on a busy machine
    while _alive(pid) and time.monotonic() < ends:
        time.sleep(0.05)
    assert not _alive(pid)


@pytest.mark.slow
def test_both_processes_draw_what_one_would(result, tmp_path):
    save_result(result, tmp_path / "one")
    with drawing_process(wanted=True) as process:
        _drawn_apart(result, tmp_path / "two", process)
    one, two = (
        {path.name: path.read_bytes() for path in (tmp_path / name).iterdir()}
        for name in ("one", "two")
    )
    assert one.keys() == two.keys()
    assert {name for name in one if one[name] != two[name]} <= {manifest_name}
