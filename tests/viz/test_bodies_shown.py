"""Bodies in the soil stand in words, tables and pictures: outline, hatching and name."""

from dataclasses import replace
from math import inf

import numpy as np
import pytest

from ohmscape.solver.bodies import Ball, Body, Cylinder, HalfSpace, Prism
from ohmscape.viz.canvas.sheet import Sheet
from ohmscape.viz.doubts import doubt_texts
from ohmscape.viz.maps.maps import draw_map
from ohmscape.viz.maps.plans import potential_map
from ohmscape.viz.report.map_data import map_data
from ohmscape.viz.report.scene_data import scene_data
from ohmscape.viz.report.sections.closing import assumptions_section
from ohmscape.viz.report.sections.limits import limits_section
from ohmscape.viz.report.sections.site import soil_section
from ohmscape.viz.report.sections.trust import second_opinion_section
from ohmscape.viz.report.terminal_lines import section_lines
from ohmscape.viz.scene.scene import draw_scene
from ohmscape.viz.section.section import section_figure, section_of
from ohmscape.viz.words.bodies import bodies_in_short, body_text

POOL = Body("pool", Prism(((1.6, -1), (3.2, -1), (3.2, 0.4), (1.6, 0.4)), 0.0, 0.6), 20.0)
CELLAR = Body("cellar", Cylinder((-0.8, 1.4), 0.5, 0.0, 1.2), inf)
ROCK = Body("rock", HalfSpace((0.0, 2.1), (0.0, 2.0), 0.7, inf), 900.0)
SUMP = Body("sump", Ball((2.4, -0.3, 0.0), 0.4), 3.0, within="pool")


@pytest.fixture(scope="module")
def beside_bodies(result):
    """The result as it is, its soil said to have bodies: pictures and words look no further."""
    soil = replace(result.solution.soil, bodies=(POOL, CELLAR, ROCK, SUMP))
    solution = replace(result.solution, soil=soil)
    return replace(result, solution=solution, agreement=None, without_bodies=result.agreement)


def test_a_body_in_one_line():
    said = [body_text(body).plain(units="SI", vocabulary="earth") for body in (POOL, CELLAR)]
    assert said[0] == (
        "pool: 20.0 Ω·m, from the surface to 0.600 m; 4 corners between (1.60, −1.00) m and "
        "(3.20, 0.40) m"
    )
    assert said[1] == (
        "cellar: void, from the surface to 1.20 m; circle of 0.500 m about (−0.80, 1.40) m"
    )
    rock = body_text(ROCK).plain(units="US", vocabulary="ground")
    assert rock == (
        "rock: 900 Ω·m, below 2.30 ft; all beyond a line through (0.00, 6.89) ft, towards 90° "
        "from +x"
    )
    sump = body_text(SUMP).plain(units="SI", vocabulary="earth")
    assert sump.endswith("half ball of 0.400 m about (2.40, −0.30) m; within pool")


def test_the_soil_chapter_lists_bodies(beside_bodies, result):
    lines = "\n".join(section_lines(soil_section([beside_bodies]), units="SI"))
    assert "cellar" in lines
    assert "void" in lines
    assert "within: pool" in lines
    other = replace(result, variant="empty")
    changed = "\n".join(section_lines(soil_section([beside_bodies, other]), units="SI"))
    assert "empty" in changed
    short = bodies_in_short(beside_bodies.solution.soil)
    assert short.startswith(" with pool (20.0 Ω·m), cellar (void)")
    assert bodies_in_short(result.solution.soil) == ""


def test_assumptions_name_what_is_modelled(beside_bodies, result):
    said = section_lines(assumptions_section([beside_bodies]), units="SI")
    assert "and the bodies of the case in them" in " ".join(said)
    assert "bodies" not in " ".join(section_lines(assumptions_section([result]), units="SI"))


def test_the_second_opinion_says_that_it_does_not_apply(beside_bodies):
    lines = section_lines(second_opinion_section([beside_bodies]), units="SI")
    lines = " ".join(" ".join(lines).split())
    assert "Does not apply: bodies in the soil ('pool', 'cellar', 'rock', 'sump')" in lines
    assert "Without the bodies" in lines
    assert "no check of this result" in lines
    assert "agree within the errors" not in lines


