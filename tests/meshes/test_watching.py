"""Meshing in a process of its own: the same mesh, ended in time, and nothing left behind."""

import os
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_array_equal

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.meshes.building import mesh_here
from ohmscape.solver.errors import MeshError
from ohmscape.solver.model import Soil

LAYERS = Soil((100.0, 900.0, 100.0), (0.8, 0.2))
ROD = lay.rod(length=3.0, radius=0.008)


@pytest.fixture(scope="module")
def plan():
    return mesh_plan(ROD, soil=LAYERS)


@pytest.fixture(scope="module")
def long_plan():
    return mesh_plan(ROD, soil=LAYERS, fineness=4.0)  # takes seconds


def test_the_mesh_is_that_of_this_process(plan):
    here, there = mesh_here(plan), build_mesh(plan)
    assert_array_equal(here.points, there.points)
    assert_array_equal(here.tetrahedra, there.tetrahedra)
    assert here.centre == there.centre


def test_a_mesh_that_takes_too_long_is_ended(long_plan):
    words = (
        r"mesh of about [\d,]+ elements was expected to take .* s of processor time and was "
        r"stopped after 0\.5 s; ask for larger elements .*join thin layers of soil\.layers: "
        r"the thinnest, layer 2, is 0\.2 m"
    )
    began = time.process_time()
    with pytest.raises(MeshError, match=words):
        build_mesh(long_plan, seconds=0.5)
    assert time.process_time() - began < 1.0  # of this process


def test_errors_of_the_generator_come_through(plan):
    broken = replace(plan, start=np.full((1, 3), np.nan))
    with pytest.raises(MeshError, match="mesh generator"):
        build_mesh(broken, seconds=10.0)


def test_a_generator_that_breaks_down_is_told(plan, monkeypatch):
    monkeypatch.setattr(sys, "executable", "/bin/false")
    with pytest.raises(MeshError, match=r"broke down \(status 1\); change the element size"):
        build_mesh(plan)


@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
def test_no_process_outlives_the_one_that_asked_for_the_mesh(tmp_path):
    program = f"""
import os, pickle, sys, threading, signal
sys.path[:] = {sys.path!r}
import field_layouts as lay
from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.solver.model import Soil
plan = mesh_plan(
    lay.rod(length=3.0, radius=0.008),
    soil=Soil((100.0, 900.0, 100.0), (0.8, 0.2)),
    fineness=4.0,
)
threading.Timer(1.0, lambda: os.kill(os.getpid(), signal.SIGKILL)).start()
build_mesh(plan, seconds=77.0)
"""
    own = {**os.environ, "TMPDIR": str(tmp_path)}
    done = subprocess.run([sys.executable, "-c", program], env=own, check=False)
    assert done.returncode == -9
    ends = time.monotonic() + 15.0
    while time.monotonic() < ends and _of_folder(tmp_path):
        time.sleep(0.2)
    assert not _of_folder(tmp_path)
    assert not list(tmp_path.iterdir())


def _of_folder(folder):
    """Processes with that folder for temporary files; the mesher inherits it."""
    found = []
    for place in Path("/proc").glob("[0-9]*/environ"):
        try:
            if f"TMPDIR={folder}".encode() in place.read_bytes().split(b"\0"):
                found.append(place)
        except OSError:
            pass  # ended, or another user's
    return found
