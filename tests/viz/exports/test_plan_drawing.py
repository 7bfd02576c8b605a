"""Plans as drawings, read again by the library and by the program itself."""

import io

import ezdxf
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape import load_case, run_case
from ohmscape.cases.loading import load_case_text
from ohmscape.viz.exports.dxf import write_dxf
from ohmscape.viz.exports.features import (
    LIMIT,
    METAL,
    POTENTIAL,
    RODS,
    UNSAFE,
    WORST,
    plan_features,
)

FOOT = 0.3048  # m

DRAWN = """
ohmscape: 1
title: drawn earth
drawing:
  file: site.dxf
  unit: ft
  origin: [1000000 ft, 2000000 ft]
  rotation: 30 deg
soil: {layers: [{resistivity: 100 ohm*m}]}
electrodes:
  - name: earth
    drive: {current: 50 A}
    parts:
      - {kind: drawn conductors, layers: [EARTH], depth: 0.5 m, diameter: 10 mm}
      - {kind: drawn rods, blocks: [STAKE], top_depth: 0.5 m, length: 2 m, diameter: 16 mm}
study: {area: {margin: 2 m}}
numerics: {accuracy: coarse, second_opinion: never}
"""


@pytest.fixture(scope="module")
def result():
    return run_case(load_case("pad-transformer"), accuracy="coarse")


@pytest.fixture(scope="module")
def written(result, tmp_path_factory):
    return ezdxf.readfile(write_dxf(result, tmp_path_factory.mktemp("plan")))


def on(drawing, layer, kind=None):
    return [
        item
        for item in drawing.modelspace()
        if item.dxf.layer == layer and kind in (None, item.dxftype())
    ]


def told(item):
    return [tag.value for tag in item.get_xdata("OHMSCAPE")]


def test_the_drawing_is_whole_and_in_the_units_of_the_case(written):
    audit = written.audit()
    assert audit.errors == []
    assert audit.fixes == []
    assert written.units == ezdxf.units.FT


def test_metal_lies_where_it_is_within_a_millimetre(result, written):
    metal = result.solution.conductors
    drawn = [
        (*item.dxf.start, *item.dxf.end)
        for item in written.modelspace().query("LINE")
        if item.dxf.layer.startswith(("METAL", "RODS"))
    ]
    assert_allclose(
        sorted(drawn), sorted((np.hstack([metal.start, metal.end]) / FOOT).tolist()), atol=1e-9
    )


def test_every_feature_is_there_on_its_layer_with_its_value(result, written):
    found = list(plan_features(result))
    themes = {feature.theme for feature in found}
    assert {METAL, RODS, POTENTIAL, LIMIT, UNSAFE, WORST} <= themes
    contours = [one for one in found if one.theme == POTENTIAL]
    drawn = on(written, "POTENTIAL", "LWPOLYLINE")
    assert len(drawn) == len(contours)
    for feature, item in zip(contours, drawn, strict=True):
        words, value, unit = told(item)
        assert (value, unit) == (feature.value, "V")
        assert words.startswith("Surface potential, ")
        assert_allclose(item.get_points("xy"), feature.points / FOOT, atol=1e-9)


def test_contours_are_where_the_field_has_their_value(result):
    for feature in plan_features(result):
        if feature.theme == POTENTIAL:
            inner = feature.points[np.abs(feature.points).max(axis=1) < 6]
            potential = result.field.surface_potential(inner)
            # Contours are of the map's samples, the field of everywhere.
            assert_allclose(potential, feature.value, rtol=0.03)


def test_unsafe_areas_are_hatched_and_worst_places_marked(result, written):
    layers = {layer.dxf.name for layer in written.layers}
    unsafe = [name for name in layers if name.startswith("UNSAFE")]
    assert unsafe
    for name in unsafe:
        assert len(on(written, name, "HATCH")) == len(on(written, name, "LWPOLYLINE")) > 0
    worst = next(item for item in result.worst if item.kind == "touch")
    (mark,) = on(written, f"WORST PLACES {worst.name.upper()}", "INSERT")
    assert_allclose(tuple(mark.dxf.insert)[:2], np.array(worst.foot) / FOOT, atol=1e-9)
    assert told(mark)[1] == pytest.approx(worst.voltage)


def test_layers_say_what_they_hold_and_the_sheet_what_to_mind(written):
    assert "remote earth" in written.layers.get("POTENTIAL").description
    assert not written.layers.get("POTENTIAL").is_off()
    assert written.layers.get("STEP").is_off()
    (about,) = on(written, "ABOUT")
    assert "licensed practice" in about.text


def test_a_plan_goes_back_into_the_drawing_it_came_from(tmp_path):
    sheet = ezdxf.new("R2010")
    sheet.units = ezdxf.units.FT
    space = sheet.modelspace()
    sheet.layers.add("EARTH")
    corners = [(1e6 + x, 2e6 + y) for x, y in [(0, 0), (20, 0), (20, 15), (0, 15)]]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": "EARTH"})
    sheet.blocks.new("STAKE").add_circle((0, 0), 0.3)
    space.add_blockref("STAKE", corners[2])
    sheet.saveas(tmp_path / "site.dxf")
    case = load_case_text(DRAWN, folder=tmp_path)
    plan = ezdxf.readfile(write_dxf(run_case(case), tmp_path))
    assert plan.units == ezdxf.units.FT
    millimetre = 1e-3 / FOOT
    ends = {tuple(np.round(point, 6)) for item in on(plan, "METAL EARTH") for point in
            ((*item.dxf.start,)[:2], (*item.dxf.end,)[:2])}  # fmt: skip
    assert_allclose(sorted(ends), sorted(corners), atol=millimetre)
    (rod,) = on(plan, "RODS EARTH")
    assert_allclose((*rod.dxf.start,), [*corners[2], -0.5 / FOOT], atol=millimetre)
    # What is written is taken again, to the same metal.
    (tmp_path / "site.dxf").write_bytes((tmp_path / "plan.dxf").read_bytes())
    again = DRAWN.replace("layers: [EARTH], depth: 0.5 m", 'layers: ["METAL EARTH"]')
    again = "\n".join(line for line in again.splitlines() if "drawn rods" not in line)
    same = load_case_text(again, folder=tmp_path)
    kept = case.conductors.part == 0
    assert_allclose(
        np.sort(same.conductors.start, axis=0),
        np.sort(case.conductors.start[kept], axis=0),
        atol=1e-3,
    )


def test_names_that_the_format_does_not_take_are_changed_and_stay_apart(tmp_path):
    rod = "{kind: rod, at: [%s m, 0 m], top_depth: 0 m, length: 2 m, diameter: 16 mm}"
    text = f"""
ohmscape: 1
title: 'odd <names>'
soil: {{layers: [{{resistivity: 100 ohm*m}}]}}
electrodes:
  - {{name: 'a:b', drive: {{current: 1 A}}, parts: [{rod % 0}]}}
  - {{name: 'a;b', drive: {{floating: true}}, parts: [{rod % 4}]}}
numerics: {{accuracy: coarse, second_opinion: never}}
"""
    plan = ezdxf.readfile(write_dxf(run_case(load_case_text(text)), tmp_path))
    assert len(on(plan, "RODS A B")) == len(on(plan, "RODS A B 2")) == 1
    text = io.StringIO()
    plan.write(text)
    assert "odd <names>" in text.getvalue()
