"""The picture of the ground under maps, on the page and on paper."""

import base64
from dataclasses import replace
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from ohmscape.solver.ground_picture import GroundPicture
from ohmscape.solver.results.storage import load, save
from ohmscape.viz.canvas.hatching import light_left
from ohmscape.viz.maps.maps import draw_map
from ohmscape.viz.maps.plans import potential_map
from ohmscape.viz.report.map_data import map_data
from ohmscape.viz.report.pictures import layout_picture


@pytest.fixture(scope="module")
def pictured(result):
    """The result with a picture, its right half black."""
    grey = np.full((80, 100), 255, dtype=np.uint8)
    grey[:, 50:] = 0
    area = result.area
    picture = GroundPicture("ground.png", "0" * 64, grey, area.low, area.high, "words")
    return replace(result, ground_picture=picture)


def pixels(data):
    return np.asarray(Image.open(BytesIO(data)).convert("RGB"), dtype=float)


def drawn(result):
    file = BytesIO()
    draw_map(result, plan=potential_map(result), path=file)
    return pixels(file.getvalue())


def test_the_ground_darkens_a_map_and_leaves_its_colours(result, pictured):
    plain, shaded = drawn(result), drawn(pictured)
    # Somewhere in the left and in the right half of the map, by rows well inside it.
    rows = slice(400, 900)
    left, right = (np.s_[rows, 300:600], np.s_[rows, 1000:1250])
    np.testing.assert_allclose(shaded[left], plain[left], atol=1.0)
    ratio = shaded[right] / np.maximum(plain[right], 1.0)
    # The darkest that is left is well above black, and the same for all colours.
    bright = plain[right].min(axis=2) > 60
    assert np.median(ratio[bright]) == pytest.approx(0.62, abs=0.02)
    assert ratio[bright].std(axis=1).max() < 0.02


def test_dark_and_light_are_stretched_to_what_shows(pictured):
    faint = replace(
        pictured.ground_picture,
        grey=(100 + pictured.ground_picture.grey // 10).astype(np.uint8),
    )
    left = light_left(faint, faint.grey)
    assert (left.min(), left.max()) == (pytest.approx(0.62), 1.0)


def test_the_page_has_the_picture_where_the_map_is(result, pictured):
    assert map_data([result])["picture"] is None
    found = map_data([pictured])["picture"]
    assert (found["low"], found["high"]) == (list(result.area.low), list(result.area.high))
    image = pixels(base64.b64decode(found["address"].split(",")[1]))
    assert image[:, :40].min() > 245
    assert image[:, 60:].max() < 0.62 * 255 + 10


def test_the_plan_of_a_report_has_it_too(result, pictured):
    plain, shaded = (
        pixels(layout_picture(one).draw("SI", "png")) for one in (result, pictured)
    )
    assert plain.shape == shaded.shape
    assert shaded.mean() < plain.mean() - 5


def test_a_stored_result_keeps_it(pictured, tmp_path):
    save(pictured, tmp_path / "result.npz")
    again = load(tmp_path / "result.npz").ground_picture
    np.testing.assert_array_equal(again.grey, pictured.ground_picture.grey)
    assert again.words == "words"
