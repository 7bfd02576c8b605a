"""A planned survey from case file to folder: readings, layers fitted to them, their errors."""

import csv
import re

import numpy as np
import pytest
from click.testing import CliRunner
from numpy.testing import assert_allclose

from ohmscape import load_case_text, simulate_survey
from ohmscape.command_line import main
from ohmscape.jobs.soil_survey import survey_soil
from ohmscape.jobs.understood import understood
from ohmscape.solver.errors import BudgetError, CaseError
from ohmscape.solver.soil_survey import wenner_resistivity
from ohmscape.solver.thin_wire import second_opinion

ROD = """
ohmscape: 1
title: Rod by an edge
north: 30 deg
soil:
  layers: [{{resistivity: 120 ohm*m}}]
  bodies: [{bodies}]
electrodes:
  - name: mast
    drive: {{current: 1 A}}
    parts: [{{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 3 m, diameter: 16 mm}}]
numerics: {{accuracy: coarse, second_opinion: never}}
survey_plan:
  - {across}
"""
EDGE = (
    "{name: rock, kind: beyond, line: [[2 m, 0 m], [2 m, 1 m]], side: right, "
    "bottomless: true, resistivity: 900 ohm*m}"
)
ACROSS = (
    "{name: across, array: wenner, midpoint: [0 m, 0.2 m], azimuth: 15 deg, "
    "spacings: [0.5 m, 1 m, 2.2 m, 4 m, 8 m]}"
)
ALONG = (
    "{name: along, array: schlumberger, midpoints: [[0 m, 0 m], [1 m, 9 m]], azimuth: 90 deg, "
    "half_potential_spacing: 0.4 m, half_current_spacings: [1 m, 3 m, 9 m], deviation: 5 %}"
)


def case_of(bodies=EDGE, plan=ACROSS):
    return load_case_text(ROD.format(bodies=bodies, across=plan))


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("survey")
    text = ROD.format(bodies=EDGE, across=f"{ACROSS}\n  - {ALONG}")
    (folder / "mast.yaml").write_text(text)
    done = CliRunner().invoke(
        main, ["survey", str(folder / "mast.yaml"), "-o", str(folder / "out")]
    )
    assert done.exit_code == 0, done.output
    (folder / "said.txt").write_text(done.output)
    return folder


@pytest.mark.slow
def test_the_folder_holds_readings_answers_and_pictures(folder):
    names = {path.name for path in (folder / "out").iterdir() if path.name[0] != "."}
    assert {"survey.csv", "survey-answers.csv", "survey.png", "survey.svg"} <= names


@pytest.mark.slow
def test_soil_fits_the_readings_as_the_survey_says(folder):
    answers = rows_of(folder / "out" / "survey-answers.csv")
    found = survey_soil(folder / "out" / "survey.csv", layers=int(answers[-1]["layers"]))
    survey = found.sounding.survey
    assert survey.names == ("across", "along 1", "along 2")
    assert len(survey) == 5 + 2 * 3
    # North is 30 degrees clockwise of y, so x is 30 degrees south of east.
    assert [each.direction for each in survey.traverses] == [
        "north-east to south-west", "north-west to south-east", "north-west to south-east",
    ]  # fmt: skip
    assert_allclose(survey.deviation, [0.03] * 5 + [0.05] * 6)
    assert [row["fitted to"] for row in answers] == ["across", "along", "all"]
    misfit = found.sounding.chosen.misfit
    assert_allclose(float(answers[-1]["misfit [%]"]), 100 * misfit, rtol=1e-6)
    layers = found.sounding.chosen.soil
    ohms = 1 / second_opinion(case_of().conductors, soil=layers).current_matrix[0, 0]
    assert_allclose(float(answers[-1]["resistance [ohm]"]), ohms, rtol=1e-6)


