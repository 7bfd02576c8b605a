"""Reports on field readings and on earth tests: what stands in them, safely, in both units."""

import re
from dataclasses import replace
from datetime import datetime
from functools import cache
from html import unescape

import pytest
from click.testing import CliRunner
from matplotlib.text import Text as Drawn
from report_words import words_of

from ohmscape.cases.loading import load_case
from ohmscape.cases.shipped import shipped_case_path
from ohmscape.command_line import main
from ohmscape.jobs.case_origin import case_origin
from ohmscape.jobs.earth_tests import predict_tests
from ohmscape.jobs.field_chapters import field_chapters
from ohmscape.jobs.field_readings import compare_case
from ohmscape.jobs.run import run_case
from ohmscape.solver.errors import CaseError, ResultError
from ohmscape.viz.earth_tests.sections import prediction_chapters
from ohmscape.viz.field_readings.sections import comparison_chapters, comparison_sections
from ohmscape.viz.report import write_sections
from ohmscape.viz.report.contents import Picture
from ohmscape.viz.result_folder import save_result
from ohmscape.viz.words.text import plain

_made = datetime(2031, 5, 6, 7, 8)


@cache
def case(name):
    return load_case(shipped_case_path(name))


@cache
def compared():
    return compare_case(case("measured-fresh-rod"))


@cache
def predictions():
    return predict_tests(case("grid-test-on-rock"))


def comparison(found=None):
    origin = case_origin(case("measured-fresh-rod"))
    return comparison_chapters(found or compared(), origin=origin, made=_made)


def predicted():
    origin = case_origin(case("grid-test-on-rock"))
    return prediction_chapters(predictions(), origin=origin, made=_made)


def test_a_comparison_says_first_that_the_model_does_not_agree():
    first = comparison()[0].blocks[0]
    assert first.tone == "warning"
    text = plain(first.text, units="SI", vocabulary="earth")
    assert text.startswith("As the case stands the model does NOT agree with the 14 readings")
    good = replace(compared(), case=compared().calibrated)
    assert comparison(good)[0].blocks[0].tone == ""


def test_readings_stand_beside_the_model_with_their_deviation():
    told = words_of(comparison())
    # 10.87 V at 0.9 A, 5 %; the case and the fit are those that the command prints.
    assert "away from the rod | 1 | 0.0500 m | 12.1 ± 0.60 Ω | 9.59 Ω | +26 % | 12.0 Ω" in told
    assert "26.7 ± 0.80 Ω" in told
    assert "0.164 ft" in words_of(comparison(), units="US")


def test_explanations_are_ranked_and_doubted():
    told = words_of(comparison())
    assert told.index("1 | divider | ") < told.index("2 | soil scale | ")
    assert "None of them alone is enough" in told
    assert "pins of 1.96 MΩ more than noted" in told
    assert "soil scale × 0.640 and contact 5.89 Ω" in told
    assert "contact | 5.89 Ω | 5.32 Ω to 6.46 Ω" in told
    assert "    contact_resistance: 5.88887 ohm  # 5.32 Ω to 6.46 Ω (95 %)\n" in told


def test_a_table_of_readings_is_told_with_its_hash():
    ((name, digest),) = case("measured-fresh-rod").source.tables
    assert f"Table {name}, SHA-256 {digest}" in words_of(comparison_sections(compared()))
    assert digest in words_of(comparison()[-1:])  # where the report comes from


def test_each_earth_test_has_a_section_with_true_values():
    keys = [section.key for section in predicted()]
    tests = ["test1", "test2", "test3"]
    assert keys == ["earth-tests", *tests, "test-cautions", "provenance"]
    told = words_of(predicted())
    assert (
        "60 m of cable | as it stands | fall of potential, 61.8 % of the lead | 3.08 Ω" in told
    )
    assert "3.64 Ω ± 0.06 Ω | −15.2 %" in told
    assert "clay all the way down: no plateau" in told
    assert "the 61.8 % rule is for even soil" in told


