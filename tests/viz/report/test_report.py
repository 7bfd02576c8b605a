"""The report of a result: what stands in it, in both units and vocabularies, safely."""

import base64
import csv
import json
import re
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from io import BytesIO
from itertools import combinations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from PIL import Image
from report_words import words_of

from ohmscape.solver.results.plausible import field_at_metal
from ohmscape.solver.results.result import Result
from ohmscape.viz.doubts import doubt_texts
from ohmscape.viz.report import write_report
from ohmscape.viz.report.assembly import sections
from ohmscape.viz.report.contents import Bullets, Live, Paragraph, Picture, Table
from ohmscape.viz.report.map_data import map_data
from ohmscape.viz.report.map_layers import map_layers
from ohmscape.viz.report.page import write_page
from ohmscape.viz.report.paper import _Press, set_paper
from ohmscape.viz.report.paper_pictures import paper_pictures
from ohmscape.viz.report.pictures import layout_picture
from ohmscape.viz.report.scene_data import scene_data
from ohmscape.viz.report.sections.limits import limits_section
from ohmscape.viz.report.terminal_lines import section_lines
from ohmscape.viz.terminal.verdict import verdict_lines
from ohmscape.viz.variants import write_comparison
from ohmscape.viz.wording import significant
from ohmscape.viz.words.amounts import (
    length,
    ohms,
    place,
    signed_percent,
    small_percent,
    thin,
    tiny,
    volts,
)
from ohmscape.viz.words.text import Text, plain, say
from ohmscape.viz.words.vocabulary import terms

_made = datetime(2031, 5, 6, 7, 8)
_hostile = "<script>alert('x')</script> & \"quoted\" {rod} {{ 7 * 7 }}"


@pytest.fixture(scope="module")
def hostile(result: Result) -> Result:
    """The result with names that would be markup, templates or code if they were trusted."""
    metal = result.solution.conductors
    named = replace(
        metal,
        group_names=tuple(f"{_hostile}{k}" for k in range(len(metal.group_names))),
        part_names=tuple(f"{_hostile}{k}" for k in range(len(metal.part_names))),
    )
    verdict = result.verdict
    assert verdict is not None
    judgements = tuple(replace(item, name=_hostile + item.name) for item in verdict.judgements)
    return replace(
        result,
        title=_hostile,
        case_text=_hostile + "</pre></script>",
        case_file=_hostile,
        solution=replace(result.solution, conductors=named),
        verdict=replace(verdict, judgements=judgements),
    )


@pytest.fixture(scope="module")
def page(result: Result, tmp_path_factory) -> str:
    path = tmp_path_factory.mktemp("page") / "report.html"
    return write_page([result], sections([result], made=_made), path, made=_made).read_text(
        encoding="utf-8"
    )


def embedded(page: str) -> dict:
    found = re.search(r'<script type="application/json" id="report-data">(.*?)</script>', page)
    assert found is not None
    return json.loads(found.group(1))


def unpacked(text: str, kind: str = "f4") -> np.ndarray:
    return np.frombuffer(base64.b64decode(text), dtype=f"<{kind}")


def words(result: Result, **reader) -> str:
    """All text of a report for one reader."""
    return words_of(sections([result], made=_made), **reader)


def test_text_shows_one_choice_of_each_kind():
    text = say("{Rod} at {}, {}", place((1.0, -2.0)), "<b>")
    assert text.plain(units="SI", vocabulary="earth") == "Earth rod at (1.00, −2.00) m, <b>"
    assert text.plain(units="US", vocabulary="ground") == "Ground rod at (3.28, −6.56) ft, <b>"
    html = text.__html__()
    assert '<span data-vocabulary="earth">Earth rod</span>' in html
    assert '<span data-units="US">(3.28, −6.56) ft</span>' in html
    assert "&lt;b&gt;" in html


def test_values_are_never_read_as_templates():
    assert say("{}", "{rod}").plain(units="SI", vocabulary="earth") == "{rod}"


def test_a_term_nobody_defined_is_a_mistake_of_ours():
    with pytest.raises(KeyError, match="rodd"):
        say("{rodd}")


def test_every_term_has_both_words():
    assert all(len(pair) == 2 and all(pair) for pair in terms.values())


