"""Slips that a survey shows: told, and never mended."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.soil_survey.readings import load_survey


@pytest.fixture
def warnings(tmp_path):
    def build(text):
        path = tmp_path / "field.csv"
        path.write_text(text, encoding="utf-8")
        return load_survey(path).warnings

    return build


@pytest.mark.parametrize(
    ("factor", "meaning"),
    [
        (100.0, "as with ohm*cm headed as ohm*m"),
        (0.01, "as with ohm*m headed as ohm*cm"),
        (1 / 0.3048, "as with spacings in metres headed as feet"),
        (0.3048, "as with spacings in feet headed as metres"),
        (1.7, "1.7 times what resistance and pins give; the resistance was used"),
    ],
)
def test_two_values_of_a_reading_show_a_unit_slip(warnings, factor, meaning):
    value = 2 * np.pi * 3 * 6.1 * factor
    head = "a [m],resistance [ohm],apparent_resistivity [ohm*m]\n"
    (found,) = warnings(head + f"3,6.1,{value}\n")
    assert found.startswith("line 2: ")
    assert meaning in found


def test_two_values_that_agree_are_no_slip(warnings):
    head = "a [m],resistance [ohm],apparent_resistivity [ohm*m]\n"
    assert warnings(head + "3,6.1,115\n") == ()


def test_values_a_unit_away_from_soils_are_told(warnings):
    head = "a [m],apparent_resistivity [ohm*m]\n"
    assert "ohm*cm" in warnings(head + "1,18000\n2,21000\n4,25000\n")[0]
    assert "headed as ohm*cm" in warnings(head + "1,0.4\n2,0.5\n4,0.6\n")[0]
    (found,) = warnings(head + "1,0.9\n2,1.5\n4,1.8\n")
    assert found.startswith("line 2: apparent resistivity outside 1 to 100000")


def test_traverses_a_hundredfold_apart_are_told(warnings):
    head = "traverse,a [m],apparent_resistivity [ohm*m]\n"
    (found,) = warnings(head + "b,1,90\nb,2,95\nc,1,9000\nc,2,9100\n")
    assert "traverse 'c' lies 97.9 times above 'b'" in found


def test_jumps_and_rises_are_told_with_their_lines(warnings):
    head = "a [m],apparent_resistivity [ohm*m]\n"
    (found,) = warnings(head + "1,90\n2,9\n4,0.8e3\n8,900\n".replace("2,9\n", "2,85\n"))
    # 85 to 800 from 2 m to 4 m: 9.4 times, yet more than twofold.
    assert found.startswith("line 4: apparent resistivity rises faster than the spacing")
    (found,) = warnings(head + "1,90\n2,95\n4,8\n8,7\n")
    assert found.startswith("line 4: apparent resistivity more than 10 times")


def test_the_steepest_branch_of_a_layered_curve_is_no_slip(warnings):
    # K = 1, a/h = 1, 2, 3, 5, 10, computed independently (20 ln 2 at 10).
    ratio = {1: 1.50446, 2: 2.77992, 3: 4.15927, 5: 6.93147, 10: 13.86294}
    rows = "".join(f"{a},{100 * value}\n" for a, value in ratio.items())
    assert warnings("a [m],apparent_resistivity [ohm*m]\n" + rows) == ()


def test_deep_pins_and_odd_spacings_are_told(warnings):
    (found,) = warnings("a [m],resistance [ohm],pin_depth [m]\n2,9,0.15\n8,2.2,0.15\n")
    assert found.startswith("line 2: pins deeper than a twentieth")
    (found,) = warnings("a [m],resistance [ohm]\n0.05,300\n2000,0.01\n")
    assert found.startswith("lines 2, 3: spacings outside 0.1 to 1,000 m (0.328 to 3,280 ft)")


def test_nothing_is_changed_by_a_warning(tmp_path):
    path = tmp_path / "field.csv"
    path.write_text("a [m],apparent_resistivity [ohm*m]\n1,18000\n2,21000\n")
    read = load_survey(path)
    assert read.warnings
    assert_allclose(read.survey.apparent_resistivity, [18000, 21000], rtol=1e-12)


def test_resistances_under_the_heading_of_resistivity_are_asked_about(warnings):
    head = "a [m],apparent_resistivity [ohm*m]\n"
    # 2 pi a R of these is 196 to 245 ohm*m.
    (found,) = warnings(head + "1,31.2\n2,16.1\n4,8.9\n8,4.6\n16,2.44\n")
    assert "are these resistances? They go under resistance [ohm]" in found
    # Soil over a good layer falls too, but levels out at both ends.
    assert warnings(head + "1,210\n2,190\n4,120\n8,60\n16,42\n") == ()
