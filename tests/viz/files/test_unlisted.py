"""Of a folder without a list, exact names that release 0.1.0 made are ours and no others."""

import shutil

import pytest

from ohmscape import load_case_text, run_case, save_result
from ohmscape.jobs.free_folder import check_free
from ohmscape.solver.errors import ResultError
from ohmscape.viz.files.manifest import files_below, manifest_name
from ohmscape.viz.files.unlisted import unlisted

pytestmark = pytest.mark.slow

CASE = """
ohmscape: 1
title: A rod by a door
soil: {layers: [{resistivity: 100 ohm*m}]}
electrodes:
  - name: rod
    parts:
      - {kind: rod, name: rod, at: [0 m, 0 m], top_depth: 0 m, length: 2 m, diameter: 16 mm}
    drive: {current: 3 A}
study:
  area: {margin: 2 m, spacing: 1 m}
  profiles: [{name: to the door, start: [0 m, 0 m], end: [3 m, 0 m]}]
numerics: {accuracy: coarse}
"""


@pytest.fixture(scope="module")
def result():
    return run_case(load_case_text(CASE))


@pytest.fixture(scope="module")
def kept(result, tmp_path_factory):
    folder = tmp_path_factory.mktemp("kept") / "out"
    save_result(result, folder)
    return folder


@pytest.fixture
def folder(kept, tmp_path):
    """What a release without lists left."""
    folder = tmp_path / "out"
    shutil.copytree(kept, folder)
    (folder / manifest_name).unlink()
    return folder


def test_all_files_of_a_run_are_known_by_the_names_in_its_result(folder):
    made = files_below(folder)
    assert {"profile-to-the-door.svg", "section.png", "report.pdf"} <= set(made)
    for name in ("profile-rods.csv", "profile-my-notes.docx", "touch-up.psd", "margin-notes"):
        (folder / name).write_text("mine")
    found = unlisted(folder)
    assert found.kind == "result"
    assert set(found.files) == set(made)


def test_a_new_run_replaces_them_and_keeps_the_rest(folder, result):
    for name in ("profile-rods.csv", "profile-my-notes.docx", "touch-up.psd"):
        (folder / name).write_text("mine")
    save_result(result, folder, pictures=False)
    assert {path.name for path in folder.iterdir() if path.read_bytes() == b"mine"} == {
        "profile-rods.csv",
        "profile-my-notes.docx",
        "touch-up.psd",
    }
    assert not (folder / "section.png").exists()
    assert (folder / manifest_name).exists()


def test_another_case_file_in_the_folder_is_not_its_own(folder):
    (folder / "case.yaml").write_text("title: mine\n")
    assert "case.yaml" not in unlisted(folder).files


def test_without_a_result_that_can_be_read_nothing_is_known(folder):
    (folder / "result.npz").write_bytes(b"PK")
    assert unlisted(folder) is None
    with pytest.raises(ResultError, match=r"no run left.*\(conductors\.vtu, "):
        check_free(folder, case=load_case_text(CASE))


# Headings as release 0.1.0 wrote them.
TESTS = "# title\n" + "test,variant,method,current probe at [m],true resistance [ohm]\n"
RODS = "# title\ntest,variant,driven length [m],reading [ohm]\n"
READINGS = "# title\nseries,number,first end,second end,distance [m],unit\n"


def test_pictures_of_earth_tests_are_known_by_the_tests_in_the_tables(tmp_path):
    rows = (
        "across the yard,,fall of potential,20,3\nacross the yard,dry,fall of potential,20,4\n"
    )
    files = {
        "earth-tests.csv": TESTS + rows,
        "driven-rods.csv": RODS + "rod by rod,,1,40\n",
        "earth-test-readings.csv": "mine",
        "test-across-the-yard.png": "",
        "test-across-the-yard.svg": "",
        "test-rod-by-rod.png": "",
        "test-drive.png": "mine",
        "report.pdf": "",
    }
    for name, text in files.items():
        (tmp_path / name).write_text(text)
    found = unlisted(tmp_path)
    assert found.kind == "earth-test"
    assert set(found.files) == files.keys() - {"earth-test-readings.csv", "test-drive.png"}


def test_a_comparison_is_known_by_its_tables(tmp_path):
    (tmp_path / "readings.csv").write_text(READINGS)
    (tmp_path / "compare.png").write_text("")
    assert unlisted(tmp_path) is None
    (tmp_path / "explanations.csv").write_text("fitted alone,unit,in the case,fitted\n")
    found = unlisted(tmp_path)
    assert found.kind == "compare"
    assert set(found.files) == {"readings.csv", "explanations.csv", "compare.png"}


def test_a_survey_is_known_by_its_tables(tmp_path):
    (tmp_path / "soil.yaml").write_text("mine")
    (tmp_path / "soil-models.csv").write_text("depth,layer\n")
    assert unlisted(tmp_path) is None
    (tmp_path / "soil-models.csv").write_text("layers,chosen,supported,layer,quantity\n")
    found = unlisted(tmp_path)
    assert found.kind == "soil"
    assert set(found.files) == {"soil.yaml", "soil-models.csv"}


def test_an_empty_folder_and_none_hold_nothing(tmp_path):
    assert unlisted(tmp_path) is None
    assert unlisted(tmp_path / "none") is None
