"""Pictures: complete, of their size, legible, and the same from the same data."""

import os
import subprocess
import sys
from dataclasses import replace
from hashlib import sha256
from itertools import combinations, product
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.text import Text
from PIL import Image

from ohmscape.solver.errors import MissingLibraryError
from ohmscape.solver.polygons import inside
from ohmscape.solver.results.result import Result
from ohmscape.solver.verdict.findings import permissible
from ohmscape.viz import draw
from ohmscape.viz.canvas import offscreen
from ohmscape.viz.canvas.boxes import Box
from ohmscape.viz.canvas.figures import figure_style
from ohmscape.viz.canvas.sheet import Sheet
from ohmscape.viz.maps.maps import draw_map
from ohmscape.viz.maps.margins import margin_map
from ohmscape.viz.maps.plans import touch_map
from ohmscape.viz.profiles import profile_figure, step_along
from ohmscape.viz.scene.blocks import layer_bounds, shown_block

pytestmark = pytest.mark.slow

_names = [
    "potential.png",
    "touch-box.png",
    "touch-tap.png",
    "step.png",
    "margin-at-the-box.png",
    "margin-on-the-lawn.png",
    "profile-across.png",
    "profile-across.svg",
    "profile-below.png",
    "profile-below.svg",
    "section.png",
    "section.svg",
    "scene.png",
]


Layouts = dict[str, tuple[tuple[int, int], list[Box]]]


def _drawn(result: Result, folder: Path) -> tuple[list[Path], list[str], Layouts]:
    """Draw; gives files, names told, and page size and text boxes of each picture."""
    layouts: Layouts = {}
    told: list[str] = []
    save = Sheet.save

    def spy(sheet: Sheet, path: Path, **more: Any) -> Path:
        layouts[path.name] = (sheet.size, list(sheet.texts))
        return save(sheet, path, **more)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Sheet, "save", spy)
        files = draw(result, folder, progress=lambda name, share: told.append(name))
    return files, told, layouts


@pytest.fixture(scope="module")
def drawn(result: Result, tmp_path_factory: pytest.TempPathFactory) -> tuple:
    return _drawn(result, tmp_path_factory.mktemp("pictures"))


@pytest.fixture(scope="module")
def pictures(drawn: tuple) -> dict[str, Path]:
    return {path.name: path for path in drawn[0]}


def _pixels(path: Path) -> np.ndarray:
    with Image.open(path) as image:
        return np.asarray(image.convert("RGB"), dtype=int)


def test_every_map_profile_and_the_scene_is_drawn(drawn, pictures):
    # Nobody in the mapped area can reach the far pole, and hands have no place: no pictures.
    assert list(pictures) == drawn[1] == _names


@pytest.mark.parametrize("name", [name for name in _names if name.endswith("png")])
def test_pictures_have_their_size_and_are_not_blank(pictures, name):
    pixels = _pixels(pictures[name])
    height, width, _ = pixels.shape
    assert width == 2000
    if name.startswith(("section", "profile")):  # as high as its soil is deep, or its keys
        assert 900 < height < 3000
    else:
        assert height == 1500
    ink = (pixels.sum(axis=2) < 3 * 250).mean()
    # A line drawing covers a few per cent, a filled map up to two thirds of the page.
    assert 0.01 < ink < 0.7
    margin = np.concatenate([pixels[:, :8].ravel(), pixels[:, -8:].ravel(), pixels[:8].ravel()])
    assert (margin == 255).all()


@pytest.mark.parametrize("name", ["potential.png", "touch-box.png", "step.png", "scene.png"])
def test_maps_show_several_bands_of_colour(pictures, name):
    pixels = _pixels(pictures[name])
    flat = pixels[..., 0] * 65536 + pixels[..., 1] * 256 + pixels[..., 2]
    count = np.unique(flat, return_counts=True)[1]
    # White, black and at least four bands, each over more than 2000 pixels.
    assert (count > 2000).sum() >= 6


@pytest.mark.slow
def test_pictures_are_the_same_from_the_same_data(result, pictures, tmp_path):
    for path in draw(result, tmp_path):
        one, other = (sha256(file.read_bytes()) for file in (path, pictures[path.name]))
        assert one.digest() == other.digest(), path.name


def _require_clear_text(layouts: Layouts) -> None:
    for picture, (size, texts) in layouts.items():
        page = Box(0, 0, *size)
        assert all(page.holds(box) for box in texts), picture
        # Boxes hold the full height of the type; two pixels of that are always empty.
        clashes = [
            (a, b) for a, b in combinations(texts, 2) if a.grown(-2).overlaps(b.grown(-2))
        ]
        assert not clashes, picture


def test_no_text_overlaps_another_or_leaves_the_page(drawn):
    assert all(len(texts) > 10 for _, texts in drawn[2].values())
    _require_clear_text(drawn[2])