@pytest.mark.parametrize(
    ("amount", "metric", "customary"),
    [
        (length(2.4384), "2.44 m", "8.00 ft"),
        (thin(0.015875), "15.9 mm", "0.625 in"),
    ],
)
def test_lengths_in_both_unit_systems(amount, metric, customary):
    assert amount.plain(units="SI", vocabulary="earth") == metric
    assert amount.plain(units="US", vocabulary="earth") == customary


def test_values_carry_their_error():
    assert volts(1140.0, 8.7) == "1.14 kV ± 9 V"
    assert volts(179.0, 0.7) == "179 V ± 0.7 V"
    assert volts(0.4, 0.0021) == "400 mV ± 2 mV"
    assert volts(52000.0, 1234.0) == "52.0 kV ± 1.23 kV"
    assert ohms(47.43, 0.057) == "47.4 Ω ± 0.06 Ω"
    assert signed_percent(-0.00001) == "0.00 %"
    assert signed_percent(-0.0123) == "−1.23 %"
    assert tiny(3e-17) == "below 1e-15"


def test_verdict_stands_first_and_names_what_fails(result):
    first = sections([result], made=_made)[0]
    assert first.key == "verdict"
    headline = first.blocks[0]
    assert isinstance(headline, Paragraph)
    unsafe = sum(item.outcome != "pass" for item in result.verdict.judgements)
    assert unsafe > 0
    assert f"UNSAFE: {unsafe} of 4 exposures" in plain(
        headline.text, units="SI", vocabulary="earth"
    )
    assert headline.tone == "fail"


def test_a_case_without_limits_is_not_called_safe(result):
    first = sections([replace(result, verdict=None)], made=_made)[0]
    headline = first.blocks[0]
    assert isinstance(headline, Paragraph)
    assert "NOT JUDGED" in plain(headline.text, units="SI", vocabulary="earth")
    assert headline.tone == "warning"


def test_a_variant_that_fails_is_in_the_headline(result):
    verdict = result.verdict
    judged = verdict.judgements[0]
    safe = replace(judged, places=(replace(judged.places[0], voltage=0.1),), error=0.01)
    good = replace(result, verdict=replace(verdict, judgements=(safe,)))
    bad = replace(result, variant="dry year")
    headline = sections([good, bad], made=_made)[0].blocks[0]
    assert isinstance(headline, Paragraph)
    assert "UNSAFE in 1 of 1 variants ('dry year')" in plain(
        headline.text, units="SI", vocabulary="earth"
    )
    assert headline.tone == "fail"


def test_a_rule_that_is_not_kept_is_in_the_headline(result):
    verdict = result.verdict
    judged = verdict.judgements[0]
    safe = replace(judged, places=(replace(judged.places[0], voltage=0.1),), error=0.01)
    broken = replace(verdict, judgements=(safe,), broken_rules=("device: 70 V is ABOVE 50 V",))
    blocks = sections([replace(result, verdict=broken)], made=_made)[0].blocks
    assert isinstance(blocks[0], Paragraph)
    told = plain(blocks[0].text, units="SI", vocabulary="earth")
    assert told.startswith("✕ NOT BY THE RULES, though 1 of 1")
    assert blocks[0].tone == "fail"
    assert isinstance(blocks[1], Bullets)
    assert "70 V is ABOVE 50 V" in plain(blocks[1].items[0], units="SI", vocabulary="earth")


def test_all_that_passes_is_said_to_hold_for_what_was_declared(result):
    verdict = result.verdict
    judged = verdict.judgements[0]
    safe = replace(judged, places=(replace(judged.places[0], voltage=0.1),), error=0.01)
    good = replace(result, verdict=replace(verdict, judgements=(safe,)))
    headline = sections([good], made=_made)[0].blocks[0]
    assert isinstance(headline, Paragraph)
    told = plain(headline.text, units="SI", vocabulary="earth")
    assert told.startswith("✓ Within the limits declared: 1 of 1 exposures")
    assert "for the people, faults and places declared" in told
    assert headline.tone == "pass"


@pytest.mark.slow
def test_a_step_outline_off_the_map_has_no_distance(result):
    told = words(result, units="SI", vocabulary="earth")
    assert not result.verdict.step_outline.whole
    assert "NOT below 150 V at the edge of the mapped area" in told
    whole = replace(result.verdict.step_outline, whole=True, distance=4.0)
    verdict = replace(result.verdict, step_outline=whole)
    told = words(replace(result, verdict=verdict), units="SI", vocabulary="earth")
    assert "beyond 4.00 m from the nearest live metal" in told


