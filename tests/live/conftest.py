"""A small case to edit, and the command on it."""

import pytest
from live_page import live_on
from well_rod import JUDGED, WELL_ROD

CASE = (
    "# by the well\n"
    + WELL_ROD
    + """\
variants:
  - name: dry season   # August
    soil: {layers: [{resistivity: 140 ohm*m}]}
study:
  area: {margin: 3 m, spacing: 0.5 m}
  touch: [{name: head, electrode: well rod, footprint: true}]
"""
    + JUDGED
)


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "well.yaml"
    path.write_text(CASE, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def shared(tmp_path_factory):
    """A page for tests that edit nothing."""
    path = tmp_path_factory.mktemp("shared") / "well.yaml"
    path.write_text(CASE, encoding="utf-8")
    with live_on(path) as live:
        yield live


@pytest.fixture
def live(file):
    with live_on(file) as live:
        yield live
