"""Vertical section: laid where it says, true to the field, legible."""

from dataclasses import replace
from itertools import combinations

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.text import Text
from matplotlib.tri import LinearTriInterpolator, Triangulation
from numpy.testing import assert_allclose

from ohmscape.solver.model import Soil
from ohmscape.viz.canvas.figures import figure_style
from ohmscape.viz.section.parts import key_entries
from ohmscape.viz.section.plane import SectionPlane, section_plane
from ohmscape.viz.section.samples import section_metal
from ohmscape.viz.section.section import section_figure, section_of


@pytest.fixture(scope="module")
def section(result):
    return section_of(result)


def laid(origin, towards, *, start=-2.0, end=4.0) -> SectionPlane:
    """A plane by hand; metal up to 0.1 m beside it is drawn."""
    origin, towards = np.array(origin), np.array(towards)
    direction = (towards - origin) / np.linalg.norm(towards - origin)
    return SectionPlane(origin, direction, start, end, 2.0, "by hand", "", towards)


def test_plane_follows_the_first_profile_over_the_whole_map(result):
    plane = section_plane(result)
    assert plane.name == "across"
    # The profile runs from (-1, 0.3) along x; the map from x = -1.5 m to 3.5 m. Soil shown
    # 3.3 m deep is shown at least 5.5 m wide.
    assert_allclose([plane.depth, plane.start, plane.end], [3.3, -0.75, 4.75])
    assert_allclose(plane.points(np.array([[1.2, -0.7]])), [[0.2, 0.3, -0.7]])
    assert "Along the profile 'across', from (−1.0, 0.3) m to (3.0, 0.3) m" in plane.words("SI")
    assert "(−3.3, 1.0) ft" in plane.words("US")


def test_a_profile_that_leads_out_of_the_map_is_shown_whole(result):
    profile = result.profiles[0]
    longer = replace(profile, points=profile.points * [3.0, 1.0, 1.0])
    plane = section_plane(replace(result, profiles=(longer,)))
    # From x = -3 m to 9 m, where the map ends at 3.5 m.
    assert_allclose([plane.start, plane.end], [0.0, 12.0])


def test_without_a_profile_it_runs_through_leakage_and_worst_touch(result):
    bare = replace(result, profiles=())
    plane = section_plane(bare)
    elements = result.solution.elements
    strongest = elements.middle[np.abs(result.field.leakage).argmax()]
    touch = max((w for w in result.worst if w.kind == "touch"), key=lambda w: w.voltage)
    flat, beside = plane.flat(np.array([strongest, [*touch.foot, 0.0]]))
    assert_allclose(beside, 0.0, atol=1e-9)
    assert_allclose(flat[0], [0.0, strongest[2]], atol=1e-9)
    assert "worst touch voltage" in plane.words("SI")
    stepping = tuple(item for item in result.worst if item.kind == "step")
    assert "worst step" in section_plane(replace(bare, worst=stepping)).words("SI")
    assert "middle of the metal" in section_plane(replace(bare, worst=())).words("SI")


def test_all_metal_fits_above_the_bottom(result):
    plane = section_plane(result)
    assert plane.depth > 2.2
    assert 0.35 <= plane.depth / plane.width <= 0.6 + 1e-9


def test_metal_in_the_plane_beside_it_and_through_it_is_told_apart(result):
    rod_and_tail = section_metal(result, plane=laid([-1.0, 0.1], [3.0, 0.1]))
    assert rod_and_tail.inside.all()
    assert len(rod_and_tail.crossings) == 0
    ends = np.sort(rod_and_tail.lines[:, :, 1].ravel())
    assert_allclose([ends[0], ends[-1]], [-2.2, -0.1])  # the rod; the other one is 1 m away
    beside = section_metal(result, plane=laid([-1.0, 0.16], [3.0, 0.16]))
    assert len(beside.lines) > 0
    assert not beside.inside.any()
    through = section_metal(result, plane=laid([0.8, -1.0], [0.8, 3.0]))
    assert_allclose(through.crossings, [[1.1, -0.1]], atol=1e-9)
    assert through.crossing_group.tolist() == [0]
    assert len(through.lines) == 0
    away = section_metal(result, plane=laid([-1.0, -1.0], [3.0, -1.0]))
    assert len(away.lines) == len(away.crossings) == 0


def test_metal_beside_the_plane_is_cut_where_it_is_too_far(result):
    # At 45° through the tail's end the part within 0.1 m is 0.14 m long.
    plane = laid([1.4, 0.1], [2.4, 1.1])
    metal = section_metal(result, plane=plane)
    assert_allclose(metal.crossings, [[0.0, -0.1]], atol=1e-9)
    slanting = laid([0.2, 0.15], [1.4, 0.35])
    lines = section_metal(result, plane=slanting).lines
    flat = lines[np.ptp(lines[:, :, 1], axis=1) < 1e-9]
    far = slanting.points(flat.reshape(-1, 2))
    assert len(flat)
    # What is drawn at a distance along the plane stands within 0.1 m beside it.
    assert np.abs(far[:, 1] - 0.1).max() < 0.1 / np.cos(np.arctan(1 / 6)) + 0.02


