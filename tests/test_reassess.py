"""Other currents and limits on a finished result: nothing is solved again."""

import pytest
from click.testing import CliRunner
from numpy.testing import assert_allclose

from ohmscape.cases.loading import load_case_text
from ohmscape.command_line import main
from ohmscape.jobs.run import reassess, run_variants
from ohmscape.solver.errors import ResultError
from ohmscape.viz.terminal.summary import summary
from ohmscape.viz.terminal.verdict import headline

CASE = """
ohmscape: 1
title: Post of a gate
soil:
  layers:
    - {resistivity: 90 ohm*m}
electrodes:
  - name: post
    drive: {current: 1.5 A}
    parts:
      - {kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 1.5 m, diameter: 20 mm}
protection:
  - {name: relay, measures: earth current of post, fixed: {clearing_time: 0.5 s}}
variants:
  - name: dry
    soil: {layers: [{resistivity: 270 ohm*m}]}
study:
  area: {margin: 2 m, spacing: 0.25 m}
  touch:
    - {name: gate, electrode: post, points: [[0 m, 0 m]]}
safety:
  limits:
    - {name: public, ieee_80: {}}
  exposures:
    - {name: opening the gate, touch: gate, limit: public}
    - {name: walking by, step: anywhere, limit: public}
numerics: {accuracy: coarse}
"""


@pytest.fixture(scope="module")
def finished(tmp_path_factory):
    """A folder that a run left, and its results."""
    folder = tmp_path_factory.mktemp("runs")
    path = folder / "gate.yaml"
    path.write_text(CASE, encoding="utf-8")
    out = folder / "out"
    done = CliRunner().invoke(main, ["run", str(path), "-o", str(out), "--no-pictures"])
    assert done.exit_code == 0, done.output
    return out, done.stdout


@pytest.fixture(scope="module")
def results():
    return run_variants(load_case_text(CASE))


@pytest.fixture
def unsolvable(monkeypatch):
    """Make any solution an error."""

    def refuse(*_, **__):
        raise AssertionError

    for place in ("ohmscape.jobs.run.solve_case", "ohmscape.jobs.solving.solve"):
        monkeypatch.setattr(place, refuse)


@pytest.mark.usefixtures("unsolvable")
def test_other_currents_and_times_need_no_new_solution(results):
    edited = CASE.replace("current: 1.5 A", "current: 3.75 A").replace("0.5 s", "1.1 s")
    again = reassess(load_case_text(edited), results)
    assert [result.variant for result in again] == ["", "dry"]
    for old, new in zip(results, again, strict=True):
        assert_allclose(new.rise, 2.5 * old.rise, rtol=1e-9)
        pairs = zip(old.verdict.judgements, new.verdict.judgements, strict=True)
        for before, after in pairs:
            # Voltages follow the current, limits one over the root of the time.
            expected = before.worst.share * 2.5 * (1.1 / 0.5) ** 0.5
            assert_allclose(after.worst.share, expected, rtol=1e-6)


@pytest.mark.usefixtures("unsolvable")
def test_the_same_case_gives_the_same_verdict(results):
    again = reassess(load_case_text(CASE), results)
    for old, new in zip(results, again, strict=True):
        assert new.verdict.judgements[0].places == old.verdict.judgements[0].places


@pytest.mark.parametrize(
    ("edit", "message"),
    [
        (("length: 1.5 m", "length: 1.6 m"), "the metal of the case is not that"),
        (
            ("resistivity: 90 ohm", "resistivity: 91 ohm"),
            "the soil of the case is in no",
        ),
        (
            ("resistivity: 270 ohm", "resistivity: 280 ohm"),
            "the soil of variant 'dry' is in no",
        ),
    ],
)
def test_other_metal_and_soil_are_refused(results, edit, message):
    with pytest.raises(ResultError, match=message):
        reassess(load_case_text(CASE.replace(*edit)), results)


