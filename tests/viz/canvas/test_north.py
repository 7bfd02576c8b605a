"""The arrow to north: on every plan where the case says where north is, else on none."""

from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest
from PIL import Image

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.understood import understood
from ohmscape.solver.errors import CaseError
from ohmscape.solver.results.storage import load, save
from ohmscape.viz.canvas.north import north_text
from ohmscape.viz.maps.maps import draw_map
from ohmscape.viz.maps.plans import potential_map
from ohmscape.viz.report.assembly import sections
from ohmscape.viz.report.map_data import map_data
from ohmscape.viz.report.page import write_page
from ohmscape.viz.report.pictures import layout_picture

CASE = """
ohmscape: 1
title: a rod
{north}
soil: {{layers: [{{resistivity: 75 ohm*m}}]}}
electrodes:
  - name: rod
    drive: {{current: 3 A}}
    parts: [{{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 1.8 m, diameter: 14 mm}}]
"""
# Room below the legend of a map, right of its scale bar. [pixel]
_room = (slice(1150, 1420), slice(1830, 2000))


def _ink(result, folder):
    """Places of dark pixels in the room of the arrow: columns and rows from its middle."""
    path = draw_map(result, plan=potential_map(result), path=folder / "map.png")
    with Image.open(path) as image:
        pixels = np.asarray(image.convert("L"), dtype=int)[_room]
    rows, columns = np.nonzero(pixels < 100)
    return columns, rows


@pytest.mark.parametrize(
    ("north", "radians"), [("30 deg", 0.523599), ("-18 deg", -0.314159), ("0 deg", 0.0)]
)
def test_a_case_says_where_north_is(north, radians):
    case = load_case_text(CASE.format(north=f"north: {north}"))
    assert case.north == pytest.approx(radians, abs=1e-6)
    assert north_text(case.north) in understood(case)


def test_without_the_key_nothing_is_said():
    case = load_case_text(CASE.format(north=""))
    assert case.north is None
    assert "north" not in understood(case)


@pytest.mark.parametrize("north", ["30", "400 deg", "up", "30 m"])
def test_what_is_no_angle_is_refused(north):
    with pytest.raises(CaseError, match="north"):
        load_case_text(CASE.format(north=f"north: {north}"))


def test_north_in_words():
    assert north_text(0.0) == north_text(2 * np.pi) == "true north is along the y axis"
    assert north_text(np.radians(-18)) == "true north is 342° clockwise from the y axis"
    assert north_text(np.radians(12.5)) == "true north is 12.5° clockwise from the y axis"


@pytest.mark.slow
def test_a_map_has_an_arrow_only_where_north_is_known(result, tmp_path):
    assert len(_ink(replace(result, north=None), tmp_path)[0]) == 0
    assert len(_ink(replace(result, north=0.7), tmp_path)[0]) > 300


@pytest.mark.slow
@pytest.mark.parametrize("degrees", [0, 75, 160, -100])
def test_the_letter_lies_where_north_is(result, tmp_path, degrees):
    columns, rows = _ink(replace(result, north=np.radians(degrees)), tmp_path)
    # Of the arrow with its letter, the letter is the far end from the middle of the arrow.
    middle = (1900 - _room[1].start, 1500 - 220 - _room[0].start)
    across, up = columns - middle[0], middle[1] - rows
    far = np.hypot(across, up) > 40
    azimuth = np.degrees(np.arctan2(across[far].mean(), up[far].mean()))
    assert (azimuth - degrees + 180) % 360 - 180 == pytest.approx(0, abs=4)


def test_north_is_kept_with_the_result(result, tmp_path):
    known = replace(result, north=0.7)
    assert load(save(known, tmp_path / "result.npz")).north == 0.7
    assert load(save(replace(result, north=None), tmp_path / "none.npz")).north is None


@pytest.mark.slow
def test_the_report_shows_north_where_it_is_known(result, tmp_path):
    known = replace(result, north=np.radians(30))
    unknown = replace(result, north=None)
    assert map_data([known])["north"] == pytest.approx(np.radians(30))
    assert map_data([unknown])["north"] is None
    page = write_page(
        [known],
        sections([known], made=datetime(2026, 5, 1)),
        tmp_path / "report.html",
        made=datetime(2026, 5, 1),
    )
    assert "true north is 30° clockwise from the y axis" in page.read_text(encoding="utf-8")
    with_arrow, without = (layout_picture(item).draw("SI", "svg") for item in (known, unknown))
    # The arrow: two polygons and a letter more.
    assert with_arrow.count(b"<path") >= without.count(b"<path") + 2
