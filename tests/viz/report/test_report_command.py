"""The report from the command line: with a run, and again from what a run left."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from ohmscape.command_line import main
from ohmscape.viz.result_folder import save_result


@pytest.fixture(scope="module")
def folder(result, tmp_path_factory) -> Path:
    target = tmp_path_factory.mktemp("run") / "out"
    save_result(result, target, pictures=False)
    return target


@pytest.mark.slow
def test_report_is_made_from_a_finished_result_without_solving(folder, monkeypatch):
    def refuse(*arguments: object, **named: object) -> None:
        pytest.fail("a report must not solve")

    monkeypatch.setattr("ohmscape.jobs.solving.solve", refuse)
    done = CliRunner().invoke(main, ["report", str(folder)])
    assert done.exit_code == 0, done.output
    assert [Path(line).name for line in done.output.splitlines()] == [
        "report.html",
        "report.pdf",
    ]
    assert "<h1>Rod beside a floating rod $x$</h1>" in (folder / "report.html").read_text(
        "utf-8"
    )


@pytest.mark.slow
def test_a_run_may_replace_a_folder_with_a_report(folder, result):
    CliRunner().invoke(main, ["report", str(folder), "--quiet"])
    save_result(result, folder, pictures=False)
    assert not (folder / "report.html").exists()


@pytest.mark.slow
def test_report_goes_where_it_is_asked_to(folder, tmp_path):
    done = CliRunner().invoke(main, ["report", str(folder), "-o", str(tmp_path / "new"), "-q"])
    assert done.exit_code == 0
    assert done.output == ""
    assert (tmp_path / "new" / "report.pdf").exists()


def test_report_refuses_what_is_no_result(tmp_path):
    done = CliRunner().invoke(main, ["report", str(tmp_path)])
    assert done.exit_code == 1
    assert "no result in" in done.output
    assert "name the folder that a run left" in done.output
    assert not (tmp_path / "report.html").exists()


@pytest.mark.slow
def test_units_terms_and_paper_are_chosen_each_on_its_own(folder, tmp_path):
    # The case is in feet: what is not asked for is in ground terms, on Letter.
    for asked, units, terms, size in (
        (["--units", "SI"], "SI", "ground", "612 792"),
        (["--terms", "earth", "--paper", "A4"], "US", "earth", "595.2756 841.8898"),
    ):
        done = CliRunner().invoke(
            main, ["report", str(folder), "-q", "-o", str(tmp_path), *asked]
        )
        assert done.exit_code == 0, done.output
        page = (tmp_path / "report.html").read_text("utf-8")
        assert f'data-show-units="{units}" data-show-vocabulary="{terms}"' in page
        assert f"/MediaBox [ 0 0 {size} ]".encode() in (tmp_path / "report.pdf").read_bytes()