def _require_clear_profile(result: Result) -> None:
    for profile, headed in product(result.profiles, (False, True)):
        with mpl.rc_context(figure_style):
            figure = profile_figure(result, profile=profile, units="US", headed=headed)
            figure.draw_without_rendering()
            texts = [
                text.get_window_extent()
                for text in figure.findobj(Text)
                if text.get_text().strip() and text.get_visible()
            ]
        used, page = figure.get_tightbbox(), figure.bbox_inches
        assert min(used.x0, used.y0, page.x1 - used.x1, page.y1 - used.y1) > 0, profile.name
        # Ticks beyond the axes are kept, and not drawn.
        drawn = [box for box in texts if box.x1 <= figure.bbox.x1 and box.y0 >= 0]
        for one, other in combinations(drawn, 2):
            across = min(one.x1, other.x1) - max(one.x0, other.x0)
            up = min(one.y1, other.y1) - max(one.y0, other.y0)
            assert min(across, up) < 3, profile.name  # boxes hold two pixels of nothing


def test_no_text_of_a_profile_overlaps_another_or_leaves_the_page(result):
    _require_clear_profile(result)


def test_a_step_along_a_profile_ends_a_pace_before_the_line(result):
    profile = result.profiles[0]
    steps = step_along(profile, pace=1.0)
    inner = profile.distance <= profile.distance[-1] - 1.0 + 1e-9
    # A pace is ten samples of this line.
    expected = np.abs(profile.potential[:-10] - profile.potential[10:])
    assert np.allclose(steps[: len(expected)], expected, rtol=1e-6)
    assert np.isnan(steps[~inner]).all()


def _lines(result: Result, start: str) -> dict[str, np.ndarray]:
    """Lines of the profile on a page whose names start so, as (distance, value)."""
    with mpl.rc_context(figure_style):
        figure = profile_figure(result, profile=result.profiles[0], units="SI")
    lines = figure.axes[1].get_lines()
    return {
        str(line.get_label()): np.array(line.get_data()).T
        for line in lines
        if str(line.get_label()).startswith(start)
    }


def test_a_profile_shows_a_limit_only_where_its_exposure_is(result):
    touch, step, *_ = result.verdict.judgements
    x_low, x_high = 1.0, 2.0
    strip = np.array([[x_low, -1.0], [x_high, -1.0], [x_high, 2.0], [x_low, 2.0]])
    only = replace(result.verdict, judgements=(touch, replace(step, outline=strip)))
    for verdict, low, high in ((result.verdict, -1.0, 3.0), (only, x_low, x_high)):
        found = _lines(replace(result, verdict=verdict), "limit: on the lawn")
        ((distance, limit),) = (line.T for line in found.values())
        x = -1.0 + distance[np.isfinite(limit)]
        # Samples are 0.1 m apart.
        assert x.min() == pytest.approx(low, abs=0.11)
        assert x.max() == pytest.approx(high, abs=0.11)


def test_a_profile_shows_the_step_with_growth_and_decrement(result):
    grown = replace(result.verdict, growth_factor=1.5)
    ((distance, volts),) = (
        line.T for line in _lines(replace(result, verdict=grown), "step").values()
    )
    potential = np.abs(result.profiles[0].potential)
    at = np.abs(distance - 1.0).argmin()
    # From x = 0 to a foot 1 m, ten samples, further on; the axis is in kV.
    expected = 1.5e-3 * abs(potential[at] - potential[at + 10])
    factor = result.verdict.decrement_factor
    assert volts[at] == pytest.approx(factor * expected, rel=1e-6)


@pytest.mark.slow
def test_long_names_are_wrapped_or_cut(result, tmp_path):
    words, block = "Transformer station north of the river, feeder 7 " * 4, "W" * 200
    conductors = replace(result.solution.conductors, group_names=(words, block))
    verdict = result.verdict
    judgements = tuple(
        replace(item, name=words, limit_name=block, metals=(words,))
        for item in verdict.judgements
    )
    shown = replace(
        result,
        title=block,
        verdict=replace(verdict, judgements=judgements),
        solution=replace(result.solution, conductors=conductors),
        metals=tuple(replace(metal, name=words) for metal in result.metals),
        worst=tuple(replace(worst, name=worst.name and words) for worst in result.worst),
        profiles=tuple(replace(profile, name=block) for profile in result.profiles),
    )
    files, _, layouts = _drawn(shown, tmp_path)
    assert len(files) == len(_names)
    _require_clear_text(layouts)
    _require_clear_profile(shown)


def test_touch_map_stays_blank_out_of_reach(result):
    metal = result.metals[0]
    plan = touch_map(result, metal=metal)
    assert plan is not None
    within = metal.within_reach(plan.places)
    # The map is cut at the reach, so it has samples on both sides of it.
    assert within.any()
    assert not within.all()
    rise = result.operating.voltage[metal.group]
    touch = np.abs(rise - result.field.surface_potential(plan.places[within]))
    # Samples between the new ones are linear between them: 1 % of the rise on this raster.
    assert np.abs(plan.values[within] - touch).max() < 0.01 * result.rise


