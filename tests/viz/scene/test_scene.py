"""The 3-D view: no metal is hidden, leakage reads alike on paper and page, layers are named."""

from dataclasses import replace

import numpy as np
import pytest

from ohmscape.solver.model import Soil
from ohmscape.viz.canvas.levels import colour_names, contour_levels
from ohmscape.viz.canvas.sheet import Sheet
from ohmscape.viz.report.scene_data import scene_data
from ohmscape.viz.scene.blocks import shown_block
from ohmscape.viz.scene.leakage import leakage_bands, leakage_name, shown_leakage
from ohmscape.viz.scene.scene import _render, draw_scene


def texts_of(result, path, monkeypatch):
    texts, write = [], Sheet.text

    def spy(sheet, at, text, **options):
        texts.append(text)
        return write(sheet, at, text, **options)

    monkeypatch.setattr(Sheet, "text", spy)
    draw_scene(result, path=path)
    return texts


def test_all_metal_is_seen_also_in_the_soil_that_is_left(result):
    shape, leakage = shown_block(result), leakage_bands(result)
    levels = contour_levels(
        np.real(result.surface.potential), weights=np.ones(len(result.surface.potential))
    )
    pixels, where = _render(result, shape=shape, levels=levels, leakage=leakage)
    elements = result.solution.elements
    assert (elements.middle[:, 1] > shape.cut + 0.5).any()  # the rod behind the cut
    x, y = np.round(where(elements.middle)).astype(int).T
    # Columns from the left edge of the view on a sheet, rows from its top.
    at = pixels[1300 - y, x - 40].astype(float)
    apart = np.abs(at[:, None] - np.round(255 * leakage.colours)).max(axis=2)
    # An edge of another tube may lie on a few; at joints many are shorter than wide.
    assert elements.length[apart.min(axis=1) < 3].sum() > 0.97 * elements.length.sum()
    own = np.digitize(shown_leakage(result), leakage.levels.inner)
    assert (apart[np.arange(len(own)), own] < 3).mean() > 0.9


@pytest.mark.parametrize("units", ["SI", "US"])
def test_leakage_has_one_name_and_one_direction_on_paper_and_page(
    result, units, tmp_path, monkeypatch
):
    bands = leakage_bands(replace(result, units=units))
    page = scene_data(result)
    assert page["leakageBands"][units]["colours"] == colour_names(bands.colours)
    foot = {"SI": 1.0, "US": 0.3048}[units]
    told = np.array(page["leakageBands"][units]["levels"]) * foot
    assert told == pytest.approx(bands.levels.inner, rel=1e-9)
    texts = texts_of(replace(result, units=units), tmp_path / "scene.png", monkeypatch)
    assert page["leakageName"] == leakage_name
    assert leakage_name in " ".join(texts)
    # The more, the darker: luminance by ITU-R BT.709, from memory.
    assert (np.diff(bands.colours @ [0.2126, 0.7152, 0.0722]) < 0).all()


def test_current_into_the_metal_is_as_wide_as_it_is_large(result):
    turned = replace(
        result, operating=replace(result.operating, voltage=-result.operating.voltage)
    )
    bands = leakage_bands(turned)
    assert bands.levels.high > 0 > bands.levels.low
    assert bands.widths[0] == 1.0
    edges = [bands.levels.low, *bands.levels.inner, bands.levels.high]
    low, high = edges[bands.widths.argmin() :][:2]
    assert low <= 0 <= high


@pytest.mark.slow
def test_thin_layers_are_named_beside_the_block(result, tmp_path, monkeypatch):
    soil = Soil((130.0, 41.0, 402.0, 73.0), (1.3, 0.02, 0.03))
    layered = replace(result, solution=replace(result.solution, soil=soil))
    texts = texts_of(layered, tmp_path / "scene.png", monkeypatch)
    for resistivity in soil.resistivity:
        assert f"{resistivity:.0f} Ω·m" in texts
