"""The soil verb, and the survey of a case on its way into a result."""

import re
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from click.testing import CliRunner
from numpy.testing import assert_allclose

from ohmscape import load_case_text, load_result, run_case, save_result, summary
from ohmscape.cases.fitting import fit_soil
from ohmscape.cases.soil_survey import surveyed
from ohmscape.command_line import main
from ohmscape.jobs.run import run_variants
from ohmscape.jobs.soil_survey import from_case, from_table
from ohmscape.jobs.understood import understood
from ohmscape.solver.errors import CaseError
from ohmscape.solver.model import Soil
from ohmscape.solver.soil_survey import wenner_resistivity
from ohmscape.viz.cautions import ABOUT_SOUNDINGS
from ohmscape.viz.files.manifest import Made, Manifest, write_manifest
from ohmscape.viz.soil_survey.text import band_lines
from ohmscape.viz.wording import significant

SPACINGS = (0.5, 1.0, 1.5, 2.0, 3.0, 5.0, 8.0, 12.0, 18.0)
SOIL = Soil((190.0, 55.0), (1.8,))
WRONG = 5

REST = """
electrodes:
  - name: kiosk
    drive: {current: 40 A}
    parts: [{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 2.7 m, diameter: 16 mm}]
study: {area: {margin: 3 m, spacing: 0.5 m}}
numerics: {accuracy: coarse}
"""


def values():
    scatter = 1 + 0.02 * np.sin(7.0 * np.arange(len(SPACINGS)))
    rho = wenner_resistivity(SPACINGS, soil=SOIL) * scatter
    rho[WRONG] *= 0.5
    return rho


def table():
    rows = [f"{a},{rho:.4g}" for a, rho in zip(SPACINGS, values(), strict=True)]
    return "# by the gate\nspacing [m],apparent_resistivity [ohm*m]\n" + "\n".join(rows) + "\n"


def case_text(*options):
    readings = [
        f"          - {{spacing: {a} m, apparent_resistivity: {rho:.4g} ohm*m}}"
        for a, rho in zip(SPACINGS, values(), strict=True)
    ]
    head = ["ohmscape: 1", "title: Kiosk by the gate", "units: US", "soil:", "  survey:"]
    head += [f"    {option}" for option in options]
    head += ["    traverses:", "      - name: gate", "        array: wenner"]
    return "\n".join([*head, "        readings:", *readings]) + REST


@pytest.fixture(scope="module")
def finished(tmp_path_factory):
    """Folder of the verb on a table, and what it printed."""
    folder = tmp_path_factory.mktemp("soil")
    source = folder / "gate.csv"
    source.write_text(table(), encoding="utf-8")
    out = folder / "out"
    done = CliRunner().invoke(main, ["soil", str(source), "-o", str(out), "--robust"])
    assert done.exit_code == 0, done.output
    return out, done.output


def test_the_verb_prints_readings_models_ranges_and_cautions(finished):
    _, text = finished
    assert text.startswith("Soil survey gate.csv\n====")
    assert re.search(r"gate  9 with pins at equal distances, 0.500 to 18.0 m", text)
    assert re.search(
        r"\n  uniform .* <- not to be defended, the readings spread by \d+ %", text
    )
    assert re.search(r"\n  2 +\d.\d % +1 .*<- chosen, as many as the readings support\n", text)
    assert re.search(r"\n  2 layers \(chosen\)\n    resistivity 1 +1\d\d Ω·m +±\d.\d %", text)
    assert "not resolved" in text  # of three layers, the middle one
    flat = " ".join(text.split())
    reading = (
        r"reading at 5 m \(16.4 ft\) on traverse 'gate', [\d.]+ Ω·m, is 5\d % below 2 layers"
    )
    assert re.search(reading, flat)
    assert "Models that fit as well as the chosen one 1: " in flat
    for caution in ABOUT_SOUNDINGS:
        assert caution in flat


def test_the_verb_writes_picture_tables_and_block(finished):
    folder, text = finished
    names = [
        "sounding.png",
        "sounding.svg",
        "soil-readings.csv",
        "soil-models.csv",
        "soil.yaml",
    ]
    there = {path.name for path in folder.iterdir()}
    assert there == {*names, "ohmscape-files.json"}
    assert text.rstrip().endswith(f"Written to {folder}: " + ", ".join(names))


def test_the_block_loads_when_pasted_into_a_case(finished):
    block = (finished[0] / "soil.yaml").read_text(encoding="utf-8")
    case = load_case_text("ohmscape: 1\ntitle: Pasted\n" + block + REST)
    assert case.survey is None
    # The wrong reading is left aside; 2 % of scatter.
    assert_allclose(case.soil.resistivity, SOIL.resistivity, rtol=0.05)
    assert_allclose(case.soil.thickness, SOIL.thickness, rtol=0.1)
    # The equivalent models, once uncommented, are variants.
    head, tail = block.split("# variants:\n")
    variants = "variants:\n" + re.sub(r"(?m)^# ", "", tail)
    case = load_case_text("ohmscape: 1\ntitle: Pasted\n" + head + variants + REST)
    kept = from_table(finished[0].parent / "gate.csv", robust=True).sounding.equivalents
    assert len(case.variants) == len(kept) == 4
    for variant, soil in zip(case.variants, kept, strict=True):
        # Five figures.
        assert_allclose(variant.soil.resistivity, soil.resistivity, rtol=1e-4)
        assert_allclose(variant.soil.thickness, soil.thickness, rtol=1e-4)
    assert all(line.startswith("#") or not line for line in block.split("soil:")[0].split("\n"))