def test_samples_are_the_field(result, section):
    samples, plane = section.samples, section.plane
    finder = Triangulation(*samples.flat.T, samples.triangles)
    rng = np.random.default_rng(4)
    low, high = [plane.start, -plane.depth], [plane.end, 0.0]
    flat = rng.uniform(low, high, (200, 2))
    read = LinearTriInterpolator(finder, samples.potential)(*flat.T)
    assert not np.ma.is_masked(read)
    field = result.field.potential(plane.points(flat))
    # Linear between samples a 240th of the width apart.
    assert_allclose(read, field, atol=0.004 * result.rise)
    assert_allclose(samples.weights.sum(), plane.width * plane.depth, rtol=0.02)


@pytest.mark.slow
def test_soil_is_nowhere_above_the_rise(result):
    through = replace(result, profiles=(replace(result.profiles[0], points=np.array(
        [[-1.0, 0.1, 0.0], [3.0, 0.1, 0.0]])),))  # fmt: skip
    highest = section_of(through).samples.potential.max()
    assert 0.97 * result.rise < highest <= result.rise


@pytest.mark.slow
@pytest.mark.parametrize("units", ["SI", "US"])
@pytest.mark.parametrize("headed", [True, False])
@pytest.mark.parametrize("layers", ["two", "six", "one"])
def test_no_text_overlaps_another_or_leaves_the_page(result, section, units, headed, layers):
    soils = {
        "one": Soil((130.0,)),
        "two": result.solution.soil,
        "six": Soil((1230.0, 567.0, 89.0, 1e4, 0.5, 20.0), (0.1, 0.1, 0.1, 0.1, 0.1)),
    }
    wordy = "Transformer station north of the river, feeder 7 " * 4
    names = (wordy, "W" * 200)
    conductors = replace(result.solution.conductors, group_names=names)
    solution = replace(result.solution, soil=soils[layers], conductors=conductors)
    shown = replace(result, title=wordy, solution=solution)
    section = replace(section, plane=replace(section.plane, name=wordy))
    with mpl.rc_context(figure_style):
        figure = section_figure(shown, section=section, units=units, headed=headed)
        figure.draw_without_rendering()
        texts = [
            text
            for text in figure.findobj(Text)
            if text.get_text().strip() and text.get_visible()
        ]
        # That of an annotation would hold its leader too.
        boxes = [Text.get_window_extent(text) for text in texts]
    said = "\n".join(text.get_text() for text in texts)
    for resistivity in soils[layers].resistivity:
        assert f"{resistivity:.6g} Ω·m" in said
    # A page says in its own words, of earth or ground, what potentials are to.
    assert ("remote earth" in said) == headed
    assert f"Depth [{'m' if units == 'SI' else 'ft'}]" in said
    page = figure.bbox
    for text, box in zip(texts, boxes, strict=True):
        assert page.x0 <= box.x0 <= box.x1 <= page.x1, text
        assert page.y0 <= box.y0 <= box.y1 <= page.y1, text
    for (text, one), (beside, other) in combinations(zip(texts, boxes, strict=True), 2):
        across = min(one.x1, other.x1) - max(one.x0, other.x0)
        up = min(one.y1, other.y1) - max(one.y0, other.y0)
        assert min(across, up) < 3, (text, beside)  # boxes hold two pixels of nothing


@pytest.mark.slow
def test_values_stand_on_their_lines(result, section):
    with mpl.rc_context(figure_style):
        figure = section_figure(result, section=section, units="SI")
    axes = figure.axes[0]
    samples = section.samples
    finder = Triangulation(*samples.flat.T, samples.triangles)
    read = LinearTriInterpolator(finder, samples.potential)
    labels = [text for text in axes.texts if text.get_text().replace(".", "").isdigit()]
    assert len(labels) >= 6
    (left, right), (bottom, top) = axes.get_xlim(), axes.get_ylim()
    for label in labels:
        across, up = label.get_position()
        x, depth = left + across * (right - left), bottom + up * (top - bottom)
        value = float(label.get_text())
        assert float(read(x, -depth)) == pytest.approx(value, rel=0.02), label
    # One scale for both axes.
    box = axes.get_window_extent()
    assert box.width / (right - left) == pytest.approx(box.height / (bottom - top), rel=1e-6)


def test_every_entry_of_the_key_has_a_symbol(result):
    plane = laid([-1.0, 0.1], [3.0, 0.1])  # along the tail, the idle rod far beside
    metal = section_metal(result, plane=plane)
    entries = list(key_entries(result, metal=metal, plane=plane, units="SI"))
    assert "metal in the section" in [entry.get_label() for entry in entries]
    for entry in entries:
        symbols = {entry.get_marker(), entry.get_linestyle()}
        assert symbols != {"None"}, entry.get_label()
