"""Presets for seasons: good variants of any soil in layers, that say what they are."""

import pytest
from click.testing import CliRunner
from numpy.testing import assert_allclose

from ohmscape.cases.loading import load_case_text
from ohmscape.cases.seasons import DRIER, FROZEN, season_variants
from ohmscape.cases.starter import starter_case
from ohmscape.command_line import main
from ohmscape.solver.errors import CaseError
from ohmscape.solver.model import Soil


def test_the_steps_are_those_of_the_tables():
    # IEEE Std 142-1991 section 4.1 (from memory): 105 to 430, and 72 to 790 ohm*m.
    assert_allclose((DRIER, FROZEN), (430 / 105, 790 / 72), rtol=1e-12)


@pytest.mark.parametrize(
    ("depths", "dry", "frozen"),
    # The starter has 200 ohm*m, 2 m thick, over 70 ohm*m.
    [
        (
            {"dry": 1.2, "frost": 0.7},
            ((819, 200, 70), (1.2, 0.8)),
            ((2194, 200, 70), (0.7, 1.3)),
        ),
        ({"dry": 2.0, "frost": 2.9}, ((819, 70), (2.0,)), ((2194, 768, 70), (2.0, 0.9))),
    ],
)
def test_the_top_is_multiplied_down_to_its_depth(depths, dry, frozen):
    soil = load_case_text(starter_case()).soil
    case = load_case_text(starter_case() + season_variants(soil, **depths))
    assert [each.variant for each in case.variants] == [
        "dry top (preset)",
        "frozen top (preset)",
    ]
    for variant, (resistivity, thickness) in zip(case.variants, (dry, frozen), strict=True):
        assert_allclose(variant.soil.resistivity, resistivity, rtol=5e-3)
        assert_allclose(variant.soil.thickness, thickness, rtol=1e-9)


def test_beds_are_multiplied_both_ways():
    soil = Soil((36.0,), vertical_resistivity=(110.0,))
    text = season_variants(soil, dry=1.0, frost=1.0)
    assert "resistivity: 147.4 ohm*m, vertical_resistivity: 450.5 ohm*m, thickness: 1 m" in text
    assert "- {resistivity: 36 ohm*m, vertical_resistivity: 110 ohm*m}" in text


def test_depths_above_the_ground_are_refused():
    with pytest.raises(CaseError, match="both have to be above 0 m"):
        season_variants(Soil((100.0,)), dry=1.0, frost=0.0)


def test_the_command_prints_a_block_to_paste(tmp_path):
    file = tmp_path / "mine.yaml"
    file.write_text(starter_case(), encoding="utf-8")
    done = CliRunner().invoke(main, ["seasons", str(file), "--frost", "3 ft"])
    assert done.exit_code == 0
    assert "Presets, not measurements" in done.output
    assert len(load_case_text(starter_case() + done.output).variants) == 2
    wrong = CliRunner().invoke(main, ["seasons", str(file), "--frost", "3"])
    assert wrong.exit_code == 2