@pytest.mark.slow
def test_the_number_of_layers_can_be_asked_for(finished, tmp_path):
    source = finished[0].parent / "gate.csv"
    out = tmp_path / "one"
    done = CliRunner().invoke(main, ["soil", str(source), "-o", str(out), "--layers", "1"])
    assert done.exit_code == 0
    assert "uniform soil asked for, fewer than the 2" in " ".join(done.output.split())
    assert (out / "soil.yaml").read_text(encoding="utf-8").count("- resistivity:") == 1
    assert "thickness" not in (out / "soil.yaml").read_text(encoding="utf-8").split("soil:")[1]
    quiet = CliRunner().invoke(main, ["soil", str(source), "-o", str(out), "-q"])
    assert quiet.output == ""
    assert (out / "soil.yaml").read_text(encoding="utf-8").count("- resistivity:") == 2


@pytest.mark.slow
def test_a_foreign_folder_is_spared(finished, tmp_path):
    source = finished[0].parent / "gate.csv"
    (tmp_path / "result.npz").write_text("mine")
    done = CliRunner().invoke(main, ["soil", str(source), "-o", str(tmp_path), "-q"])
    assert done.exit_code == 0, done.output
    assert (tmp_path / "result.npz").read_text() == "mine"
    (tmp_path / "soil.yaml").write_text("mine too")
    done = CliRunner().invoke(main, ["soil", str(source), "-o", str(tmp_path)])
    assert done.exit_code == 1
    assert "holds files that no such command left, or that were changed" in done.stderr
    assert "(soil.yaml)" in done.stderr
    assert (tmp_path / "soil.yaml").read_text() == "mine too"


