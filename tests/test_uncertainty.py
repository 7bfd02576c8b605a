"""The verb `uncertainty`: draws of a case, closed forms, which input or reading matters."""

import random
import subprocess
import sys
import time
from dataclasses import asdict, replace

import numpy as np
import pytest
from click.testing import CliRunner
from numpy.testing import assert_allclose
from scipy import stats

import ohmscape.jobs.uncertainty as uncertainty_module
from ohmscape.cases.loading import load_case, load_case_text
from ohmscape.command_line import main
from ohmscape.jobs.family_engines import PlainLoop, Workers
from ohmscape.jobs.family_kept import KeptDraws, draws_name
from ohmscape.jobs.trying import Trials
from ohmscape.jobs.uncertainty import Drawn, draw_case, uncertainty_of_case
from ohmscape.jobs.understood import understood
from ohmscape.solver.errors import CaseError, TrustError
from ohmscape.solver.model import Soil
from ohmscape.viz.uncertainty.text import uncertainty_text

CASE = """\
ohmscape: 1
title: A rod in doubt
soil: {layers: [{resistivity: 120 ohm*m}]}
electrodes:
  - name: post
    drive: {current: 8 A}
    parts: [{kind: rod, name: rod, at: [0 m, 0 m], top_depth: 0 m, length: 2 m, diameter: 16 mm}]
study:
  area: {margin: 3 m}
  touch: [{name: post, electrode: post, points: [[0 m, 0 m]]}]
safety:
  duration: 0.5 s
  limits: [{name: adults, ieee_80: {body: 70 kg}}]
  exposures: [{name: at the post, touch: post, limit: adults}]
uncertainty:
  draws: 150
  inputs:
    - {name: soil, set: [soil, layers, 1, resistivity], lognormal: {median: 120 ohm*m, factor: 1.5}}
    - {name: current, set: [electrodes, post, drive, current], lognormal: {median: 8 A, factor: 1.2}}
  next_readings:
    - {name: the post itself, resistance: true, error: 0.05}
    - {name: short pins, wenner: [2 m], error: 0.3}
"""  # noqa: E501


@pytest.fixture(scope="module")
def found():
    return uncertainty_of_case(load_case_text(CASE))


def within(spread, true):
    """Whether what is missed is twice the stated range of 95 % at most, and that is narrow."""
    values = np.array([spread.low, spread.median, spread.high])
    errors = np.array(spread.errors)
    return (np.abs(values - true) < 2 * errors).all() and (errors < 0.2 * values).all()


def test_resistance_of_a_rod_is_as_uncertain_as_its_soil(found):
    """R = ρ · const and V = R I: both lognormal, their distribution known."""
    alone = Trials().evaluation(load_case_text(CASE)).conditions[0]
    spread = found.answer("resistance").spread
    true = stats.lognorm(s=np.log(1.5), scale=alone.resistance).ppf([0.05, 0.5, 0.95])
    assert within(spread, true)
    rise = found.answer("rise").spread
    both = np.hypot(np.log(1.5), np.log(1.2))
    true = stats.lognorm(s=both, scale=8 * alone.resistance).ppf([0.05, 0.5, 0.95])
    assert within(rise, true)


def test_shares_of_the_inputs_are_those_of_a_product(found):
    told = found.answer("rise").importance
    v = np.log([1.5, 1.2]) ** 2
    assert (np.abs(told.first - v / v.sum()) < 2 * told.first_error + 0.02).all()
    of_ohms = found.answer("resistance").importance
    assert of_ohms.total[1] < 1e-6
    assert of_ohms.first[0] > 0.7


def test_swings_move_one_input_and_leave_the_others(found):
    ohms, rise = found.answer("resistance"), found.answer("rise")
    factor = 1.5 ** stats.norm.ppf(0.95)
    assert_allclose(ohms.swings[0], [ohms.middle / factor, ohms.middle * factor], rtol=1e-6)
    assert_allclose(ohms.swings[1], ohms.middle, rtol=1e-9)
    assert_allclose(rise.swings[1, 1] / rise.middle, 1.2 ** stats.norm.ppf(0.95), rtol=1e-6)


def test_chance_of_a_pass_is_that_of_the_draws_and_of_the_closed_form(found):
    worst = found.answer("worst")
    assert worst.passes.share == pytest.approx(np.mean(worst.values <= 1.0))
    # What it takes goes with ρ I over a limit that rises with ρ: between the two closed forms.
    middle = worst.middle
    low, high = (
        stats.norm.cdf(-np.log(middle) / s)
        for s in (np.log(1.2), np.hypot(*np.log([1.5, 1.2])))
    )
    assert min(low, high) - 0.08 < worst.passes.share < max(low, high) + 0.08


