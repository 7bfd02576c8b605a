"""Progress of long work: told in order, shown as a bar on a terminal, nowhere else."""

import fcntl
import io
import os
import pty
import re
import struct
import subprocess
import sys
import termios
from pathlib import Path

import pytest
from rich.console import Console
from well_rod import WELL_ROD

from ohmscape.cases.loading import load_case, load_case_text
from ohmscape.cases.shipped import shipped_case_path
from ohmscape.command_line.bar import bar_on
from ohmscape.jobs.earth_tests import predict_tests
from ohmscape.jobs.expected_course import seconds_of
from ohmscape.jobs.expected_time import works_of
from ohmscape.jobs.field_readings import compare_case
from ohmscape.jobs.run import run_case, run_variants
from ohmscape.solver.progress import headed, parts
from ohmscape.viz.result_folder import save_result

ROD = (
    WELL_ROD
    + """\
study: {area: {margin: 3 m, spacing: 0.5 m}}
numerics: {accuracy: coarse}
"""
)
VARIANTS = ROD + (
    "variants: [{name: frozen, soil: {layers: [{resistivity: 700 ohm*m}]}},"
    " {name: thawed, soil: {layers: [{resistivity: 75 ohm*m}]}}]\n"
)


class _Told(list):
    """Steps and shares in the order in which they were told."""

    def __call__(self, step, share):
        self.append((step, share))

    @property
    def steps(self):
        return [step for step, _ in self]

    @property
    def shares(self):
        return [share for _, share in self]


def _require_order(told):
    assert told.shares[0] == pytest.approx(0.0, abs=0.05)
    assert all(a <= b + 1e-12 for a, b in zip(told.shares, told.shares[1:], strict=False))
    assert told.shares[-1] < 1.0


def test_parts_of_parts_fill_the_whole_in_proportion():
    told = _Told()
    first, second = parts(told, [1.0, 3.0])
    a, b = parts(headed(second, "second"), [2.0, 1.0])
    for part in (first, a, b):
        part("step", 0.0)
        part("step", 0.5)
    assert told.steps == ["step", "step", *["second: step"] * 4]
    assert told.shares == pytest.approx([0, 0.125, 0.25, 0.5, 0.75, 0.875])


@pytest.mark.slow
def test_a_run_with_variants_counts_them_and_never_goes_back(tmp_path):
    told = _Told()
    computing, saving = parts(told, [1.0, 1.0])
    result, *variants = run_variants(load_case_text(VARIANTS), progress=computing)
    save_result(result, tmp_path / "out", variants=variants, progress=saving)
    _require_order(told)
    steps = told.steps
    assert steps[:3] == ["mesh", "second opinion", "solution"]
    assert "variant 1 of 2, frozen: solution" in steps
    # The same soil as the case: nothing is solved again.
    assert "variant 2 of 2, thawed: solution" not in steps
    assert "variant 2 of 2, thawed: maps" in steps
    assert {"potential.png", "frozen: potential.png", "report.html", "report.pdf"} <= {*steps}


def test_a_mesh_made_finer_on_the_way_does_not_turn_progress_back():
    told = _Told()
    run_case(
        load_case_text(ROD.replace("accuracy: coarse", "accuracy: coarse, tolerance: 0.003")),
        progress=told,
    )
    assert any(step == "finer mesh" for step in told.steps)
    _require_order(told)


def test_comparing_counts_fields():
    told = _Told()
    compare_case(
        load_case(shipped_case_path("measured-fresh-rod")),
        unknowns=["soil scale"],
        progress=told,
    )
    _require_order(told)
    assert "the case as it stands: field 1" in told.steps
    assert "calibration" in told.steps


def test_predicted_tests_are_told_one_by_one():
    told = _Told()
    case = load_case(shipped_case_path("grid-test-on-rock"))
    predict_tests(case, progress=told)
    _require_order(told)
    for plan in case.earth_tests:
        assert any(step.startswith(f"{plan.name}: ") for step in told.steps)


def computing_time(case, *, accuracy=None):
    return seconds_of(
        amounts
        for work, solved in works_of(case, accuracy=accuracy)
        for amounts in ([work.solving()] if solved else []) + [work.evaluating()]
    )


def test_larger_meshes_are_expected_to_take_longer():
    small, large = load_case_text(ROD), load_case_text(VARIANTS)
    # Another soil costs as much as the first, a variant in the same one what is neither solved
    # nor looked at again.
    ratio = computing_time(large) / computing_time(small)
    assert 2.0 < ratio < 2.9
    assert computing_time(small, accuracy="fine") > computing_time(small)


@pytest.mark.parametrize("width", [40, 80, 200])
def test_the_bar_shows_step_share_and_time_in_one_line(width):
    file = io.StringIO()
    console = Console(file=file, force_terminal=True, width=width, legacy_windows=False)
    with bar_on(console) as progress:
        progress("mesh of [bold]fence[/bold] " + 50 * "long ", 0.42)
    shown = re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", file.getvalue())
    lines = [line.rstrip() for line in re.split(r"[\r\n]+", shown) if line.strip()]
    (line,) = {line[2:] for line in lines if "42 %" in line}
    # Markup in a user's name is no markup, and the line fits.
    assert re.fullmatch(r" 42 % [━╸╺ ]+ \d:\d\d:\d\d mesh of .*…", line)
    assert width < 60 or "mesh of [bold]fence[/bold] " in line
    assert len(line) + 2 <= width


def _on_a_terminal(*arguments, cwd):
    """Output of a command whose stdout is a pipe and whose stderr is a terminal."""
    ours, its = pty.openpty()
    fcntl.ioctl(its, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 100, 0, 0))
    with subprocess.Popen(
        [sys.executable, "-m", "ohmscape", *arguments],
        stdout=subprocess.PIPE,
        stderr=its,
        cwd=cwd,
        env=os.environ | {"TERM": "xterm"},
    ) as process:
        os.close(its)
        seen = b""
        while True:
            try:
                piece = os.read(ours, 65536)
            except OSError:  # how Linux says that the other side is closed
                break
            if not piece:
                break
            seen += piece
        out, _ = process.communicate()
    os.close(ours)
    assert process.returncode == 0
    return out.decode(), seen.decode()


def _run(folder: Path) -> list[str]:
    (folder / "well.yaml").write_text(ROD, encoding="utf-8")
    return ["run", "well.yaml", "-o", "out", "--no-pictures"]


@pytest.mark.slow
def test_a_person_at_a_terminal_sees_the_bar(tmp_path):
    out, seen = _on_a_terminal(*_run(tmp_path), cwd=tmp_path)
    assert "%" in seen
    assert re.search(r"0:00:0\d.*(solution|mesh|maps)", seen)
    assert out.startswith("Rod by the well")
    # The bar is taken away at the end, and the cursor is given back.
    assert seen.rstrip().endswith("\x1b[2K")
    assert seen.rfind("\x1b[?25h") > seen.rfind("\x1b[?25l")


@pytest.mark.slow
def test_quiet_shows_nothing_on_a_terminal(tmp_path):
    assert _on_a_terminal(*_run(tmp_path), "--quiet", cwd=tmp_path) == ("", "")


@pytest.mark.slow
def test_a_pipe_gets_no_bar(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "ohmscape", *_run(tmp_path)],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        check=True,
    )
    assert done.stderr == ""
    assert done.stdout.startswith("Rod by the well")