def test_more_current_than_soil_can_pass_is_told(result):
    assert doubt_texts([result]) == []
    # By hand: rho i / (2 pi a) of the mean leakage in one soil, here of its own metal.
    strength = field_at_metal(result)
    factor = 1.01 * 300e3 / strength.max()
    operating = replace(result.operating, voltage=factor * result.operating.voltage)
    assert doubt_texts([replace(result, operating=operating)])
    operating = replace(result.operating, voltage=0.98 * factor * result.operating.voltage)
    assert doubt_texts([replace(result, operating=operating)]) == []


@pytest.mark.slow
def test_a_strip_is_called_one_in_both_units(result):
    stripped = replace(result, strips=(("tail", 0.04, 0.004),))
    told = words(stripped, units="SI", vocabulary="earth")
    assert "1.20 m | strip 40 × 4 mm | 0.100 m | soil" in told
    assert "strip 1.57 × 0.157 in" in words(stripped, units="US", vocabulary="earth")


def test_an_error_is_stated_one_way(result):
    told = words(result, units="SI", vocabulary="earth")
    touch = result.accuracy.estimates[1]
    share = small_percent(touch)
    assert f"worst touch {share} and step" in told
    worst = max(item.voltage for item in result.worst if item.kind == "touch")
    row = f"Worst touch voltage in the mapped area | {volts(worst)} | ± "
    found = told.partition(row)[2].splitlines()[0]
    assert found == f"{volts(worst, touch * result.rise).split('± ')[1]}, {share} of the rise"


def test_the_time_of_a_report_has_its_zone(result):
    zone = timezone(timedelta(hours=-7, minutes=-30))
    made = datetime(2031, 5, 6, 7, 8, 9, 10, zone)
    told = words_of(sections([result], made=made), units="SI", vocabulary="earth")
    assert "Report made | 2031-05-06 07:08 (UTC-07:30)" in told


def test_the_largest_rise_is_told_as_it_is_and_as_it_is_judged(result):
    verdict = replace(result.verdict, growth_factor=1.5, decrement_factor=1.2)
    told = words(replace(result, verdict=verdict), units="SI", vocabulary="earth")
    assert volts(result.rise) in told
    assert f"growth and decrement (× 1.8), {volts(1.8 * result.rise)}" in told
    assert f"growth and decrement included (× 1.8) | {volts(1.8 * result.rise)}" in told


def test_a_verdict_names_in_its_line_whom_the_limit_protects(result):
    judgement = result.verdict.judgements[0]
    line = next(line for line in verdict_lines([result]) if judgement.name in line)
    assert f"permissible for {judgement.protects} (" in line
    assert judgement.protects in words(result, units="SI", vocabulary="earth")
    unjudged = replace(judgement, places=(), not_judged="nobody holds a limit for them")
    verdict = replace(result.verdict, judgements=(unjudged,))
    told = verdict_lines([replace(result, verdict=verdict)])
    assert any("NOT JUDGED" in line and "nobody holds a limit" in line for line in told)


def test_what_is_permissible_is_told_for_every_condition(result, tmp_path):
    judgement = result.verdict.judgements[0]
    native = judgement.grounds[0]
    lower = replace(native, limit=replace(native.limit, voltage=123.0))
    places = tuple(replace(item, limit=lower.limit) for item in judgement.places)
    other = replace(judgement, grounds=(lower,), places=places)
    verdict = replace(result.verdict, judgements=(other,), under_feet="a wet lane")
    dry = replace(result, variant="dry", verdict=verdict)
    told = section_lines(limits_section([result, dry]), units="SI")
    text = " ".join(" ".join(told).split())
    assert "Under the feet: a wet lane." in text
    assert text.count("123 V") == 1
    (table,) = (
        block
        for block in limits_section([result, dry]).blocks
        if isinstance(block, Table) and "Condition" in block.header
    )
    assert [(row[1], row[5]) for row in table.rows if "123 V" in row] == [("dry", "123 V")]
    write_comparison([result, dry], path=tmp_path / "variants.csv")
    lines = (tmp_path / "variants.csv").read_text(encoding="utf-8").splitlines()
    rows = list(csv.reader(line for line in lines if not line.startswith("#")))
    column = rows[0].index(f"permissible where worst, {judgement.name} [V]")
    assert float(rows[2][column]) == 123.0


