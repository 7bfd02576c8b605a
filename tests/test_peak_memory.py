"""The peak of memory that a result states."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from ohmscape.jobs.peak_memory import peak_memory


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="kept by Linux alone")
def test_the_peak_of_memory_is_that_of_the_process_and_not_of_its_parent():
    held = np.ones(60_000_000)  # 480 MB
    code = "from ohmscape.jobs.peak_memory import peak_memory; print(peak_memory())"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert peak_memory() > held.nbytes
    assert 5e6 < float(done.stdout) < 0.7 * held.nbytes


def test_without_such_a_file_the_system_is_asked(tmp_path):
    (tmp_path / "other").write_text("Name: it\nVmHWM: much\n")
    asked = peak_memory(str(tmp_path / "none"))
    assert asked >= 0.9 * peak_memory() > 1e7
    assert peak_memory(str(tmp_path / "other")) == pytest.approx(asked, rel=0.1)