def test_the_summary_opens_with_the_verdict(finished):
    lines = finished[1].splitlines()
    assert lines[3].startswith("Verdict: within the limits declared, 2 of 2 exposures")
    assert lines[4].startswith("  PASS        opening the gate: ")
    assert "'gate' to a foot at (" in lines[4]
    assert lines[5].startswith("  PASS        walking by: ")
    assert "relay (earth current of post 1.50 A): CERTAINLY opens, in 0.5 s" in (finished[1])
    assert "share of the limit" in finished[1]
    assert lines[6] == "Variants: within the limits declared, 1 of 1"
    assert "dry: Verdict: within the limits declared, 2 of 2 exposures" in finished[1]


def test_an_unsafe_variant_is_told_beside_the_verdict_of_the_case(results):
    # A hundred times the current: some 3 kV on the gate, far above any limit.
    dry = reassess(load_case_text(CASE.replace("1.5 A", "150 A")), results)[1]
    lines = summary(results[0], variants=[dry]).splitlines()
    assert lines[3] == (
        "Verdict: UNSAFE in 1 of 1 variants; as it stands 2 of 2 exposures are within the "
        "limits declared (fault of at most 0.5 s)"
    )
    assert lines[6] == "Variants: UNSAFE, 1 of 1: 'dry'; see below"


def test_the_table_of_variants_says_what_holds_for_them(finished):
    told = (finished[0] / "comparison.csv").read_text(encoding="utf-8")
    assert "Limits protect only those their standard names" in told
    assert "no limit has been applied" not in told


def test_a_step_outline_that_leaves_the_map_gives_no_distance_to_rely_on(results):
    edited = CASE.replace("numerics:", "  step_outline: 1 mV\nnumerics:")
    text = " ".join(summary(reassess(load_case_text(edited), results)[0]).split())
    assert "Step is NOT below 1.00 mV at the edge of the mapped area" in text
    assert "Step is below" not in text


@pytest.mark.usefixtures("unsolvable")
def test_the_verb_reassesses_a_folder_and_its_variants(finished, tmp_path):
    edited = tmp_path / "edited.yaml"
    edited.write_text(CASE.replace("current: 1.5 A", "current: 40 A"), encoding="utf-8")
    out = tmp_path / "out"
    words = ["reassess", str(finished[0]), str(edited), "-o", str(out), "--no-pictures"]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 0, done.output
    assert "Verdict: UNSAFE, 2 of 2 exposures do not pass" in done.stdout
    assert (out / "verdict.csv").exists()
    assert (out / "variants" / "dry" / "verdict.csv").exists()
    # The same again in a script that wants an exit status.
    done = CliRunner().invoke(main, [*words, "--fail-unsafe", "--quiet"])
    assert (done.exit_code, done.output) == (3, "")


def test_a_safe_case_ends_with_0_and_one_without_limits_is_told(finished, tmp_path):
    path = tmp_path / "gate.yaml"
    path.write_text(CASE, encoding="utf-8")
    folder, out = str(finished[0]), str(tmp_path / "out")
    words = ["reassess", folder, str(path), "-o", out, "--no-pictures", "-q"]
    assert CliRunner().invoke(main, [*words, "--fail-unsafe"]).exit_code == 0
    text = CASE[: CASE.index("safety:")] + CASE[CASE.index("numerics:") :]
    path.write_text(text, encoding="utf-8")
    done = CliRunner().invoke(main, [*words, "--fail-unsafe"])
    assert done.exit_code == 2
    assert "--fail-unsafe needs a case with a 'safety' block" in done.stderr


def test_a_rule_that_is_not_kept_stands_in_the_verdict(results):
    # About 57 ohm and 500 mA: 28 V keeps to 50 V; dry, 170 ohm, it does not.
    device = "residual: {standard: IEC 61008-1, rating: 500 mA}"
    edited = CASE.replace("fixed: {clearing_time: 0.5 s}", device)
    wet, dry = reassess(load_case_text(edited), results)
    assert wet.verdict.broken_rules == ()
    (rule,) = dry.verdict.broken_rules
    assert rule.startswith("relay: resistance x rated residual current ")
    assert "is ABOVE the 50 V" in rule
    assert not dry.verdict.passes
    assert headline(dry.verdict).startswith("Verdict: NOT BY THE RULES")