def test_sections_are_those_a_reviewer_looks_for(result):
    keys = [section.key for section in sections([result], made=_made)]
    assert keys == [
        "verdict", "site", "soil", "circuit", "protection", "limits", "resistance", "maps",
        "scene", "profiles", "worst", "accuracy", "opinion", "assumptions", "cautions",
        "references", "provenance",
    ]  # fmt: skip


def test_origin_and_standard_are_told(result):
    told = words(result, units="SI", vocabulary="earth")
    assert result.case_hash in told
    assert "2031-05-06 07:08" in told
    assert "IEEE Std 80" in told
    assert all(number in told for number in result.versions.values())


@pytest.mark.slow
def test_tolerance_asked_for_and_reached_is_told(result):
    accuracy = result.accuracy
    told = words(result, units="SI", vocabulary="earth")
    reached = max(accuracy.estimate(change) for change in (accuracy.touch, accuracy.step))
    assert accuracy.tolerance == 0.03  # of a coarse run
    assert f"✓ 3.0 % asked for, {significant(100 * reached, figures=2)} % reached" in told
    assert "✓ 1.5 % asked for" in told
    missed = replace(result, accuracy=replace(accuracy, tolerance=reached / 2))
    assert "✕" in words(missed, units="SI", vocabulary="earth").split("of the rise | ")[1][:3]


@pytest.mark.slow
def test_readings_and_tests_of_a_case_have_reports_of_their_own(result):
    reader = {"units": "SI", "vocabulary": "earth"}
    assert "ohmscape compare" not in words(result, **reader)
    text = result.case_text + "\nmeasured: {}\nearth_tests: []\n"
    told = words(replace(result, case_text=text), **reader)
    assert "'ohmscape compare' sets them beside this model" in told
    assert "'ohmscape earth-test' predicts" in told


@pytest.mark.slow
def test_units_and_vocabulary_do_not_depend_on_each_other(result):
    told = {
        (units, vocabulary): words(result, units=units, vocabulary=vocabulary)
        for units in ("SI", "US")
        for vocabulary in ("earth", "ground")
    }
    for (units, vocabulary), text in told.items():
        assert (" ft" in text) == (units == "US")
        assert ("earth potential rise" in text) == (vocabulary == "earth")
        assert ("ground potential rise" in text) == (vocabulary == "ground")


def test_page_needs_nothing_from_elsewhere(page):
    assert "default-src 'none'" in page
    # These two do not follow from the default.
    assert "base-uri 'none'; form-action 'none'" in page
    # Names of XML namespaces are addresses that nobody opens.
    assert not re.findall(r'(?:src|href)="(?!#|data:)[^"]*"', page)
    assert "@import" not in page
    assert "url(" not in page


def test_page_runs_only_its_own_script(page):
    import hashlib

    script = re.search(r"<script>(.*?)</script>", page, flags=re.DOTALL)
    assert script is not None
    digest = base64.b64encode(hashlib.sha256(script.group(1).encode()).digest()).decode()
    assert f"script-src 'sha256-{digest}'" in page


@pytest.mark.slow
def test_names_are_text_and_never_markup(hostile, tmp_path):
    page = write_page(
        [hostile], sections([hostile], made=_made), tmp_path / "report.html", made=_made
    ).read_text("utf-8")
    assert page.count("<script") == 2
    assert page.count("</script>") == 2
    assert "alert('x')" not in page
    assert "&lt;script&gt;alert(&#39;x&#39;)" in page
    assert "{{ 7 * 7 }}" in page
    data = embedded(page)
    assert any(_hostile in layer["title"] for layer in data["map"]["variants"][0]["layers"])
    paper = set_paper(
        hostile,
        sections([hostile], made=_made),
        tmp_path / "report.pdf",
        made=_made,
        live=hostile,
    ).read_bytes()
    assert paper.startswith(b"%PDF")


def test_maps_hold_the_samples_of_the_result(result, page):
    found = embedded(page)["map"]
    surface = result.surface
    # Stored in single precision: 24 bits.
    assert_allclose(unpacked(found["x"]), surface.places[:, 0], rtol=1e-7, atol=1e-9)
    (base,) = found["variants"]
    layers = {layer["key"]: layer for layer in base["layers"]}
    assert_allclose(unpacked(base["real"]), surface.potential, rtol=1e-7)
    assert base["imaginary"] is None
    assert_allclose(unpacked(layers["step"]["values"]), surface.step, rtol=1e-7)
    reached = np.isfinite(surface.touch[0])
    touch = np.abs(layers["touch0"]["at"][0] - unpacked(base["real"]))
    assert_allclose(touch[reached], surface.touch[0][reached], rtol=1e-5)
    assert len(unpacked(found["triangles"], found["triangleType"])) == surface.triangles.size
    assert not found["thinned"]