def test_reading_the_electrode_itself_leaves_its_own_error(found):
    """Var after = (1/0.405² + 1/0.05²)⁻¹ in ln R."""
    first, second = found.next_readings
    assert first.name == "the post itself"
    after = (np.log(1.5) ** -2 + 0.05**-2) ** -0.5
    assert_allclose(first.resistance.after, after, rtol=0.15)
    blunt = (np.log(1.5) ** -2 + 0.3**-2) ** -0.5
    assert_allclose(second.resistance.after, blunt, rtol=0.1)


def test_a_draw_is_the_case_with_its_values(found):
    case = load_case_text(CASE)
    drawn = Drawn(1, ("77.25 ohm*m", "9.5 A"), None)
    own = draw_case(case, case.uncertainty, drawn)
    assert own.soil == Soil((77.25,))
    assert own.drives[0].value == 9.5
    text = CASE.replace("120 ohm*m}]}", "77.25 ohm*m}]}").replace(
        "current: 8 A}", "current: 9.5 A}"
    )
    by_hand = Trials().evaluation(load_case_text(text)).conditions[0]
    assert Trials().evaluation(own).conditions[0].resistance == by_hand.resistance


def test_proofs_by_finite_elements_stand_beside_their_draws(found):
    assert [proof.at for proof in found.proofs] == ["5 %", "50 %", "95 %"]
    for proof in found.proofs:
        assert_allclose(proof.resistance[0], proof.resistance[1], rtol=0.005)
        assert_allclose(proof.share[0], proof.share[1], rtol=0.02)
    shares = [proof.share[0] for proof in found.proofs]
    assert shares == sorted(shares)


def test_text_says_what_was_found_and_what_to_mind(found):
    text = uncertainty_text(found)
    for words in (
        "Within the limit", "With others", "the post itself", "licensed practice",
        "by finite elements", "no permission",
    ):  # fmt: skip
        assert words in text


@pytest.mark.slow
def test_numbers_are_the_same_on_workers(found):
    with Workers(count=2) as engine:
        again = uncertainty_of_case(load_case_text(CASE), engine=engine, proofs=False)
    for one, other in zip(found.answers, again.answers, strict=True):
        assert np.array_equal(one.values, other.values)


# ------------------------------------------------------------------------- kept


def plain(tree):
    """All that was found, floats as they are written to the last bit."""
    if isinstance(tree, dict):
        return {key: plain(item) for key, item in tree.items()}
    if isinstance(tree, list | tuple | np.ndarray):
        return [plain(item) for item in tree]
    return repr(float(tree)) if isinstance(tree, float) else tree


class Breaks(PlainLoop):
    """A loop that is interrupted after so many answers."""

    def __init__(self, after):
        self.after = after

    def answers(self, work, items):
        for number, answer in super().answers(work, items):
            if number == self.after:
                raise KeyboardInterrupt
            yield number, answer


def test_what_was_drawn_before_an_interrupt_is_kept_to_the_last_bit(
    found, tmp_path, monkeypatch
):
    with pytest.raises(KeyboardInterrupt):
        uncertainty_of_case(load_case_text(CASE), folder=tmp_path, engine=Breaks(60))
    assert len(KeptDraws(tmp_path).records) == 60
    # A kill cuts the last line: that draw is tried again.
    path = tmp_path / draws_name
    path.write_text(path.read_text()[:-30])
    tried, solved = [], []
    monkeypatch.setattr(uncertainty_module, "evaluated", _counting(tried, "evaluated"))
    monkeypatch.setattr(uncertainty_module, "run_variants", _counting(solved, "run_variants"))
    again = uncertainty_of_case(load_case_text(CASE), folder=tmp_path)
    assert plain(asdict(again)) == plain(asdict(found))
    every = len({repr(row) for row in found.shares}) + 5
    assert len(tried) == every - 59
    assert len(solved) == 3
    # Nothing is left to be done; another soil is another case.
    assert plain(asdict(uncertainty_of_case(load_case_text(CASE), folder=tmp_path))) == plain(
        asdict(found)
    )
    assert (len(tried), len(solved)) == (every - 59, 3)
    other = CASE.replace("length: 2 m", "length: 2.1 m")
    uncertainty_of_case(load_case_text(other), folder=tmp_path, proofs=False)
    assert len(tried) == 2 * every - 59


def _counting(done, name):
    real = getattr(uncertainty_module, name)

    def counted(*arguments, **options):
        done.append(name)
        return real(*arguments, **options)

    return counted


