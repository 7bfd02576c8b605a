"""Pictures for print: dots per inch, grey, colour-blind readers, texts that hide nothing."""

import re
from dataclasses import replace

import numpy as np
import pytest
from matplotlib.text import Text
from PIL import Image

from ohmscape.solver.polygons import nearest_on_segments
from ohmscape.solver.results.variants import Comparison, Quantity
from ohmscape.viz import variants as comparing
from ohmscape.viz.canvas.boxes import Box
from ohmscape.viz.canvas.frame import Frame
from ohmscape.viz.canvas.legend import draw_bands, draw_group_key, group_state
from ohmscape.viz.canvas.levels import Levels, band_colours
from ohmscape.viz.canvas.sheet import Sheet
from ohmscape.viz.drawing import profile_pictures
from ohmscape.viz.maps.map_panel import map_room
from ohmscape.viz.maps.maps import draw_map
from ohmscape.viz.maps.margins import margin_map
from ohmscape.viz.maps.plans import step_map, touch_map
from ohmscape.viz.scene.leakage import shown_leakage
from ohmscape.viz.scene.scene import draw_scene
from ohmscape.viz.variants import draw_comparison
from ohmscape.viz.wording import Unit

# Colours as people see them who lack one kind of cone, on linear red, green and blue:
# Machado, Oliveira and Fernandes 2009, severity 1.0; from memory.
_blindness = {
    "protanopia": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deuteranopia": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritanopia": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
    "grey print": [[0.2126, 0.7152, 0.0722]] * 3,
}


@pytest.fixture(scope="module")
def touch(result):
    plan = touch_map(result, metal=result.metals[0])
    assert plan is not None
    return plan


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["map", "scene", "profile", "comparison"])
def test_pictures_are_160_mm_wide_at_300_dots_per_inch_or_more(result, touch, kind, tmp_path):
    path = tmp_path / "picture.png"
    if kind == "map":
        draw_map(result, plan=touch, path=path)
    elif kind == "scene":
        draw_scene(result, path=path)
    elif kind == "profile":
        profile_pictures(result)[0][1](path=path)
    else:
        draw_comparison(_compared("a", count=2), title="t", path=path)
    with Image.open(path) as image:
        across, up = image.info["dpi"]
        assert across == up >= 300
        assert image.width / across * 25.4 == pytest.approx(160, abs=0.1)


@pytest.mark.parametrize("scale", ["cividis", "magma"])
@pytest.mark.parametrize("sight", _blindness)
def test_bands_rank_from_dark_to_light_for_every_reader(scale, sight):
    colours = band_colours(9, scale=scale)
    linear = np.where(colours <= 0.04045, colours / 12.92, ((colours + 0.055) / 1.055) ** 2.4)
    seen = np.clip(linear @ np.array(_blindness[sight]).T, 0, 1)
    lightness = 116 * np.cbrt(seen @ [0.2126, 0.7152, 0.0722]) - 16
    # Five steps of lightness between neighbours are seen at once; two side by side.
    assert np.diff(lightness).min() > 2


@pytest.mark.slow
def test_the_value_of_the_worst_place_does_not_lie_on_the_metal(
    result, touch, tmp_path, monkeypatch
):
    texts = []
    write = Sheet.text

    def spy(sheet, at, text, **options):
        box = write(sheet, at, text, **options)
        texts.append((text, options.get("backed", False), box))
        return box

    monkeypatch.setattr(Sheet, "text", spy)
    draw_map(result, plan=touch, path=tmp_path / "map.png")
    (box,) = [
        box
        for text, backed, box in texts
        if backed and text == touch.value_text(touch.worst.value)
    ]
    frame = Frame.equal_scale(map_room, low=touch.low, high=touch.high)
    corners = frame.page(touch.metal.vertices)
    ends = np.stack([corners, np.roll(corners, -1, axis=0)], axis=1)
    within = Frame(box, (box.left, box.bottom), (box.right, box.top))
    assert len(within.clipped(ends)) == 0


@pytest.mark.slow
def test_the_highest_value_is_never_below_a_level(result, touch, tmp_path, monkeypatch):
    seen = []
    monkeypatch.setattr(
        "ohmscape.viz.maps.map_panel.draw_bands",
        lambda sheet, **given: seen.append(given["levels"]) or draw_bands(sheet, **given),
    )
    # Interpolated samples are above the worst place, which is just below a level of 10 V.
    top = float(touch.values.max())
    scaled = replace(
        touch, values=touch.values * 100.3 / top, worst=replace(touch.worst, value=99.8)
    )
    draw_map(result, plan=scaled, path=tmp_path / "map.png")
    (levels,) = seen
    assert levels.high == 99.8
    assert (levels.inner < levels.high).all()


@pytest.mark.slow
def test_the_limit_is_a_line_of_its_own_without_a_number(result, tmp_path, monkeypatch):
    told = []
    monkeypatch.setattr(
        "ohmscape.viz.maps.maps.label_contours",
        lambda sheet, *, contours, **rest: told.extend(value for _, value in contours),
    )
    plan = margin_map(result, judgement=result.verdict.judgements[0])
    draw_map(
        result,
        plan=replace(plan, values=plan.values * 190 / plan.values.max(), worst=None),
        path=tmp_path / "map.png",
    )
    levels = {round(value) for value in told}
    assert {80, 125} <= levels
    assert 100 not in levels