def test_maps_keep_phases(result):
    turned = np.exp(0.7j)
    surface = replace(result.surface, potential=turned * result.surface.potential)
    operating = replace(result.operating, voltage=turned * result.operating.voltage)
    (base,) = map_data([replace(result, surface=surface, operating=operating)])["variants"]
    potential = unpacked(base["real"]) + 1j * unpacked(base["imaginary"])
    assert_allclose(potential, surface.potential, rtol=1e-6)
    at = next(layer["at"] for layer in base["layers"] if layer["key"] == "touch0")
    assert_allclose(complex(*at), operating.voltage[result.metals[0].group])


def test_steps_come_with_the_direction_of_the_other_foot(result):
    (base,) = map_data([result])["variants"]
    layer = next(layer for layer in base["layers"] if layer["key"] == "step")
    angle = unpacked(layer["direction"], "u1") / 256 * 2 * np.pi
    surface = result.surface
    other = surface.places + layer["pace"] * np.column_stack([np.cos(angle), np.sin(angle)])
    between = np.abs(surface.potential - result.field.surface_potential(other))
    # 256 steps of a turn put the foot at most 12 mm beside its place.
    assert_allclose(between, surface.step, atol=0.01 * result.rise)


def test_each_variant_has_its_own_samples_and_levels(result):
    surface = replace(result.surface, potential=2 * result.surface.potential)
    double = replace(result, variant="twice", surface=surface)
    base, twice = map_data([result, double])["variants"]
    assert [base["name"], twice["name"]] == ["", "twice"]
    assert_allclose(unpacked(twice["real"]), 2 * unpacked(base["real"]), rtol=1e-6)
    one, other = (each["layers"][0]["levels"] for each in (base, twice))
    assert other[-1] > one[-1]


def test_a_step_outline_is_on_the_maps(result):
    (base,) = map_data([result])["variants"]
    outline = result.verdict.step_outline
    assert base["outline"]["voltage"] == outline.voltage == 150
    assert_allclose(
        unpacked(base["outline"]["segments"]).reshape(-1, 2, 2), outline.segments, atol=1e-5
    )
    none = replace(outline, segments=np.zeros((0, 2, 2)))
    verdict = replace(result.verdict, step_outline=none)
    (base,) = map_data([replace(result, verdict=verdict)])["variants"]
    assert base["outline"] is None  # a key must not name a line that is not there


def test_the_bold_line_of_a_map_on_paper_is_the_limit_alone(result):
    captions = [
        plain(picture.caption, units="SI", vocabulary="earth")
        for picture in paper_pictures(Live("map", ""), result=result)
    ]
    outlined = [text for text in captions if "steps reach" in text]
    assert any("bold line: the limit" in text for text in outlined)
    for text in outlined:
        assert "white in black: steps reach 150 V" in text
        assert text.count("bold line") <= 1


def test_shares_of_a_step_come_with_voltage_and_limit(result):
    layers = {layer["key"]: layer for layer in map_data([result])["variants"][0]["layers"]}
    judgement = result.verdict.judgements[1]
    assert judgement.kind == "step"
    layer = layers["share1"]
    # The share is found where it is drawn, by the limits under both feet, not between samples.
    assert "values" not in layer
    share, voltage = 100 * judgement.share, unpacked(layer["voltage"])
    known = np.isfinite(share)
    limits = {ground.limit.voltage for ground in judgement.grounds}
    found = 100 * voltage[known] / share[known]
    assert all(min(abs(limit / value - 1) for limit in limits) < 1e-5 for value in found)


def test_many_samples_are_thinned_and_it_is_told(result, monkeypatch):
    whole = len(result.surface.places)
    monkeypatch.setattr("ohmscape.viz.report.map_data._most_numbers", 1000)
    found = map_data([result])
    x = unpacked(found["x"])
    assert found["thinned"]
    assert 20 < len(x) < whole / 2
    # The corners stay: without them the map would not reach its frame.
    assert_allclose([x.min(), x.max()], [result.area.low[0], result.area.high[0]], atol=1e-6)