@pytest.mark.slow
def test_a_command_killed_at_random_times_ends_in_the_same_files(tmp_path):
    file = tmp_path / "rod.yaml"
    file.write_text(CASE)

    def command(folder):
        return [sys.executable, "-m", "ohmscape", "uncertainty", str(file), "-q", "--workers",
                "0", "--no-pictures", "-o", str(tmp_path / folder)]  # fmt: skip

    assert subprocess.run(command("whole")).returncode == 0
    draw = random.Random(11)
    kept, kills = 0, 0
    while kills < 10:
        process = subprocess.Popen(command("killed"))
        time.sleep(draw.uniform(1.0, 3.0))
        process.kill()
        done = process.wait() == 0
        now = len(KeptDraws(tmp_path / "killed").records)
        assert now >= kept  # nothing that was kept is lost
        kept, kills = now, kills + 1
        if done:
            break
    assert subprocess.run(command("killed")).returncode == 0
    for name in ("answers.csv", "draws.csv"):
        one, other = ((tmp_path / folder / name).read_bytes() for folder in ("whole", "killed"))
        assert one == other


def test_soil_of_a_survey_is_drawn_as_its_readings_leave_it():
    case = load_case("pad-in-doubt")
    case = replace(case, uncertainty=replace(case.uncertainty, draws=50))
    found = uncertainty_of_case(case, proofs=False)
    assert found.inputs[0].startswith("soil")
    assert found.soils > 400
    spread = found.answer("resistance").spread
    # Made from 340 Ω·m, 1.9 m thick, over 95 Ω·m.
    plan = case.uncertainty
    made = draw_case(
        case, plan, Drawn(1, tuple(i.at(0.5) for i in plan.inputs), Soil((340.0, 95.0), (1.9,)))
    )
    true = Trials().evaluation(made).conditions[0].resistance
    assert f"{true:.1f} ohm by thin conductors" in case.source.text
    assert spread.low < true < spread.high
    assert found.answer("resistance").importance.first[0] > 0.5
    assert found.next_readings[0].name in ("fall of potential at the ring", "trial rod")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("median: 8 A", "median: 8", "unit"),
        (
            "lognormal: {median: 8 A, factor: 1.2}",
            "uniform: {from: 5 A, to: 2 A}",
            "above the first",
        ),
        (
            "lognormal: {median: 8 A, factor: 1.2}",
            "uniform: {from: 5 A, to: 2 kA}",
            "several units",
        ),
        ("lognormal: {median: 8 A, factor: 1.2}", "", "exactly one|one of"),
        ("[electrodes, post, drive, current]", "[electrodes, pole, drive, current]", "pole"),
        ("[electrodes, post, drive, current]", "[soil, layers, 1]", "sets what 'soil' sets"),
        ("factor: 1.2", "factor: 0.9", "not allowed: from 1"),
        ("draws: 150", "draws: 3", "50"),
        ("wenner: [2 m]", "wenner: [2 m], resistance: true", "one of"),
        ("next_readings", "next_reading", "next_readings"),
    ],
)
def test_a_block_that_cannot_be_drawn_is_refused_with_its_line(old, new, said):
    with pytest.raises(CaseError, match=said) as caught:
        uncertainty_of_case(load_case_text(CASE.replace(old, new)), proofs=False)
    assert any(problem.line for problem in caught.value.problems) or "with" in str(caught.value)


def test_a_case_without_the_block_is_told_so():
    with pytest.raises(CaseError, match="add one"):
        uncertainty_of_case(load_case("driven-rod"))


def test_a_draw_that_cannot_be_solved_stops_all(monkeypatch):
    def fail(*_, **__):
        msg = "metal lies too close"
        raise TrustError(msg)

    monkeypatch.setattr(Trials, "evaluation", fail)
    with pytest.raises(TrustError, match="too close"):
        uncertainty_of_case(load_case_text(CASE), proofs=False)


def test_the_command_writes_tables_and_picture(tmp_path):
    file = tmp_path / "rod.yaml"
    file.write_text(CASE.replace("draws: 150", "draws: 50"))
    words = [
        "uncertainty",
        str(file),
        "--no-proof",
        "--workers",
        "0",
        "-o",
        str(tmp_path / "out"),
    ]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 0, done.output
    assert "Which input matters" in done.output
    names = {path.name for path in (tmp_path / "out").iterdir()}
    assert {"answers.csv", "draws.csv", "uncertainty.png", "uncertainty.svg"} <= names
    draws = (tmp_path / "out" / "draws.csv").read_text().splitlines()
    assert sum(not line.startswith("#") for line in draws) == 65  # header, 8 scramblings of 8


def test_check_says_what_is_drawn_and_what_that_takes():
    text = understood(load_case_text(CASE))
    assert "current: 5.93 A, 8 A, 10.8 A" in text  # 8 A · 1.2^±1.645
    assert "readings that could come next: the post itself, short pins" in text
    assert "for 150 draws by thin conductors" in " ".join(text.split())
    assert "uncertainty" not in understood("driven-rod")
