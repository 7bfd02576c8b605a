"""Survey tables: what comes out of them, what is refused, all at once and with lines."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.reading.size_limits import MOST_READINGS
from ohmscape.cases.soil_survey.readings import load_survey
from ohmscape.solver.errors import BudgetError, CaseError


@pytest.fixture
def load(tmp_path):
    def build(text, name="meadow.csv"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return load_survey(path)

    return build


def test_wenner_readings_give_two_pi_a_r(load):
    read = load("spacing [m],resistance [ohm]\n1.5,20.3\n4,6.1\n")
    expected = 2 * np.pi * np.array([1.5, 4.0]) * [20.3, 6.1]
    assert_allclose(read.survey.apparent_resistivity, expected, rtol=1e-12)
    assert read.survey.names == ("meadow",)
    assert read.warnings == ()


def test_printed_readings_of_a_utility_manual(load):
    # fliphtml5.com/knayh/omdt page 419, table B-3: spacing, R and the printed value.
    spacing = [1, 1.5, 2, 3, 4.5, 6, 9, 13.5]
    ohms = [21.1, 14.43, 10.96, 6.52, 4.55, 3.37, 2.48, 1.609]
    printed = [132.59, 136.02, 137.75, 122.92, 128.66, 127.06, 140.26, 136.50]
    rows = "".join(f"{a},{r}\n" for a, r in zip(spacing, ohms, strict=True))
    read = load("a [m],resistance [ohm]\n" + rows)
    # Printed to five digits from ohms of three: 0.02 %.
    assert_allclose(read.survey.apparent_resistivity, printed, rtol=3e-4)


def test_feet_and_ohm_centimetres_end_in_si(load):
    read = load("a [ft],apparent_resistivity [ohm*cm]\n10,12500\n")
    assert_allclose(read.survey.spacing, 3.048, rtol=1e-12)
    assert_allclose(read.survey.apparent_resistivity, 125.0, rtol=1e-12)


def test_voltage_over_current_is_the_resistance(load):
    read = load("a [m],voltage [mV],current [mA]\n2,450,18\n")
    assert_allclose(read.survey.resistance, 25.0, rtol=1e-12)


def test_one_table_may_hold_all_arrays(load):
    head = (
        "traverse;spacing [m];half_current_spacing [m];half_potential_spacing [m];"
        "current_pin_1 [m];potential_pin_1 [m];potential_pin_2 [m];current_pin_2 [m];"
        "driven_length [m];diameter [mm];apparent_resistivity [ohm*m];resistance [ohm];"
        "deviation [%];pin_depth [cm]\n"
    )
    rows = (
        "rod;;;;;;;;1,5;16;;71;2,5;\n"
        "line;2;;;;;;;;;140;;;\n"
        "line;;10;1;;;;;;;130;;4;\n"
        "line;;;;0;3;4;9;;;120;;;\n"
        "line;3;;;;;;;;;;7;;10\n"
    )
    survey = load(head + rows).survey
    assert survey.names == ("rod", "line")
    assert_allclose(survey.apparent_resistivity[:3], [140, 130, 120], rtol=1e-12)
    assert_allclose(survey.four_pin.pins[1], [-10, -1, 1, 10])
    assert_allclose(survey.four_pin.pins[2], [0, 3, 4, 9])
    assert_allclose(survey.four_pin.pin_depth, [0, 0, 0, 0.1])
    assert_allclose(survey.deviation, [np.nan, 0.04, np.nan, np.nan, 0.025])
    # Four pins come first, the rod of the first row last.
    assert survey.traverse.tolist() == [1, 1, 1, 1, 0]
    assert_allclose(survey.driven_rod.radius, 0.008)


def test_what_is_said_about_a_traverse_is_kept(load):
    text = (
        "traverse,direction,date,note,a [m],resistance [ohm]\n"
        "north,N-S,2026-05-04,after rain,1,20\n"
        "north,,,wet ditch,2,11\n"
        "east,E-W,,,1,21\n"
    )
    north, east = load(text).survey.traverses
    assert (north.direction, north.date) == ("N-S", "2026-05-04")
    assert north.note == "after rain; wet ditch"
    assert (east.direction, east.date, east.note) == ("E-W", "", "")


@pytest.mark.parametrize(("said", "depth"), [("yes", 0.3), ("no", 0.0)])
def test_buried_pins_say_what_their_apparent_resistivity_holds(load, said, depth):
    head = "a [m],apparent_resistivity [ohm*m],pin_depth [m],depth_corrected\n"
    read = load(head + f"2,100,0.3,{said}\n")
    # F. Wenner 1915: 4 pi a R / (1 + 2a/sqrt(a2 + 4b2) - a/sqrt(a2 + b2)).
    a = 2.0
    exact = 1 + 2 * a / np.hypot(a, 2 * depth) - 2 * a / np.hypot(2 * a, 2 * depth)
    assert_allclose(read.survey.resistance, 100 * exact / (4 * np.pi * a), rtol=1e-12)


def test_all_problems_come_at_once_with_their_lines(load):
    text = (
        "# survey\n"
        "traverse,date,a [m],resistance [ohm],voltage [V],deviation [%]\n"
        "one,Monday,0,20,,\n"
        "one,Tuesday,2,x,,\n"
        ",,3,4,,\n"
        "one,,3,4,2,\n"
        "one,,3,,,\n"
        "one,,,5,,\n"
        "one,,3,5,,150\n"
        "one,,3\n"
    )
    with pytest.raises(CaseError) as caught:
        load(text)
    found = {problem.line: problem.message for problem in caught.value.problems}
    assert set(found) == {3, 4, 5, 6, 7, 8, 9, 10}
    assert "spacing: 0 is 0 m; allowed from 0.001" in found[3]
    assert "date: 'Tuesday' contradicts 'Monday'" in " ".join(map(str, caught.value.problems))
    assert "every row names its traverse" in found[5]
    assert "give resistance, or voltage and current, not both" in found[6]
    assert "no reading" in found[7]
    assert "exactly one array (Wenner, Schlumberger" in found[8]
    assert "deviation: 150 is 150 %; allowed from 0.001 to 99 %" in found[9]
    assert "3 cells, the headings name 6" in found[10]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("spacing,resistance [ohm]\n1,2\n", r"heading 'spacing'; did you mean 'spacing \[m\]'"),
        ("a [m],rho [ohm*m]\n1,2\n", r"heading 'rho \[ohm\*m\]'; .*a heading is a name and"),
        ("a [ohm],resistance [ohm]\n1,2\n", r"'ohm' is not a unit of length"),
        ("a [m],apparent_resistivity [ohm]\n1,2\n", r"'ohm' is not a unit of resistivity"),
        ("a [m],spacing [m]\n1,2\n", r"heading 'spacing \[m\]' stands twice"),
        ("a [m],resistance [ohm],deviation [ohm]\n1,2,3\n", r"unit 'ohm'; write \[%\]"),
        ("driven_length [m],diameter [AWG]\n1,2\n", r"a column cannot be in AWG"),
        ("resistance [ohm],note\n1,2\n", r"no columns that say where the pins were"),
        ("a [m],resistance [ohm]\n", r"holds no readings below its headings"),
        ("a [m],voltage [V],current [A]\n1,2,\n", r"voltage and current go together"),
        ("a [m],voltage [V],current [A]\n1,2,0\n", r"current: 0 A; a reading needs"),
        ("a [m],resistance [ohm]\n1,-2\n", r"m.csv:2: resistance -2 Ω must be positive"),
        (
            "half_current_spacing [m],half_potential_spacing [m],resistance [ohm]\n5,,1\n",
            r"Schlumberger: give half_potential_spacing too",
        ),
        (
            "half_current_spacing [m],half_potential_spacing [m],resistance [ohm]\n5,5,1\n",
            r"m.csv:2: pins at .* must be four different places",
        ),
        (
            "driven_length [m],diameter [mm],apparent_resistivity [ohm*m]\n2,16,90\n",
            r"driven rod: give its resistance",
        ),
        (
            "driven_length [m],diameter [mm],resistance [ohm]\n0.05,16,90\n",
            r"m.csv:2: driven length 0.05 m must be at least 10 radii",
        ),
        (
            "a [m],apparent_resistivity [ohm*m],pin_depth [m]\n1,50,0.1\n",
            r"m.csv:2: apparent resistivity with buried pins: say by depth_corrected",
        ),
        (
            "a [m],apparent_resistivity [ohm*m],depth_corrected\n1,50,maybe\n",
            r"depth_corrected: 'maybe'; write yes or no",
        ),
        ("a [m],resistance [ohm],note\n1,2,tab\there\n", r"at most 200 printable characters"),
        (b"a [m],resistance [ohm]\n1,\xff\n", r"m.csv:2: is not UTF-8 text"),
    ],
)
def test_wrong_tables_are_refused(load, text, message):
    with pytest.raises(CaseError, match=message):
        load(text, name="m.csv")


def test_too_many_readings_and_faults_end_early(load):
    head = "a [m],resistance [ohm]\n"
    with pytest.raises(BudgetError, match=rf"at most {MOST_READINGS:,} are read"):
        load(head + "1,2\n" * (MOST_READINGS + 1))
    with pytest.raises(CaseError, match="reading stopped here"):
        load(head + "1,x\n" * 200)


def test_a_missing_or_oversize_file_is_refused(tmp_path, monkeypatch):
    with pytest.raises(CaseError, match=r"no survey file '.*none.csv'"):
        load_survey(tmp_path / "none.csv")
    monkeypatch.setattr("ohmscape.cases.soil_survey.readings.LARGEST_TABLE", 10)
    (tmp_path / "long.csv").write_text("a [m],resistance [ohm]\n1,2\n")
    with pytest.raises(BudgetError, match="at most 10 are read"):
        load_survey(tmp_path / "long.csv")


def test_a_table_far_too_large_is_refused_by_what_it_begins_with(load):
    with pytest.raises(CaseError) as caught:
        load(",".join(f"column_{k} [m]" for k in range(200_000)) + "\n1\n")
    (problem,) = caught.value.problems
    assert "meadow.csv:1: 200,000 headings, a table has 100 at most" in str(problem)
    # The line that no reader would get to is never split into cells.
    rows = "1,2\n" * (MOST_READINGS + 1) + '"' + "1,2\n" * 1000
    with pytest.raises(BudgetError, match=rf"meadow.csv:{MOST_READINGS + 2}: .*at most 2,000"):
        load("spacing [m],resistance [ohm]\n" + rows)