def test_scene_holds_all_metal_and_its_current(result):
    found = scene_data(result)
    metal = unpacked(found["metal"]).reshape(-1, 6)
    length_ = np.linalg.norm(metal[:, 3:] - metal[:, :3], axis=1)
    current = unpacked(found["leakage"]) @ length_
    assert_allclose(length_.sum(), result.solution.conductors.length.sum(), rtol=1e-5)
    # 37 A are driven in; the floating rod adds nothing.
    assert_allclose(current, 37.0, rtol=1e-4)


def test_elements_are_joined_only_along_straight_metal(result, monkeypatch):
    monkeypatch.setattr("ohmscape.viz.report.scene_data._most_pieces", 20)
    found = scene_data(result)
    metal = unpacked(found["metal"]).reshape(-1, 6)
    length_ = np.linalg.norm(metal[:, 3:] - metal[:, :3], axis=1)
    assert len(metal) < len(result.solution.elements)
    assert_allclose(length_.sum(), result.solution.conductors.length.sum(), rtol=1e-4)


@pytest.mark.slow
def test_paper_is_the_same_every_time(result, tmp_path):
    one, two = (
        set_paper(
            result, sections([result], made=_made), tmp_path / name, made=_made, live=result
        ).read_bytes()
        for name in ("one.pdf", "two.pdf")
    )
    assert one == two


@pytest.mark.slow
def test_maps_on_paper_have_clear_labels(result, monkeypatch):
    from matplotlib.text import Text as Drawn

    figures = []
    monkeypatch.setattr(
        "ohmscape.viz.report.pictures.save_figure",
        lambda figure, target, **more: figures.append(figure),
    )
    for picture in paper_pictures(Live("map", ""), result=result):
        picture.draw("US", "png")
    assert len(figures) == len(map_layers(result))
    for figure in figures:
        figure.draw_without_rendering()
        axes = figure.axes[0]
        texts = [text for text in axes.texts if text.get_text()]
        # The value of the worst place, and at least one level.
        assert len(texts) >= 2 or not any("worst" in text.get_text() for text in texts)
        boxes = [Drawn.get_window_extent(text) for text in texts]
        for one, other in combinations(boxes, 2):
            across = min(one.x1, other.x1) - max(one.x0, other.x0)
            up = min(one.y1, other.y1) - max(one.y0, other.y0)
            assert min(across, up) < 2, texts


def test_keys_of_maps_on_paper_reach_the_worst_place(result, monkeypatch):
    figures = []
    monkeypatch.setattr(
        "ohmscape.viz.report.pictures.save_figure",
        lambda figure, target, **more: figures.append(figure),
    )
    for picture in paper_pictures(Live("map", ""), result=result):
        picture.draw("SI", "png")
    for figure, layer in zip(figures, map_layers(result), strict=True):
        names = [text.get_text() for text in figure.legends[0].get_texts()]
        # As on the page: no end that a raster has missed, and all colours of the layer.
        assert len(names) == len(layer["colours"]) == len(layer["levels"]) + 1
        assert names[0].endswith(" and above")
        assert names[-1].startswith("below ")
        top = float(names[0].split()[0]) * (1000 if "kV" in names[0] else 1)
        assert top == pytest.approx(layer["levels"][-1], rel=0.005)


def test_tables_to_be_filled_in_have_room_and_others_do_not(result):
    press = _Press(result, result, "SI", "earth")
    press.width = 500.0
    signing, noted = (
        next(iter(press.block(Table(("", "a", "note"), rows))))
        for rows in ((("Made by", "", ""),), (("Made by", "x", ""),))
    )
    assert signing.wrap(500, 500)[1] > noted.wrap(500, 500)[1] + 10


def test_short_tables_stay_with_their_heading_and_caption(result):
    press = _Press(result, result, "SI", "earth")
    press.width = 500.0
    for count, kept in ((3, True), (30, False)):
        table = Table(("a", "b"), (("x", "y"),) * count, "caption")
        made, caption = press.block(table)
        assert bool(made.getKeepWithNext()) == kept
        assert not caption.getKeepWithNext()


@pytest.mark.slow
def test_report_names_both_files(result, tmp_path):
    told: list[str] = []
    files = write_report(
        [result], tmp_path, made=_made, progress=lambda name, share: told.append(name)
    )
    assert [path.name for path in files] == told == ["report.html", "report.pdf"]
    assert all(path.stat().st_size < 8e6 for path in files)