def test_margin_maps_are_fine_where_the_ground_changes(result):
    judgement = result.verdict.judgements[0]
    outline = judgement.grounds[1].outline
    ends = np.roll(outline, -1, axis=0)

    def at_the_edge(plan):
        corners = plan.places[plan.triangles]
        sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
        middle = corners.mean(axis=1)
        gap = np.linalg.norm(
            middle - nearest_on_segments(middle, start=outline, end=ends), axis=1
        )
        return sides[gap < 0.02].max()

    plain = touch_map(result, metal=result.metals[0])
    fine = margin_map(result, judgement=judgement)
    assert at_the_edge(fine) == pytest.approx(at_the_edge(plain) / 4, rel=0.01)


def test_ends_of_a_legend_do_not_read_as_levels(monkeypatch):
    sheet, texts = Sheet((2000, 1500)), []
    monkeypatch.setattr(
        Sheet, "text", lambda self, at, text, **options: texts.append(text) or Box(0, 0, 1, 1)
    )
    levels = Levels(639.7, 843.2, np.arange(640.0, 841.0, 20.0))
    draw_bands(
        sheet, box=Box(0, 0, 500, 900), title="Touch", levels=levels,
        colours=band_colours(levels.bands), unit=Unit(1.0, "V"),
    )  # fmt: skip
    assert {"639.7 lowest", "843 highest"} <= {*texts}
    # What is nothing beside the highest value is told as nothing.
    levels = Levels(8.4e-4, 145.0, np.arange(20.0, 141.0, 20.0))
    draw_bands(
        sheet, box=Box(0, 0, 500, 900), title="Touch", levels=levels,
        colours=band_colours(levels.bands), unit=Unit(1.0, "V"),
    )  # fmt: skip
    assert "0 lowest" in texts


def _compared(place, *, count, variants=3):
    names = ("as it stands", "a dry summer that lasted", "frozen", "wet", "bare", "bonded")
    values = np.array([470.0, 12.0, 1912.0, 800.0, 900.0, 1800.0])[:variants]
    quantities = tuple(
        Quantity(f"voltage {k}", unit, values, (place,) * variants)
        for k, unit in zip(range(count), "V%ΩVV%VV", strict=False)
    )
    return Comparison(names[:variants], quantities)


@pytest.mark.parametrize(
    ("count", "variants"),
    [
        (1, 3),
        *(
            pytest.param(*each, marks=pytest.mark.slow)
            for each in [(2, 3), (5, 3), (8, 3), (8, 6)]
        ),
    ],
)
@pytest.mark.parametrize("place", ["", "tap", "at the fence from outside, in the rain " * 2])
def test_no_text_of_a_comparison_is_cut_off_or_on_another(count, variants, place):
    compared = _compared(place, count=count, variants=variants)
    figure = comparing.comparison_figure(compared, title="Title " * 40)
    figure.draw_without_rendering()
    # At 160 mm it has room on A4 and on Letter.
    assert figure.get_figheight() * 160 / figure.get_figwidth() < 255
    used, page = figure.get_tightbbox(), figure.bbox_inches
    assert min(used.x0, used.y0, page.x1 - used.x1, page.y1 - used.y1) > 0
    texts = [
        text.get_window_extent()
        for text in figure.findobj(Text)
        if text.get_text().strip() and text.get_visible()
    ]
    for number, one in enumerate(texts):
        for other in texts[:number]:
            across = min(one.x1, other.x1) - max(one.x0, other.x0)
            up = min(one.y1, other.y1) - max(one.y0, other.y0)
            assert min(across, up) < 3  # boxes hold two pixels of nothing


def test_leakage_is_per_foot_for_readers_in_feet(result):
    metric, customary = (replace(result, units=units) for units in ("SI", "US"))
    # A foot lets out 0.3048 of what a metre does.
    ratio = shown_leakage(customary) / shown_leakage(metric)
    assert ratio == pytest.approx(np.full(len(ratio), 0.3048), rel=1e-12)


def test_the_scene_names_the_unit_of_its_lengths(result, tmp_path, monkeypatch):
    texts, write = [], Sheet.text

    def spy(sheet, at, text, **options):
        texts.append(text)
        return write(sheet, at, text, **options)

    monkeypatch.setattr(Sheet, "text", spy)
    draw_scene(replace(result, units="US"), path=tmp_path / "scene.png")
    assert any(text.endswith("A/ft]") for text in texts)
    assert not [text for text in texts if re.search(r"\d m\b|A/m", text)]


def test_a_key_has_no_line_that_the_map_has_not(result):
    verdict = result.verdict
    outline = verdict.step_outline
    assert outline is not None
    assert step_map(result).curve is not None
    none = replace(outline, segments=np.zeros((0, 2, 2)))
    assert step_map(replace(result, verdict=replace(verdict, step_outline=none))).curve is None


def test_the_rise_of_an_electrode_is_kept_beside_a_long_name(result, monkeypatch):
    sheet, texts = Sheet((2000, 1500)), []
    monkeypatch.setattr(
        Sheet, "text", lambda self, at, text, **options: texts.append(text) or Box(0, 0, 1, 1)
    )
    conductors = replace(
        result.solution.conductors,
        group_names=tuple(f"pole ground number {k} beside the road" for k in (1, 2)),
    )
    named = replace(result, solution=replace(result.solution, conductors=conductors))
    draw_group_key(sheet, box=Box(0, 0, 480, 900), result=named)
    assert [text for text in texts if text.startswith("pole ground number 2")]
    for group in (0, 1):
        assert group_state(result, group=group).removeprefix(": ") in texts