def test_a_folder_of_another_command_is_spared(finished, tmp_path):
    source = finished[0].parent / "gate.csv"
    write_manifest(Manifest("result", {"result.npz": Made("0" * 64, "run")}), tmp_path)
    done = CliRunner().invoke(main, ["soil", str(source), "-o", str(tmp_path)])
    assert done.exit_code == 1
    assert "holds files that no such command left (result.npz)" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["ohmscape-files.json"]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["nowhere.csv"], "no survey file 'nowhere.csv'"),
        (["nowhere.yaml"], "no file 'nowhere.yaml' here"),
        (["driven-rod"], "driven-rod.yaml: the soil of this case is given by layers, not by a"),
        (["field.csv", "--layers", "6"], "6 layers need more different spacings than the surv"),
    ],
)
def test_what_holds_no_survey_ends_with_2(arguments, message, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("field.csv").write_text(table(), encoding="utf-8")
    done = CliRunner().invoke(main, ["soil", *arguments])
    assert done.exit_code == 2
    assert message in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["field.csv"]


def test_a_case_without_a_survey_of_its_own_names_the_variants_that_have_one():
    survey = case_text("robust: true").split("soil:\n")[1].split("electrodes:")[0]
    inner = "".join(f"    {line}\n" for line in survey.splitlines())
    text = (
        "ohmscape: 1\ntitle: t\nsoil: {layers: [{resistivity: 90 ohm*m}]}\n"
        f"variants:\n  - name: as read\n    soil:\n{inner}{REST}"
    )
    case = load_case_text(text)
    with pytest.raises(CaseError, match="only its variants have one: as read"):
        from_case(case)
    assert "2 layers" in understood(case).split("as read")[1]


@pytest.mark.slow
def test_the_survey_of_a_case_is_fitted_as_the_case_asks_or_the_flags():
    case = load_case_text(case_text("layers: 3", "robust: true"))
    assert from_case(case).sounding.layers == 3
    assert from_case(case).units == "US"
    assert len(from_case(case).sounding.equivalents) == 4
    other = from_case(case, layers="supported").sounding
    assert (other.layers, other.robust, other.asked) == (2, True, False)
    plain = load_case_text(case_text("layers: 2"))
    assert from_case(plain, robust=True).sounding.robust


@pytest.fixture(scope="module")
def results():
    return run_variants(load_case_text(case_text("robust: true", "equivalents: 2")))


def test_a_result_carries_the_survey_and_says_what_to_mind(results):
    result = results[0]
    assert result.sounding.chosen.soil == result.solution.soil
    text = summary(result)
    flat = " ".join(text.split())
    assert "Soil, fitted to a survey" in text
    assert "9 readings on 1 traverse: 2 layers (as many as the readings support)" in flat
    assert "2 models that fit as well solved beside it" in flat
    assert "! the reading at 5 m (16.4 ft) on traverse 'gate'" in flat
    assert re.search(r"1: 19\d Ω·m \(1\d\d to \d+\) down to 5.\d+ ft", flat)


def test_check_says_the_same_before_anything_is_solved():
    case = load_case_text(case_text("robust: true", "equivalents: 2"))
    text = " ".join(understood(case).split())
    assert "Soil, fitted to a survey" in text
    assert "! the reading at 5 m (16.4 ft) on traverse 'gate'" in text
    assert "equivalent soil 2: " in text


def test_equivalent_models_are_solved_beside_the_best(results):
    assert [result.variant for result in results] == [
        "",
        "equivalent soil 1",
        "equivalent soil 2",
    ]
    case = fit_soil(load_case_text(case_text("robust: true", "equivalents: 2")))
    assert tuple(result.solution.soil for result in results[1:]) == case.survey.equivalents
    ohms = [result.resistance(0) for result in results]
    assert len(set(ohms)) == 3
    # 2 % of scatter over nine readings: soils that fit as well differ by some per cent.
    assert_allclose(ohms, ohms[0], rtol=0.1)
    assert all(result.sounding is None for result in results[1:])


def test_the_band_over_soils_that_fit_as_well_is_told(results):
    text = " ".join(" ".join(band_lines(results)).split())
    ohms = [result.resistance(0) for result in results]
    assert "the 2 soils that fit the survey as well: " in text
    assert (
        f"resistance of kiosk {significant(min(ohms))} Ω to {significant(max(ohms))} Ω" in text
    )
    assert band_lines(results[1:]) == []
    assert band_lines(results[:1]) == []


def test_the_folder_of_a_run_holds_the_sounding_and_gives_it_back(results, tmp_path):
    folder = tmp_path / "out"
    files = save_result(results[0], folder, variants=results[1:], pictures=False)
    names = [path.name for path in files if path.parent == folder]
    assert {"soil-readings.csv", "soil-models.csv"} <= set(names)
    again = load_result(folder)
    assert again.sounding.warnings == results[0].sounding.warnings
    assert again.sounding.survey.names == ("gate",)
    assert_allclose(
        again.sounding.chosen.apparent_resistivity,
        results[0].sounding.chosen.apparent_resistivity,
        rtol=0,
    )
    assert not (folder / "variants" / "equivalent-soil-1" / "soil-models.csv").exists()
    # A run replaces what a run left.
    save_result(results[0], folder, pictures=False)


def test_layers_that_are_given_bring_no_sounding():
    text = "ohmscape: 1\ntitle: t\nsoil: {layers: [{resistivity: 90 ohm*m}]}\n" + REST
    case = load_case_text(text)
    assert "survey" not in understood(case)
    result = run_case(case)
    assert result.sounding is None
    assert "survey" not in summary(result)


def test_a_fit_is_made_once_and_kept_with_the_result(tmp_path, monkeypatch):
    count = 0
    fit = surveyed.fit_survey

    def counted(*args, **kwargs):
        nonlocal count
        count += 1
        return fit(*args, **kwargs)

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(surveyed, "fit_survey", counted)
    Path("kiosk.yaml").write_text(case_text(), encoding="utf-8")

    def done(*command):
        found = CliRunner().invoke(main, list(command))
        assert found.exit_code == 0, found.output
        return found.output

    done("run", "kiosk.yaml", "--no-pictures", "--quiet")
    assert count == 1
    done("check", "kiosk.yaml")
    done("reassess", "kiosk-result", "kiosk.yaml", "-o", "again", "--no-pictures", "--quiet")
    assert count == 1
    assert load_result("again").sounding.key == load_result("kiosk-result").sounding.key
    # Other readings or options are another fit.
    Path("kiosk.yaml").write_text(case_text("robust: true"), encoding="utf-8")
    done("check", "kiosk.yaml")
    assert count == 2
    Path("kiosk.yaml").write_text(case_text().replace("spacing: 8.0", "spacing: 8.1"))
    done("check", "kiosk.yaml")
    assert count == 3


def test_a_sheet_is_of_a_workbook_and_not_of_a_case(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    book = openpyxl.Workbook()
    book.active.title = "north"
    head = ("spacing [m]", "apparent_resistivity [ohm*m]")
    for row in [head, *zip(SPACINGS, map(float, values()), strict=True)]:
        book.active.append(row)
    book.create_sheet("south").append(["spacing [m]"])
    book.save("survey.xlsx")
    told = CliRunner().invoke(main, ["soil", "survey.xlsx", "--sheet", "north", "-o", "out"])
    assert told.exit_code == 0, told.output
    assert (tmp_path / "out" / "soil.yaml").is_file()
    told = CliRunner().invoke(main, ["soil", "surveyed-pump-house", "--sheet", "north"])
    assert told.exit_code == 2
    assert "a case says its own" in told.output + told.stderr