def test_metal_that_ends_near_a_face_is_told(beside_bodies, result):
    assert not any("from a face" in text for text in doubt_texts([beside_bodies]))
    # The tail ends at x = 1.4 m, 0.1 m deep; it is 5 mm thick.
    near = replace(POOL, shape=Prism(((1.43, -1), (3, -1), (3, 1), (1.43, 1)), 0.0, 0.6))
    soil = replace(result.solution.soil, bodies=(near,))
    doubtful = replace(result, solution=replace(result.solution, soil=soil))
    (told,) = (text for text in doubt_texts([doubtful]) if "from a face" in text)
    assert "'tail' ends 30.0 mm from a face of 'pool'" in told


def test_pages_have_outlines_and_names(beside_bodies, result):
    found = map_data([beside_bodies])["variants"][0]["bodies"]
    assert [body["name"] for body in found] == ["pool", "cellar", "rock", "sump"]
    assert [body["of"] for body in found][1] == "void"
    assert all(len(body["hatch"]) > 3 for body in found)
    scene = scene_data(beside_bodies)["bodies"]
    assert scene[0]["text"] == "pool: 20.0 Ω·m"
    assert map_data([result])["variants"][0]["bodies"] == []
    assert scene_data(result)["bodies"] == []


def test_pictures_name_bodies(beside_bodies, tmp_path, monkeypatch):
    written = []
    text = Sheet.text

    def heard(self, at, words, **options):
        written.append(words)
        return text(self, at, words, **options)

    monkeypatch.setattr(Sheet, "text", heard)
    draw_map(beside_bodies, plan=potential_map(beside_bodies), path=tmp_path / "map.png")
    on_map, written[:] = list(written), []
    draw_scene(beside_bodies, path=tmp_path / "scene.png")
    for name in ("pool", "cellar", "rock"):
        assert name in on_map  # on it
        assert any(name in words and "in the soil" in words for words in on_map)  # beside it
        assert any(words.startswith(f"{name}: ") for words in written)


def test_the_map_shows_bodies_by_more_than_colour(beside_bodies, result, tmp_path):
    from PIL import Image

    seen = []
    for each in (beside_bodies, result):
        file = tmp_path / f"{len(seen)}.png"
        draw_map(each, plan=potential_map(each), path=file)
        seen.append(np.asarray(Image.open(file).convert("L"), dtype=float)[200:1300, 200:1300])
    # In grey, too, hatching changes what is inside, not only an outline.
    assert (np.abs(seen[0] - seen[1]) > 25).mean() > 0.01


def test_the_section_names_the_bodies_it_cuts(beside_bodies):
    section = section_of(beside_bodies)
    figure = section_figure(beside_bodies, section=section, units="SI")
    texts = [
        item.get_text() for axes in figure.axes for item in axes.texts if item.get_visible()
    ]
    legends = [
        entry.get_text()
        for part in (figure, *figure.subfigs)
        for legend in part.legends
        for entry in legend.get_texts()
    ]
    cut = [body.name for body in (POOL, CELLAR, ROCK, SUMP) if body.name in texts]
    assert cut
    for name in cut:
        assert any(words.startswith(f"{name}: ") for words in legends)


@pytest.mark.parametrize(("rho", "told"), [(20.0, "MORE THAN IS SAFE"), (900.0, "no credit")])
def test_a_body_under_the_feet_is_told_where_limits_took_the_native_soil(result, rho, told):
    lawn = next(item for item in result.verdict.judgements if item.name == "on the lawn")
    on_native = [place for place in lawn.places if place.ground == "native soil"]
    x, y = on_native[0].foot
    pad = Body("pad", Cylinder((x, y), 0.2, 0.0, 0.3), rho)
    soil = replace(result.solution.soil, bodies=(pad,))
    found = replace(result, solution=replace(result.solution, soil=soil))
    lines = " ".join(" ".join(section_lines(limits_section([found]), units="SI")).split())
    assert f"feet stand on 'pad', {rho:.3g}" in lines
    assert told in lines
    doubts = [text for text in doubt_texts([found]) if "pad" in text]
    assert len(doubts) == (rho == 20.0)
    # As good as the native soil, or below ground, it changes nothing under the feet.
    native = lawn.grounds[0].resistivity
    for harmless in (
        replace(pad, resistivity=1.02 * native),
        replace(pad, shape=Cylinder((x, y), 0.2, 0.1, 0.3)),
    ):
        soil = replace(result.solution.soil, bodies=(harmless,))
        found = replace(result, solution=replace(result.solution, soil=soil))
        assert not any(
            "pad" in line for line in section_lines(limits_section([found]), units="SI")
        )
