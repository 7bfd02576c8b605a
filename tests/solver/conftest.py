"""Lets the tests of this folder import the helpers that stand beside them."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import field_layouts as lay
from measuring import solved

from ohmscape.solver.model import Soil


@pytest.fixture(scope="session")
def rod_solution():
    """Rod of 3 m x 16 mm in 100 Ω·m at default settings."""
    return solved(lay.rod(length=3.0, radius=0.008), soil=Soil((100.0,)))