def test_cautions_are_in_both():
    for chapters in (comparison(), predicted()):
        told = words_of(chapters)
        assert "can rise to kilovolts" in told
        assert "local codes" in told


@pytest.mark.slow
@pytest.mark.parametrize("chapters", [comparison, predicted])
def test_pictures_differ_by_units_only_and_are_the_same_every_time(chapters):
    pictures = [b for s in chapters() for b in s.blocks if isinstance(b, Picture)]
    assert pictures
    for picture in pictures:
        one, other = (picture.draw(units, "svg") for units in ("SI", "US"))
        assert one != other
        assert picture.draw("SI", "svg") == one


def test_no_text_leaves_a_picture(monkeypatch):
    seen = []

    def checked(figure, target, *, ending, **more):
        figure.draw_without_rendering()
        page = figure.bbox
        for text in figure.findobj(Drawn):
            if text.get_text().strip() and text.get_visible():
                box = Drawn.get_window_extent(text)
                inside = box.x0 >= 0 and box.x1 <= page.x1 and box.y0 >= 0 and box.y1 <= page.y1
                # Ticks beyond the axes are kept, and not drawn.
                seen.append((text.get_text(), inside))

    monkeypatch.setattr("ohmscape.viz.report.pictures.save_figure", checked)
    for chapters in (comparison(), predicted()):
        for section in chapters:
            for block in section.blocks:
                if isinstance(block, Picture):
                    block.draw("US", "png")
    assert len(seen) > 50
    outside = [text for text, inside in seen if not inside]
    assert all(text.replace(".", "").replace("−", "").isdigit() for text in outside)


@pytest.mark.slow
def test_names_are_text_and_never_markup(tmp_path):
    attack = "<script>alert(1)</script>"
    origin = replace(case_origin(case("grid-test-on-rock")), title=attack, case_file=attack)
    found = [replace(item, variant=item.variant and attack) for item in predictions()]
    chapters = prediction_chapters(found, origin=origin, made=_made)
    page, paper = write_sections(origin, chapters, tmp_path, made=_made)
    text = page.read_text("utf-8")
    assert text.count("<script") == 2
    assert attack not in text
    assert paper.read_bytes().startswith(b"%PDF")
    assert max(path.stat().st_size for path in (page, paper)) < 8e6


@pytest.fixture(scope="module")
def result():
    return run_case(case("measured-fresh-rod"), accuracy="coarse")


@pytest.mark.slow
def test_a_report_of_a_run_takes_in_what_was_read_in_the_field(result, tmp_path):
    target = tmp_path / "run"
    save_result(result, target, pictures=False)
    plain_report = CliRunner().invoke(main, ["report", str(target), "-q"])
    assert plain_report.exit_code == 0, plain_report.output
    page = (target / "report.html").read_text("utf-8")
    assert "'ohmscape compare' sets them beside" in unescape(page)
    assert "What the readings say" not in page
    arguments = ["report", str(target), "--field", "measured-fresh-rod", "-q"]
    done = CliRunner().invoke(main, arguments)
    assert done.exit_code == 0, done.output
    page = (target / "report.html").read_text("utf-8")
    keys = re.findall(r'<section id="([^"]+)">', page)
    assert len(keys) == len(set(keys))
    at = keys.index("outcome")
    assert keys[at : at + 6] == [
        "outcome", "readings", "explanations", "calibration", "reading-cautions", "accuracy",
    ]  # fmt: skip
    assert "'ohmscape compare' sets them beside" not in unescape(page)


def test_only_the_case_of_the_result_is_taken_in(result):
    with pytest.raises(ResultError, match=r"grid-test-on-rock.yaml .* is not the case of"):
        field_chapters(case("grid-test-on-rock"), result=result)
    bare = case("driven-rod")
    with pytest.raises(CaseError, match="nothing for the field"):
        field_chapters(bare, result=replace(result, case_hash=bare.source.sha256))


def test_tests_are_taken_in_too(result):
    tested = case("grid-test-on-rock")
    found = field_chapters(tested, result=replace(result, case_hash=tested.source.sha256))
    assert found[0].key == "earth-tests"
