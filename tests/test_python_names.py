"""What Python users have: what a command does, by documented functions, and short forms."""

import inspect
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

import ohmscape
from ohmscape import CaseError, OhmscapeError

CASE = """
ohmscape: 1
title: Rod & <b>fence</b>
soil: {layers: [{resistivity: 130 ohm*m}]}
electrodes:
  - name: rod
    drive: {current: 7 A}
    parts: [{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 3 m, diameter: 16 mm}]
  - name: <i>fence</i>
    drive: {floating: true}
    parts: [{kind: rod, at: [6 m, 0 m], top_depth: 0 m, length: 1 m, diameter: 50 mm}]
variants:
  - name: drier
    soil: {layers: [{resistivity: 390 ohm*m}]}
numerics: {accuracy: coarse}
"""


@pytest.fixture(scope="module")
def case():
    return ohmscape.load_case_text(CASE)


@pytest.fixture(scope="module")
def results(case):
    return ohmscape.run_variants(case)


@pytest.mark.parametrize("name", [name for name in ohmscape.__all__ if name[0] != "_"])
def test_every_public_name_is_documented(name):
    assert len(inspect.getdoc(getattr(ohmscape, name))) > 20


def test_every_verb_has_its_function():
    verbs = {
        "check": "understood",
        "run": "run_variants",
        "size": "size_case",
        "curve": "curve_of",
        "soil": "survey_soil",
        "survey": "simulate_survey",
        "compare": "compare_case",
        "earth-test": "predict_tests",
        "sheets": "plan_sheets",
        "reassess": "reassess",
        "draw": "draw",
        "report": "write_report",
        "export": "export_result",
    }
    assert set(verbs.values()) <= set(ohmscape.__all__)


def test_electrodes_are_asked_for_by_name_or_number(results):
    base = results[0]
    assert base.resistance("rod") == base.resistance(0)
    assert_allclose(base.current("rod"), 7.0, rtol=1e-9)
    assert_allclose(base.current("<i>fence</i>"), 0.0, atol=1e-9)
    assert_allclose(base.voltage("rod"), 7.0 * base.resistance("rod"), rtol=1e-9)
    with pytest.raises(
        CaseError, match=r"no electrode 'rodd'; there are 'rod', .*numbers 0 to 1"
    ):
        base.resistance("rodd")
    with pytest.raises(CaseError, match="no electrode 2; there are"):
        base.resistance(2)


def test_surface_places_may_have_a_third_column(results):
    field = results[0].field
    plan = [[1.2, 0.4], [3.1, -2.0]]
    three = np.column_stack([plan, np.zeros(2)])
    assert_allclose(field.surface_potential(three), field.surface_potential(plan), rtol=0)
    three[1, 2] = -0.5
    with pytest.raises(CaseError, match="is not the surface"):
        field.surface_potential(three)
    with pytest.raises(CaseError, match=r"shape \(1, 4\)"):
        field.surface_potential([[1.0, 2.0, 3.0, 4.0]])


def test_short_forms_are_short_and_hold_no_markup(case, results):
    for thing in (case, *results):
        text, page = repr(thing), thing._repr_html_()
        assert len(text) < 1000
        assert "rod" in text
        assert "<b>fence" not in page
        assert "&lt;i&gt;fence" in page
        assert "local codes and licensed practice decide" in page
    assert "not judged" in repr(results[0])
    assert "drier" in repr(results[1])
    assert "drier" in repr(case)


def test_a_sounding_has_its_short_forms():
    found = ohmscape.survey_soil("surveyed-pump-house").sounding
    assert "2 layers (chosen): 2" in repr(found)
    assert "<table>" in found._repr_html_()
    assert len(repr(found)) < 1500


def test_a_case_may_be_named_by_its_file_or_as_a_shipped_one(tmp_path, case):
    path = tmp_path / "my-case.yaml"
    path.write_text(CASE, encoding="utf-8")
    assert ohmscape.load_case(path).title == case.title
    assert ohmscape.load_case("driven-rod").conductors.group_names == ("pump rod",)
    assert "Expected cost" in ohmscape.understood(str(path))
    with pytest.raises(CaseError, match=r"no file 'rodd' here; .* shipped case: bench-rod"):
        ohmscape.run_case("rodd")
    with pytest.raises(CaseError, match="float is no case"):
        ohmscape.run_case(3.0)


def test_another_current_is_judged_without_solving(case, results):
    text = CASE.replace("current: 7 A", "current: 21 A")
    base, drier = ohmscape.reassess(ohmscape.load_case_text(text), results)
    assert base.solution is results[0].solution
    assert_allclose(base.rise, 3 * results[0].rise, rtol=1e-12)
    assert_allclose(drier.rise, 3 * results[1].rise, rtol=1e-12)
    moved = CASE.replace("at: [6 m, 0 m]", "at: [7 m, 0 m]")
    with pytest.raises(OhmscapeError, match="the metal of the case is not that of the result"):
        ohmscape.reassess(ohmscape.load_case_text(moved), results)


def test_results_are_kept_loaded_and_drawn(results, tmp_path):
    folder = tmp_path / "kept"
    ohmscape.save_result(results[0], folder, variants=results[1:], pictures=False)
    again = ohmscape.load_results(folder)
    assert [item.variant for item in again] == ["", "drier"]
    assert repr(again[0]) == repr(results[0])
    compared = ohmscape.comparison(again)
    assert "drier" in ohmscape.comparison_table(compared)
    assert replace(again[0], title="x").title == "x"
