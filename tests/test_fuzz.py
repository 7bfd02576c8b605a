"""Mutated cases, surveys and results: refused in plain words, or what they can be."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

SCRIPT = Path(__file__).with_name("fuzzing.py")


@pytest.mark.slow
@pytest.mark.parametrize(
    ("kind", "count", "seconds"),
    [("cases", 4000, 60), ("surveys", 5000, 35), ("results", 1200, 20)],
)
def test_what_is_mutated_is_refused_or_can_be(kind, count, seconds):
    # The seed is a date, and fixed: a failure is one for everybody.
    arguments = [sys.executable, str(SCRIPT), kind, "20261128", str(count), str(seconds)]
    done = subprocess.run(arguments, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["wrong"] == []
    assert found["peak"] < 1e9
    assert found["longest"] < 10
    # The box of time is for machines far slower than any known: half must be done at the least.
    assert found["tried"] >= count // 2
    assert 0 < found["accepted"] < found["tried"] / 2
