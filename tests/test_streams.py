"""What the commands print, where a terminal lacks signs or nobody reads on."""

import os
import signal
import subprocess
import sys
import time
from contextlib import suppress

import pytest
from well_rod import WELL_ROD

pytestmark = pytest.mark.slow

_CASE = (
    WELL_ROD
    + """\
study: {area: {margin: 3 m, spacing: 0.5 m}}
safety:
  duration: 0.5 s
  limits: [{name: yard, ieee_80: {}}]
  exposures: [{name: round the rod, step: anywhere, limit: yard}]
numerics: {accuracy: coarse}
"""
)


def command(*arguments, folder, **given):
    return subprocess.Popen(
        [sys.executable, "-m", "ohmscape", *arguments],
        cwd=folder,
        **{"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, **given},
    )


@pytest.fixture
def unread():
    """End of a pipe whose reader has left."""
    reading, writing = os.pipe()
    os.close(reading)
    yield writing
    os.close(writing)


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "well.yaml").write_text(_CASE, encoding="utf-8")
    return tmp_path


def in_latin(*arguments, folder):
    environment = {**os.environ, "PYTHONIOENCODING": "latin-1"}
    out, faults = command(*arguments, folder=folder, env=environment).communicate()
    return out.decode("latin-1"), faults.decode("latin-1")


def test_signs_that_a_terminal_lacks_are_spelled_out(folder):
    (folder / "ring.yaml").write_text(_CASE.replace("by the", "№ “3”"), encoding="utf-8")
    out, faults = in_latin("check", "ring.yaml", folder=folder)
    assert out.startswith('Rod ? "3" well')
    assert "75.0 ohm·m" in out
    assert faults == ""


def test_errors_too(folder):
    (folder / "ring.yaml").write_text(_CASE.replace("75 ohm*m", "75 Ω"), encoding="utf-8")
    _, faults = in_latin("check", "ring.yaml", folder=folder)
    assert "'75 ohm': 'ohm' is not a unit of resistivity" in faults
    assert "Traceback" not in faults


def test_who_reads_no_further_changes_neither_files_nor_exit_status(folder, unread):
    arguments = ("run", "well.yaml", "--no-pictures", "--fail-unsafe", "-o", "out")
    running = command(*arguments, folder=folder, stdout=unread)
    assert running.communicate()[1] == b""
    assert running.returncode == 0
    assert (folder / "out" / "result.npz").is_file()


def test_who_reads_no_errors_still_gets_the_exit_status(folder, unread):
    running = command("check", "none.yaml", folder=folder, stderr=unread)
    assert running.communicate()[0] == b""
    assert running.returncode == 2


@pytest.mark.parametrize("seconds", [0.3, 0.8, 1.5])
def test_an_interrupt_is_no_traceback(folder, seconds):
    # Counted from where Python has started, which is not ours.
    code = "import ohmscape.__main__ as o; print('ready', flush=True); o.main()"
    running = subprocess.Popen(
        [sys.executable, "-c", code, "run", "well.yaml", "-o", "out"],
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert running.stdout.readline() == b"ready\n"
    time.sleep(seconds)
    while running.poll() is None:
        running.send_signal(signal.SIGINT)
        with suppress(subprocess.TimeoutExpired):
            running.wait(5)  # libraries may swallow one while they are loaded
    _, faults = running.communicate()
    assert b"Traceback" not in faults
    # Python ends by the signal itself where it came while a library was running code; a second
    # one may come while the first is told: 1.
    assert running.returncode in (130, -signal.SIGINT, 1)
    assert [path.name for path in folder.iterdir()] == ["well.yaml"]
