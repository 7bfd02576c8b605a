"""Soil of a case from its survey: the choice of layers, equivalents, warnings, refusals."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.fitting import fit_soil
from ohmscape.cases.loading import case_from
from ohmscape.cases.soil_survey.readings import SurveyReadings
from ohmscape.cases.soil_survey.surveyed import longest_extent, surveyed_soil
from ohmscape.solver.errors import CaseError
from ohmscape.solver.model import Soil
from ohmscape.solver.soil_survey import FourPinReadings, Survey, wenner_resistivity

SPACINGS = np.geomspace(0.5, 20.0, 9)
SOIL = Soil((210.0, 65.0), (2.4,))


def content(*, soil=SOIL, spacings=SPACINGS, grid="6 m", variants=(), **options):
    """A case of one square loop whose soil is a survey that a known soil gives."""
    readings = [
        {"spacing": f"{a:.6g} m", "apparent_resistivity": f"{rho:.9g} ohm*m"}
        for a, rho in zip(spacings, wenner_resistivity(spacings, soil=soil), strict=True)
    ]
    line = {"name": "north", "array": "wenner", "readings": readings}
    corners = [["0 m", "0 m"], [grid, "0 m"], [grid, grid], ["0 m", grid]]
    loop = {"kind": "loop", "points": corners, "depth": "0.5 m", "diameter": "8 mm"}
    found = {
        "ohmscape": 1,
        "title": "Under test",
        "soil": {"survey": {"traverses": [line], **options}},
        "electrodes": [{"name": "loop", "drive": {"current": "9 A"}, "parts": [loop]}],
    }
    return found | ({"variants": list(variants)} if variants else {})


@pytest.mark.parametrize("layers", [{}, {"layers": "supported"}, {"layers": 2}])
def test_the_layers_are_those_the_readings_were_made_from(layers):
    case = fit_soil(case_from(content(**layers)))
    # Readings have nine digits, spacings six.
    assert_allclose(case.soil.resistivity, SOIL.resistivity, rtol=1e-4)
    assert_allclose(case.soil.thickness, SOIL.thickness, rtol=1e-4)
    assert case.survey.warnings == ()
    assert case.variants == ()


def test_another_number_of_layers_than_supported_is_warned_of():
    fewer = fit_soil(case_from(content(layers=1))).survey
    assert fewer.soil.thickness == ()
    assert "no uniform soil stands for it" in fewer.warnings[0]
    assert fewer.warnings[-1].startswith("uniform soil asked for, fewer than the 2 that the")
    more = fit_soil(case_from(content(layers=3))).survey
    assert len(more.soil.resistivity) == 3
    assert more.warnings[-1].startswith("3 layers asked for, more than the 2 that the readings")


def test_a_survey_shorter_than_the_electrode_is_warned_of():
    case = fit_soil(case_from(content(grid="15 m")))
    # Diagonal of the square in plan.
    assert_allclose(longest_extent(case.conductors), 15 * np.sqrt(2), rtol=1e-12)
    (warning,) = case.survey.warnings
    longest = "the longest spacing, 20 m (65.6 ft), is shorter than the diagonal"
    assert longest in warning


def test_equivalents_become_variants_in_the_soil_they_name():
    case = fit_soil(case_from(content(equivalents=3)))
    assert [variant.variant for variant in case.variants] == [
        "equivalent soil 1", "equivalent soil 2", "equivalent soil 3",
    ]  # fmt: skip
    soils = [variant.soil for variant in case.variants]
    assert len({*soils, case.soil}) == 4
    for soil in soils:
        # Within the noise that any reading has, 1 %, times the 95 % quantile.
        off = wenner_resistivity(SPACINGS, soil=soil) / wenner_resistivity(SPACINGS, soil=SOIL)
        assert np.sqrt(np.mean((off - 1) ** 2)) < 0.02


def test_a_variant_has_a_survey_of_its_own():
    dry = content(soil=Soil((900.0, 65.0), (2.4,)))["soil"]
    case = fit_soil(case_from(content(variants=[{"name": "dry", "soil": dry}])))
    (variant,) = case.variants
    assert_allclose(variant.soil.resistivity, (900.0, 65.0), rtol=1e-4)
    assert variant.survey.chosen.layers == 2


def test_more_layers_than_the_readings_can_give_are_refused_at_their_place():
    with pytest.raises(
        CaseError,
        match=r"soil.survey.layers: 3 layers need more different spacings .* with 1 to 2",
    ):
        fit_soil(case_from(content(spacings=SPACINGS[::2], layers=3)))


def test_layers_beyond_the_contrast_of_a_case_are_refused():
    a = np.geomspace(0.5, 300.0, 9)
    rho = wenner_resistivity(a, soil=Soil((10.0, 1e5), (1.0,)))
    readings = FourPinReadings.wenner(a, resistance=rho / (2 * np.pi * a))
    with pytest.raises(CaseError, match=r"2 fitted layers differ by 1.*at most 1000 to 1"):
        surveyed_soil(SurveyReadings(Survey.of(readings), ()), layers=2)


def test_the_sounding_keeps_what_was_chosen():
    surveyed = fit_soil(case_from(content(layers=3, equivalents=2))).survey
    sounding = surveyed.sounding
    assert (sounding.layers, sounding.supported, sounding.asked) == (3, 2, True)
    assert sounding.chosen.soil == surveyed.soil
    assert sounding.equivalents == surveyed.equivalents
    assert sounding.warnings == surveyed.warnings
    assert_allclose(
        sounding.chosen.depth_envelope[:, 0] <= np.cumsum(surveyed.soil.thickness), True
    )