def test_touch_map_of_metal_beyond_the_area_is_none(result):
    assert touch_map(result, metal=result.metals[2]) is None


def test_margin_maps_are_voltage_over_limit_by_ground(result):
    touch, step, pole, hands = result.verdict.judgements
    assert margin_map(result, judgement=pole) is None
    assert margin_map(result, judgement=hands) is None
    plan = margin_map(result, judgement=touch)
    metal = result.metals[0]
    within = metal.within_reach(plan.places)
    volts = result.operating.voltage[0] - result.field.surface_potential(plan.places[within])
    bare, gravel = (ground.limit.voltage for ground in touch.grounds)
    outline = touch.grounds[1].outline
    on = inside(plan.places[within], outline=outline)
    expected = 100 * np.abs(volts) / np.where(on, gravel, bare)
    # Samples between the new ones are linear between them: 1 % of the rise on this raster.
    assert np.abs(plan.values[within] - expected).max() < result.rise / bare
    assert plan.worst.value == pytest.approx(100 * touch.worst.share)
    lawn = margin_map(result, judgement=step)
    drawn = lawn.places[np.unique(lawn.triangles)]
    assert (np.abs(drawn - [1.0, 0.5]) <= [2.0 + 1e-6, 1.5 + 1e-6]).all()


@pytest.mark.slow
def test_what_passes_the_limit_is_hatched(result, tmp_path):
    plan = margin_map(result, judgement=result.verdict.judgements[1])

    def ink(times: float) -> float:
        scaled = replace(plan, values=times * plan.values, worst=None)
        pixels = _pixels(draw_map(result, plan=scaled, path=tmp_path / "map.png"))
        return float((pixels[200:1340, 150:1450].sum(axis=2) < 100).mean())

    top = float(plan.values.max())
    below, above = ink(99 / top), ink(1e4 / top)
    # Lines of 2.5 pixels every 16 cover about a sixth of all that is above the limit.
    assert above > below + 0.02


def test_block_shows_all_metal_and_the_layer_plane_and_is_cut_at_the_metal(result):
    block = shown_block(result)
    assert block.depth > 2.2  # the deepest rod
    assert layer_bounds(result, shape=block) == [(0.0, 1.3), (1.3, block.depth)]
    assert block.cut == pytest.approx(0.1, abs=1e-6)  # most metal lies along y = 0.1 m
    height = block.depth * block.stretch
    assert height >= 0.25 * 5.0  # of the width: no flat plate


def test_missing_system_library_is_named_with_its_remedy(monkeypatch):
    monkeypatch.setattr(offscreen.sys, "platform", "linux")
    monkeypatch.setattr(offscreen, "find_library", lambda name: None if name == "EGL" else name)
    offscreen._missing_libraries.cache_clear()
    try:
        with pytest.raises(MissingLibraryError, match=r"libEGL.*apt-get install"):
            offscreen.graphics()
    finally:
        offscreen._missing_libraries.cache_clear()


def test_import_loads_no_graphics():
    code = (
        "import sys, ohmscape.viz;"
        "print(sorted({'pyvista', 'vtkmodules', 'matplotlib', 'meshio'} & set(sys.modules)))"
    )
    run = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env=os.environ
    )
    assert run.stdout.strip() == "[]"


def test_a_drawn_share_of_a_step_is_by_a_limit_under_a_foot(result):
    judgement = result.verdict.judgements[1]
    assert judgement.kind == "step"
    plan = margin_map(result, judgement=judgement)
    # Samples added where a foot may stand on other ground are more than those judged.
    assert len(plan.places) > len(result.surface.places)
    drawn = np.unique(plan.triangles)
    places, values = plan.places[drawn], plan.values[drawn]
    here = result.field.surface_potential(places)
    factor = result.verdict.growth_factor * result.verdict.decrement_factor
    own = permissible(judgement.grounds, places=places)
    assert own.max() > 5 * own.min()
    largest = np.zeros(len(places))
    for angle in 2 * np.pi * np.arange(64) / 64:
        other = places + judgement.pace * np.array([np.cos(angle), np.sin(angle)])
        volts = factor * np.abs(here - result.field.surface_potential(other))
        limit = np.minimum(own, permissible(judgement.grounds, places=other))
        largest = np.maximum(largest, 100 * volts / limit)
    off = np.abs(largest / values - 1)
    # Directions are sought among few: a pace from a rod the worst one may lie between, and a
    # pace from an edge the one that just comes over it.
    assert np.median(off) < 0.005
    assert np.quantile(off, 0.95) < 0.05
    # Joined between samples on either side of an edge it would lie between both limits.
    assert off.max() < 0.35
