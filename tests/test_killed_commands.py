"""Real commands killed at random times leave old files or new ones, and all of others."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

SCRIPT = Path(__file__).with_name("killing.py")
COMMANDS = {"run", "run and draw", "soil", "earth-test", "compare", "draw", "report"}


@pytest.mark.slow
def test_a_hundred_kills_leave_nothing_half_done(tmp_path):
    # Where a machine is so slow that time runs out, fewer are killed.
    arguments = [sys.executable, str(SCRIPT), str(tmp_path), "20261128", "100", "90"]
    done = subprocess.run(arguments, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found.keys() == COMMANDS
    assert [fault for item in found.values() for fault in item["wrong"]] == []
    assert sum(item["done"] for item in found.values()) >= 10
    assert sum(item["killed"] for item in found.values()) >= 5