@pytest.mark.slow
def test_a_rise_that_is_given_has_no_error(result):
    highest = int(abs(result.operating.voltage).argmax())
    for kind, told in (("voltage", "given"), ("current", "±")):
        drives = list(result.drives)
        drives[highest] = replace(drives[highest], kind=kind)
        first = sections([replace(result, drives=tuple(drives))], made=_made)[0]
        tables = [block for block in first.blocks if isinstance(block, Table)]
        rows = {
            plain(row[0], units="SI", vocabulary="earth"): row
            for table in tables
            for row in table.rows
        }
        assert str(rows["Largest earth potential rise"][2]).startswith(told)


def test_the_plan_shows_where_a_profile_ends(result, monkeypatch):
    figures = []
    monkeypatch.setattr(
        "ohmscape.viz.report.pictures.save_figure",
        lambda figure, target, **more: figures.append(figure),
    )
    profile = result.profiles[0]
    low, high = np.array(result.area.low), np.array(result.area.high)
    for away, whole in ((0.4, True), (3.0, False)):
        end = np.append(high + away * (high - low), 0.0)
        points = np.linspace(np.append(low, 0.0), end, len(profile.points))
        longer = replace(result, profiles=(replace(profile, points=points),))
        layout_picture(longer).draw("SI", "svg")
        axes = figures[-1].axes[0]
        shown = np.array([axes.get_xlim()[1], axes.get_ylim()[1]])
        assert (shown > end[:2]).all() == whole
        assert (shown < high + 0.6 * (high - low)).all()


@pytest.mark.slow
def test_paper_has_the_soil_cut_open(result):
    (picture,) = paper_pictures(Live("scene", ""), result=result)
    told = plain(picture.caption, units="SI", vocabulary="earth")
    assert "to reference earth" in told
    metric, customary = (picture.draw(units, "png") for units in ("SI", "US"))
    assert metric != customary
    with Image.open(BytesIO(metric)) as image:
        assert image.width == 2000
        assert image.height < 1400  # heading and cautions are those of the page


def test_pictures_are_drawn_in_both_units(result):
    site = sections([result], made=_made)[1]
    picture = site.blocks[0]
    assert isinstance(picture, Picture)
    drawn = [picture.draw(units, "svg") for units in ("SI", "US")]
    assert all(b"<svg" in data for data in drawn)
    assert drawn[0] != drawn[1]
    assert picture.draw("SI", "svg") == drawn[0]


def test_the_section_stands_below_the_scene_and_says_where_it_is(result):
    section = next(s for s in sections([result], made=_made) if s.key == "scene")
    (picture,) = (block for block in section.blocks if isinstance(block, Picture))
    told = plain(picture.caption, units="US", vocabulary="ground")
    assert "Along the profile 'across', from (−3.3, 1.0) ft to (9.8, 1.0) ft." in told
    assert "equal potential to remote earth" in told
    assert picture.draw("SI", "svg") != picture.draw("US", "svg")


@pytest.mark.slow
def test_variants_are_drawn_side_by_side_once_for_both_units(result, tmp_path):
    other = replace(result, variant="dry year")
    section = next(s for s in sections([result, other], made=_made) if s.key == "resistance")
    (picture,) = (block for block in section.blocks if isinstance(block, Picture))
    assert picture.draw("SI", "svg") == picture.draw("US", "svg")
    page = write_page(
        [result, other],
        sections([result, other], made=_made),
        tmp_path / "report.html",
        made=_made,
    ).read_text("utf-8")
    shown = [page.count(f'<img data-units="{units}"') for units in ("", "SI", "US")]
    assert shown[0] == 1
    assert shown[1] == shown[2] > 0


def test_pieces_of_text_can_be_joined():
    joined = Text(("a",)) + "b" + say("{rod}")
    assert joined.plain(units="SI", vocabulary="ground") == "abground rod"


@pytest.mark.slow
@pytest.mark.parametrize("named", [True, False])
def test_paper_names_who_prepared_it(result, tmp_path, named):
    filed = replace(result, job=(("prepared_by", "D. Marlowe"),) if named else ())
    chapters = sections([result], made=_made)[-1:]
    path = set_paper(filed, chapters, tmp_path / "one.pdf", made=_made)
    told = re.search(rb"/Author \((.*?)\)", path.read_bytes())
    assert told is not None
    assert told[1] == (b"D. Marlowe" if named else b"")
