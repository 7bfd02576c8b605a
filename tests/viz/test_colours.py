"""One scale of colours, on pictures and in the report."""

import numpy as np
import pytest
from PIL import Image

from ohmscape.viz.canvas.levels import band_colours, colour_names, share_levels
from ohmscape.viz.maps.maps import draw_map
from ohmscape.viz.maps.margins import margin_map
from ohmscape.viz.maps.plans import potential_map
from ohmscape.viz.report.map_layers import map_layers


def _areas(path):
    """Colours that cover more than a hundredth of a picture, as #rrggbb, no greys."""
    with Image.open(path) as image:
        pixels = np.asarray(image.convert("RGB")).reshape(-1, 3)
    found, count = np.unique(pixels, axis=0, return_counts=True)
    large = found[(count > 0.01 * len(pixels)) & (np.ptp(found, axis=1) > 0)]
    return set(colour_names(large / 255))


def test_colours_are_named_as_pages_name_them():
    assert colour_names(np.array([[0.0, 0.5, 1.0], [1 / 255, 0.999, 0.0]])) == [
        "#0080ff",
        "#01ff00",
    ]


@pytest.mark.slow
def test_the_report_has_the_colours_of_the_pictures(result, tmp_path):
    layers = {layer["key"]: layer for layer in map_layers(result)}
    path = draw_map(result, plan=potential_map(result), path=tmp_path / "potential.png")
    areas = _areas(path)
    assert len(areas) > 3
    assert areas <= set(layers["potential"]["colours"])
    plan = margin_map(result, judgement=result.verdict.judgements[0])
    path = draw_map(result, plan=plan, path=tmp_path / "margin.png")
    assert _areas(path) <= set(layers["share0"]["colours"])


def test_a_share_of_a_limit_has_the_same_colour_on_every_map(result):
    shares = [layer for layer in map_layers(result) if layer["kind"].startswith("share")]
    scale = colour_names(band_colours(len(share_levels) + 1))
    for layer in shares:
        assert layer["levels"] == share_levels[: len(layer["levels"])].tolist()
        assert layer["colours"] == scale[: len(layer["levels"]) + 1]
