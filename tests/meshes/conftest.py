"""Lets these tests use the layouts of the field tests."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "solver"))
