"""Outlines of the levels asked for, on the map of their voltage and nowhere else."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.distances import Distances, Level, LevelOutline
from ohmscape.viz.canvas.sheet import Sheet
from ohmscape.viz.maps.maps import draw_map
from ohmscape.viz.maps.margins import margin_map
from ohmscape.viz.maps.plans import potential_map, step_map, touch_map
from ohmscape.viz.report.map_data import map_data


def square(half, centre):
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]], dtype=float)
    return centre + half * corners


@pytest.fixture(scope="module")
def asked(result):
    """The result as if these levels had been asked for and found; factor 1.2."""
    middle = np.add(result.area.low, result.area.high) / 2
    metal = result.metals[0]
    on_metal = metal.vertices.mean(axis=0)

    def outline(level, *polygons):
        return LevelOutline(level, polygons, 1.0, None, True)

    levels = (
        outline(Level("zone", "potential", 40.0), square(1.0, middle)),
        outline(Level("inner zone", "potential", 60.0), square(0.5, middle)),
        outline(Level("far", "potential", 1.0), square(1e4, middle)),
        outline(Level("nowhere", "potential", 1e6)),
        outline(Level("stock", "step", 9.0), square(0.7, middle)),
        outline(Level("grip", "touch", 15.0, metal.name), square(0.4, on_metal)),
    )
    return replace(result, distances=Distances(1.2, 100.0, levels, (), ()))


def named(plan):
    return [] if plan is None else [line.name for line in plan.levels]


def test_each_map_has_the_levels_of_its_own_voltage_that_run_through_it(asked):
    assert named(potential_map(asked)) == ["zone", "inner zone"]
    assert named(step_map(asked)) == ["stock"]
    assert named(touch_map(asked, metal=asked.metals[0])) == ["grip"]
    assert all(not named(touch_map(asked, metal=metal)) for metal in asked.metals[1:])
    for judgement in asked.verdict.judgements:
        plan = margin_map(asked, judgement=judgement)
        assert plan is None or not plan.levels


def test_without_levels_nothing_is_drawn(result):
    assert potential_map(replace(result, distances=None)).levels == ()


def test_an_outline_is_closed_and_says_what_it_is(asked):
    line = potential_map(asked).levels[0]
    segments = line.segments
    assert_allclose(segments[:, 1], np.roll(segments[:, 0], -1, axis=0))
    assert len(segments) == 4
    assert line.words == ("zone: potential 40.0 V is met within, growth and decrement included")


def test_the_picture_names_each_level_on_its_line_and_in_the_key(asked, tmp_path, monkeypatch):
    texts, strokes = [], []
    write, lines = Sheet.text, Sheet.lines

    def spy(sheet, at, text, **options):
        texts.append(text)
        return write(sheet, at, text, **options)

    def draw(sheet, segments, **options):
        strokes.append(options)
        return lines(sheet, segments, **options)

    monkeypatch.setattr(Sheet, "text", spy)
    monkeypatch.setattr(Sheet, "lines", draw)
    draw_map(asked, plan=potential_map(asked), path=tmp_path / "potential.png")
    assert "zone" in texts
    assert "inner zone" in texts
    said = " ".join(texts)
    assert "zone: potential 40.0 V is met" in said
    # White dashes of another pattern for each, on the map and in the key.
    patterns = [item["dash"] for item in strokes if item.get("colour") == (1.0, 1.0, 1.0)]
    dashed = [dash for dash in patterns if dash]
    assert len(dashed) == 4
    assert len(set(dashed)) == 2


def test_the_page_has_them_with_their_layer(asked):
    (variant, *_) = map_data([asked])["variants"]
    found = {
        layer["key"]: [level["name"] for level in layer["asked"]] for layer in variant["layers"]
    }
    assert found["potential"] == ["zone", "inner zone"]
    assert found["step"] == ["stock"]
    assert found["touch0"] == ["grip"]
    assert not any(names for key, names in found.items() if key.startswith("share"))
