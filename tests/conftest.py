"""Lets the tests import the helpers that stand beside them."""

import os
import sys
from pathlib import Path

if "PYTEST_XDIST_WORKER" in os.environ:  # one thread for each process, before numpy comes
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ.setdefault(name, "1")

sys.path.insert(0, str(Path(__file__).parent))