def rows_of(path):
    lines = [line for line in path.read_text().splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


@pytest.mark.slow
def test_the_true_resistance_is_that_of_images(folder):
    # A rod 2 m from rock: its mirror image beyond adds what a rod 4 m away would.
    case = case_of()
    mirror = (900 - 120) / (900 + 120)
    # Thin wires' even current; half the 3 m rod's potential 4 m away. [Ω/m]
    z = np.linspace(0.05, 2.95, 30)
    away = np.hypot(4.0, np.subtract.outer(z, z)), np.hypot(4.0, np.add.outer(z, z))
    mutual = 120 / (4 * np.pi) * sum((1 / each).mean() for each in away)
    own = 1 / second_opinion(case.conductors, soil=case.soil.layers_alone).current_matrix[0, 0]
    found = rows_of(folder / "out" / "survey-answers.csv")[0]
    true = float(found["resistance in the ground as it is [ohm]"])
    assert_allclose(true, own + mirror * mutual, rtol=5e-3)


@pytest.mark.slow
def test_the_finding_says_by_how_much_layers_miss(folder):
    said = " ".join((folder / "said.txt").read_text().split())
    row = rows_of(folder / "out" / "survey-answers.csv")[0]
    share = round(float(row["difference [%]"]))
    assert abs(share) > 2
    ohms = f"{float(row['resistance [ohm]']):.3g}"
    assert re.search(f"fitted to traverse 'across' gives? {re.escape(ohms)} Ω for 'mast'", said)
    assert f"Ω: {share:+d} %".replace("-", "−") in said
    assert "for 'mast' the traverses differ by" in said
    assert "no measurement" in said


@pytest.mark.slow
def test_over_layers_alone_the_survey_finds_the_layers_and_nothing_is_missed():
    text = ROD.format(bodies="", across=ACROSS).replace(
        "[{resistivity: 120 ohm*m}]",
        "[{resistivity: 120 ohm*m, thickness: 1.3 m}, {resistivity: 480 ohm*m}]",
    )
    case = load_case_text(text)
    found = simulate_survey(case)
    spacings = (0.5, 1.0, 2.2, 4.0, 8.0)
    exact = wenner_resistivity(spacings, soil=case.soil)
    assert_allclose(found.apparent_resistivity[0][0], exact, rtol=1e-2)
    assert_allclose(found.errors(0), 0, atol=0.02)
    (words,) = found.findings
    assert "misfit" not in words
    assert "2 layers fitted to traverse 'across'" in words


def test_check_says_what_is_planned():
    assert "across: 5 readings about" in understood(case_of())


def test_a_case_without_a_plan_is_refused():
    text = ROD.format(bodies="", across=ACROSS).split("survey_plan")[0]
    with pytest.raises(CaseError, match="plans no soil survey; write the block 'survey_plan'"):
        simulate_survey(load_case_text(text))


@pytest.mark.parametrize(
    ("plan", "message"),
    [
        (ACROSS.replace("midpoint: [0 m, 0.2 m], ", ""), "midpoint"),
        (ALONG.replace("0.4 m", "1.2 m"), r"potential pins 1.2 m from the middle stand beyond"),
        (
            ACROSS.replace("azimuth: 15 deg", "azimuth: 0 deg").replace("1 m", "4 m"),
            r"survey_plan\[1\].*\(2, 0.2\) m, on a wall of 'rock'",
        ),
    ],
)
def test_a_plan_that_cannot_be_is_refused(plan, message):
    with pytest.raises(CaseError, match=message):
        case_of(plan=plan)


def test_a_pin_in_a_void_is_refused_at_its_line():
    pit = (
        "{name: pit, kind: cylinder, centre: [5 m, 1.5 m], radius: 2 m, bottom: 1 m, "
        "void: true}"
    )
    with pytest.raises(CaseError, match=r"survey_plan\[1\].*in 'pit', a void; move the middle"):
        case_of(bodies=pit)


def test_too_many_readings_are_refused():
    middles = ", ".join(f"[{k} m, 0 m]" for k in range(50))
    plan = ALONG.replace("[0 m, 0 m], [1 m, 9 m]", middles).replace(
        "[1 m, 3 m, 9 m]", "[1 m, 2 m, 3 m, 4 m, 5 m, 6 m, 7 m, 8 m, 9 m]"
    )
    with pytest.raises(BudgetError, match="450 readings are planned; at most 400"):
        case_of(plan=plan)
