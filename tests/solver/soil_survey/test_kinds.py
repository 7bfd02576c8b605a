"""Usual resistivities by kind of soil, and what is none of them."""

import pytest

from ohmscape.cases.loading import load_case_text
from ohmscape.cases.starter import starter_case
from ohmscape.jobs.understood import understood
from ohmscape.solver.soil_survey.kinds import usual_kinds


@pytest.mark.parametrize(
    ("resistivity", "kind"),
    # EN 50522:2010 table J.1 (from memory), away from the ends of its ranges.
    [(20.0, "marsh"), (100.0, "loam, clay, humus"), (1000.0, "sand"), (2500.0, "gravel")],
)
def test_soils_are_in_their_own_range(resistivity, kind):
    assert kind in usual_kinds(resistivity)


def test_what_no_soil_has_is_told_before_anything_is_solved():
    text = starter_case()
    assert "usual for loam, clay, humus" in understood(load_case_text(text))
    wrong = text.replace("70 ohm*m", "120 kohm*m")
    told = understood(load_case_text(wrong))
    assert told.count("NOT usual for any soil") == 1
