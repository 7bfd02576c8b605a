"""The command line as a person meets it: exit status, one clear line, whole results only."""

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from well_rod import WELL_ROD

import ohmscape
from ohmscape.command_line import main
from ohmscape.solver.errors import TrustError
from ohmscape.viz.cautions import caution_texts
from ohmscape.viz.files.manifest import files_below, read_manifest
from ohmscape.viz.result_folder import load_result, save_result

ROOT = Path(__file__).resolve().parent.parent

SMALL = (
    WELL_ROD
    + """\
study: {area: {margin: 3 m, spacing: 0.5 m}}
numerics: {accuracy: coarse}
"""
)


@pytest.fixture
def case_file(tmp_path):
    path = tmp_path / "well.yaml"
    path.write_text(SMALL, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def finished(tmp_path_factory):
    """Folder of a finished run without pictures, and what the run printed."""
    folder = tmp_path_factory.mktemp("finished")
    case = folder / "well.yaml"
    case.write_text(SMALL, encoding="utf-8")
    done = CliRunner().invoke(
        main, ["run", str(case), "-o", str(folder / "out"), "--no-pictures"]
    )
    assert done.exit_code == 0, done.output
    return folder / "out", done.output


@pytest.mark.parametrize("command", [None, *main.commands])
def test_help_loads_nothing_heavy(command):
    arguments = ["--help"] if command is None else [command, "--help"]
    code = (
        "import sys\n"
        "from ohmscape.command_line import main\n"
        f"try:\n    main({arguments})\n"
        "except SystemExit as leave:\n    assert leave.code == 0\n"
        "heavy = {'numpy', 'scipy', 'skfem', 'gmsh', 'pyvista', 'pint', 'pydantic', 'rich'}\n"
        "assert not heavy & set(sys.modules), heavy & set(sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    if command is None:
        assert "Exit status: 0 a result" in done.stdout


def test_a_run_says_between_which_points_and_what_to_mind(finished):
    folder, text = finished
    assert "remote earth, which is 0 V" in text
    assert re.search(r"touch .* between 'well rod' and the soil at \(", text)
    assert re.search(r"step .* between the soil at \(.*\) m and at \(", text)
    assert "prospective (open-circuit)" in text
    flat = " ".join(text.split())
    for caution in caution_texts([load_result(folder)]):
        assert caution in flat


def test_a_run_prints_the_order_check_of_a_rod(finished):
    # rho / (2 pi L) (ln(4 L / a) - 1), Dwight 1936: 39.37 ohm here.
    assert "driven rod 39.4 Ω" in finished[1]


def test_a_finished_result_loads_as_it_was(finished):
    folder, _ = finished
    result = load_result(folder)
    assert result.title == "Rod by the well"
    assert result.operating.current[0] == pytest.approx(3.0, rel=1e-12)
    assert result.case_text == SMALL
    assert (folder / "case.yaml").read_text(encoding="utf-8") == SMALL


def test_a_bad_case_ends_with_2_and_names_line_and_place(case_file):
    case_file.write_text(SMALL.replace("75 ohm*m", "75"), encoding="utf-8")
    done = CliRunner().invoke(main, ["run", str(case_file)])
    assert done.exit_code == 2
    assert "well.yaml:4: soil.layers[1].resistivity" in done.stderr
    assert "Traceback" not in done.output


def test_every_problem_gets_its_own_line(case_file):
    text = SMALL.replace("75 ohm*m", "-75 ohm*m").replace("14 mm", "14 mn")
    case_file.write_text(text, encoding="utf-8")
    done = CliRunner().invoke(main, ["check", str(case_file)])
    lines = done.stderr.strip().splitlines()
    assert done.exit_code == 2
    assert len(lines) == 2
    assert all(line.startswith("ohmscape: well.yaml:") for line in lines)


def test_an_unknown_case_lists_the_shipped_ones():
    done = CliRunner().invoke(main, ["run", "no-such-case"])
    assert done.exit_code == 2
    assert "driven-rod" in done.stderr


def test_a_folder_of_its_name_does_not_hide_a_shipped_case(tmp_path, monkeypatch):
    # A result may well be kept in a folder named after its case.
    (tmp_path / "driven-rod").mkdir()
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(main, ["check", "driven-rod"])
    assert done.exit_code == 0, done.output


def test_a_result_not_trustworthy_ends_with_1_and_writes_nothing(
    case_file, tmp_path, monkeypatch
):
    def refuse(*_, **__):
        msg = "current balance 1e-2 is above 1e-5"
        raise TrustError(msg)

    monkeypatch.setattr("ohmscape.jobs.run.run_variants", refuse)
    out = tmp_path / "out"
    done = CliRunner().invoke(main, ["run", str(case_file), "-o", str(out)])
    assert done.exit_code == 1
    assert done.stderr == "ohmscape: current balance 1e-2 is above 1e-5\n"
    assert not out.exists()


def test_an_interrupted_run_leaves_no_half_result(case_file, tmp_path, monkeypatch):
    def interrupt(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("ohmscape.viz.write_volumes", interrupt)
    out = tmp_path / "out"
    done = CliRunner().invoke(main, ["run", str(case_file), "-o", str(out)])
    assert done.exit_code == 130
    assert "interrupted; no half-written result is left" in done.stderr
    assert sorted(path.name for path in tmp_path.iterdir()) == ["well.yaml"]


def test_an_interrupted_run_keeps_the_result_of_the_last_one(finished, monkeypatch):
    folder, _ = finished
    before = (folder / "result.npz").read_bytes()

    def interrupt(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("ohmscape.viz.write_volumes", interrupt)
    with pytest.raises(KeyboardInterrupt):
        save_result(load_result(folder), folder, pictures=False)
    assert (folder / "result.npz").read_bytes() == before


@pytest.mark.slow
def test_other_files_in_the_folder_are_not_touched(case_file, tmp_path):
    out = tmp_path / "letters"
    out.mkdir()
    (out / "dear.txt").write_text("Dear all")
    (out / "profile-rods.csv").write_text("x,y\n")
    (out / "touch-up.psd").write_bytes(b"mine")
    for _ in range(2):
        done = CliRunner().invoke(main, ["run", str(case_file), "-o", str(out), "-q"])
        assert done.exit_code == 0, done.output
        assert (out / "dear.txt").read_text() == "Dear all"
        assert (out / "profile-rods.csv").read_text() == "x,y\n"
        assert (out / "touch-up.psd").read_bytes() == b"mine"
    assert load_result(out).title


def test_what_a_run_would_write_over_is_refused_before_it_is_solved(
    case_file, tmp_path, monkeypatch
):
    def solve(*_, **__):
        pytest.fail("solved")

    monkeypatch.setattr("ohmscape.jobs.run.run_variants", solve)
    out = tmp_path / "letters"
    out.mkdir()
    (out / "worst.csv").write_text("my list\n")
    done = CliRunner().invoke(main, ["run", str(case_file), "-o", str(out)])
    assert done.exit_code == 1
    assert "holds files that no run left" in done.stderr
    assert "(worst.csv)" in done.stderr
    assert [path.name for path in out.iterdir()] == ["worst.csv"]


def test_a_case_and_its_tables_may_lie_where_the_result_goes(tmp_path):
    job = tmp_path / "job"
    job.mkdir()
    text = SMALL.replace("margin: 3 m", "margin: 2.9 m")
    for name, content in {"case.yaml": SMALL, "profile-rods.csv": "x\n"}.items():
        (job / name).write_text(content, encoding="utf-8")
    run = ["run", str(job / "case.yaml"), "-o", str(job), "--no-pictures", "-q"]
    for content in (SMALL, text):
        (job / "case.yaml").write_text(content, encoding="utf-8")
        done = CliRunner().invoke(main, run)
        assert done.exit_code == 0, done.output
        assert (job / "profile-rods.csv").read_text() == "x\n"
        assert (job / "case.yaml").read_text(encoding="utf-8") == content
        assert load_result(job).case_text == content
    # It is the user's own still: another case does not take its place.
    (tmp_path / "other.yaml").write_text(SMALL, encoding="utf-8")
    done = CliRunner().invoke(main, ["run", str(tmp_path / "other.yaml"), *run[2:]])
    assert done.exit_code == 1
    assert "(case.yaml)" in done.stderr


@pytest.mark.slow
def test_pictures_drawn_again_are_entered_in_the_list(finished, tmp_path):
    folder = tmp_path / "out"
    shutil.copytree(finished[0], folder)
    (folder / "potential-old.png").write_bytes(b"mine")
    for _ in range(2):
        done = CliRunner().invoke(main, ["draw", str(folder), "-q"])
        assert done.exit_code == 0, done.output
    done = CliRunner().invoke(main, ["report", str(folder), "-q"])
    assert done.exit_code == 0, done.output
    made = read_manifest(folder).files
    assert made["potential.png"].command == "draw"
    assert made["report.pdf"].command == "report"
    assert made["result.npz"].command == "run"
    assert read_manifest(folder).ours(folder) == set(files_below(folder)) - {
        "ohmscape-files.json",
        "potential-old.png",
    }
    (folder / "potential.png").write_bytes(b"arrows drawn on it")
    done = CliRunner().invoke(main, ["draw", str(folder), "-q"])
    assert done.exit_code == 1
    assert "(potential.png)" in done.stderr
    assert (folder / "potential.png").read_bytes() == b"arrows drawn on it"


def test_a_file_in_the_way_is_refused(case_file):
    done = CliRunner().invoke(main, ["run", str(case_file), "-o", str(case_file)])
    assert done.exit_code == 1
    assert "is a file; name a folder" in done.stderr


@pytest.mark.slow
def test_draw_makes_the_pictures_of_a_result(finished, tmp_path):
    folder, _ = finished
    done = CliRunner().invoke(main, ["draw", str(folder), "-o", str(tmp_path / "new")])
    assert done.exit_code == 0, done.output
    names = {path.name for path in (tmp_path / "new").iterdir()}
    assert {"potential.png", "step.png", "scene.png"} <= names


def test_a_report_with_remarks_is_not_written_over(finished, tmp_path, monkeypatch):
    def solve(*_, **__):
        pytest.fail("solved")

    monkeypatch.setattr("ohmscape.jobs.field_chapters.field_chapters", solve)
    folder = tmp_path / "out"
    shutil.copytree(finished[0], folder)
    (folder / "report.pdf").write_bytes(b"with remarks")
    done = CliRunner().invoke(main, ["report", str(folder), "--field", "driven-rod"])
    assert done.exit_code == 1
    assert "(report.pdf)" in done.stderr
    assert (folder / "report.pdf").read_bytes() == b"with remarks"


def test_draw_refuses_what_is_no_result(tmp_path):
    (tmp_path / "result.npz").write_text("not a result")
    done = CliRunner().invoke(main, ["draw", str(tmp_path)])
    assert done.exit_code == 1
    assert "is not a readable ohmscape result" in done.stderr


@pytest.mark.parametrize("command", ["draw", "report"])
def test_a_folder_without_a_result_is_told_as_such(tmp_path, command):
    (tmp_path / "notes.txt").write_text("mine")
    done = CliRunner().invoke(main, [command, str(tmp_path)])
    assert done.exit_code == 1
    assert "there is no result.npz in it; name the folder that a run left" in done.stderr


def test_new_writes_a_case_that_checks(tmp_path):
    path = tmp_path / "mine.yaml"
    assert CliRunner().invoke(main, ["new", str(path)]).exit_code == 0
    done = CliRunner().invoke(main, ["check", str(path)])
    assert done.exit_code == 0, done.output
    assert "mine.yaml can be solved as it stands" in done.output


@pytest.mark.parametrize("name", ["surveyed-pump-house", "measured-fresh-rod"])
def test_new_like_a_case_with_a_table_brings_the_table(tmp_path, name):
    words = ["new", str(tmp_path / "mine.yaml"), "--like", name]
    assert CliRunner().invoke(main, words).exit_code == 0
    assert {path.name for path in tmp_path.iterdir()} == {"mine.yaml", f"{name}.csv"}
    assert CliRunner().invoke(main, ["check", str(tmp_path / "mine.yaml")]).exit_code == 0


def test_new_like_a_case_spares_a_table_that_is_there(tmp_path):
    table = tmp_path / "surveyed-pump-house.csv"
    table.write_text("mine")
    words = ["new", str(tmp_path / "mine.yaml"), "--like", "surveyed-pump-house"]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 2
    assert "surveyed-pump-house.csv' exists, which the case reads" in done.stderr
    assert [table] == list(tmp_path.iterdir())
    assert table.read_text() == "mine"


def test_new_overwrites_nothing(case_file):
    done = CliRunner().invoke(main, ["new", str(case_file)])
    assert done.exit_code == 2
    assert "exists; name another file" in done.stderr
    assert case_file.read_text(encoding="utf-8") == SMALL


def test_new_wants_a_folder_and_a_known_name(tmp_path):
    done = CliRunner().invoke(main, ["new", str(tmp_path / "no" / "mine.yaml")])
    assert done.exit_code == 2
    assert "make it first" in done.stderr
    done = CliRunner().invoke(main, ["new", str(tmp_path / "mine.yaml"), "--like", "moon"])
    assert done.exit_code == 2
    assert "no shipped case 'moon'" in done.stderr


def test_check_tells_totals_and_cost():
    done = CliRunner().invoke(main, ["check", "substation-grid"])
    assert done.exit_code == 0, done.output
    assert "1540.00 m of conductor" in done.output
    assert "20 rods, 150.00 m" in done.output
    assert re.search(r"about [\d,]+ elements", done.output)
    assert re.search(r"GB of memory", done.output)


def test_a_model_too_large_is_refused_before_meshing(case_file):
    case_file.write_text(SMALL + "  # none\n", encoding="utf-8")
    text = SMALL.replace("{accuracy: coarse}", "{element_limit: 1000, accuracy: fine}")
    case_file.write_text(text, encoding="utf-8")
    done = CliRunner().invoke(main, ["run", str(case_file)])
    assert done.exit_code == 2
    assert "more than 1,000 elements" in done.stderr


def test_schema_is_json():
    done = CliRunner().invoke(main, ["schema"])
    assert done.exit_code == 0
    assert json.loads(done.output)["properties"]["electrodes"]


def test_the_case_in_the_readme_is_a_good_case():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    (case,) = re.findall(r"```yaml\n(.*?)```", text, re.DOTALL)
    loaded = ohmscape.load_case_text(case)
    assert loaded.conductors.group_names == ("kiosk earth",)


def test_the_readme_names_every_command_and_shipped_case():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    from ohmscape.cases.shipped import shipped_cases

    for command in main.commands:
        assert f"`ohmscape {command}" in text
    for name in shipped_cases():
        assert f"`{name}`" in text


def test_metal_out_of_reach_is_named_not_dropped():
    text = SMALL.replace(
        "study: {",
        "study: {touch: [{name: far tap, electrode: well rod, points: [[30 m, 0 m]]}], ",
    )
    result = ohmscape.run_case(ohmscape.load_case_text(text))
    assert "NOT EVALUATED: touch of 'far tap'" in ohmscape.summary(result)


def test_metal_between_the_samples_is_found():
    # Reach 0.3 m and samples 0.5 m apart: none of them within reach.
    text = SMALL.replace(
        "study: {",
        "study: {reach: 0.3 m, "
        "touch: [{name: tap, electrode: well rod, points: [[1.22 m, 0.73 m]]}], ",
    ).replace("spacing: 0.5 m", "spacing: 1 m")
    result = ohmscape.run_case(ohmscape.load_case_text(text))
    (tap,) = [item for item in result.worst if item.name == "tap"]
    # The far side of the reach, seen from the rod.
    assert np.hypot(*tap.foot) == pytest.approx(np.hypot(1.22, 0.73) + 0.3, rel=0.01)
