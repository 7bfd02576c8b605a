"""The verb `size`: what it calls the cheapest, what it proves, what it leaves."""

import json
import os
import random
import signal
import subprocess
import sys
import time
from dataclasses import replace

import pytest
from click.testing import CliRunner

import ohmscape.jobs.crew as crew
import ohmscape.jobs.design_search as design_search
from ohmscape.cases.designs import design_case
from ohmscape.cases.loading import load_case_text
from ohmscape.command_line import main
from ohmscape.jobs.design_work import DesignWork
from ohmscape.jobs.run import run_variants
from ohmscape.jobs.sizing import size_case, sized_text
from ohmscape.jobs.trying import Trials, evaluation_of
from ohmscape.solver.design import Condition, Evaluation
from ohmscape.solver.errors import CaseError, ResultError
from ohmscape.solver.progress import unwatched
from ohmscape.viz.design.text import sizing_text
from ohmscape.viz.design.words import proof_text

CASE = """\
ohmscape: 1
title: A ring and its rods   # kept
soil: {layers: [{resistivity: 110 ohm*m}]}
electrodes:
  - name: yard
    drive: {current: 60 A}
    parts:
      - {kind: loop, name: ring, points: [[0 m, 0 m], [3 m, 0 m], [3 m, 2 m], [0 m, 2 m]],
         depth: 0.5 m, diameter: 9 mm}
      - kind: rods
        name: rods
        points: [[0 m, 0 m], [3 m, 2 m]]
        top_depth: 0.5 m
        length: 1.5 m   # of each
        diameter: 16 mm
  - name: fence
    drive: {floating: true}
    parts:
      - {kind: rod, name: post, at: [6 m, 0 m], top_depth: 0 m, length: 1 m, diameter: 5 cm}
bonds: [{name: lead, between: [yard, fence], closed: false}]
study:
  area: {margin: 2 m, spacing: 0.4 m}
  touch:
    - {name: kiosk, electrode: yard, body: [[1 m, 0.5 m], [2 m, 0.5 m], [2 m, 1.5 m],
       [1 m, 1.5 m]]}
safety:
  duration: 0.4 s
  limits: [{name: adults, ieee_80: {body: 50 kg}}]
  exposures: [{name: at the kiosk, touch: kiosk, limit: adults}]
numerics: {accuracy: coarse, second_opinion: never}
design:
  choices:
    - name: rod length
      set: [electrodes, yard, parts, rods, length]
      values: [1.5 m, 4 m]
    - name: gravel
      options:
        - {name: none}
        - name: round the kiosk
          safety:
            surface:
              - name: gravel
                polygon: [[-1 m, -1 m], [4 m, -1 m], [4 m, 3 m], [-1 m, 3 m]]
                resistivity: 1500 ohm*m
                thickness: 0.1 m
    - name: fence
      options: [{name: apart}, {name: tied, close: [lead]}]
  rules: [{where: {fence: tied}, requires: {rod length: 4 m}}]
  prices:
    currency: EUR
    conductors: [{section: 63.6 mm^2, price: 20, per: 1 m}]
    rods: {driven: 30, per: 1 m}
    surface: {price: 80, per: 1 m^3}
"""
# A search that asks nothing of finite elements but what it must, in a few seconds.
QUICK = CASE.replace(
    "    - name: fence\n      options: [{name: apart}, {name: tied, close: [lead]}]\n", ""
).replace("  rules: [{where: {fence: tied}, requires: {rod length: 4 m}}]\n", "")


@pytest.fixture(scope="module")
def sized():
    case = load_case_text(CASE)
    return case, size_case(case)


@pytest.mark.slow
def test_the_search_says_what_trying_all_by_finite_elements_says(sized):
    case, found = sized
    targets = case.design.targets
    passing = []
    for chosen in case.design.designs():
        design = design_case(case, chosen)
        solved = evaluation_of(design, run_variants(design))
        item = next(one for one in found.sizing.tried if one.chosen == chosen)
        assert item.thin.worst(targets) == pytest.approx(solved.worst(targets), rel=0.03)
        if solved.meets(targets):
            passing.append((item.cost, chosen))
    assert passing
    assert (found.sizing.cheapest.cost, found.sizing.cheapest.chosen) == min(passing)
    assert found.sizing.proven
    assert found.sizing.possible == 6


@pytest.mark.slow
def test_all_on_the_front_is_solved_by_finite_elements(sized):
    _, found = sized
    assert len(found.sizing.front) > 1
    assert all(item.proof.method == "finite elements" for item in found.sizing.front)
    assert found.sizing.cheapest.proof.method == "finite elements"


@pytest.mark.slow
def test_the_front_says_which_steps_it_leaves_out(sized):
    _, found = sized
    few, many = found.sizing, replace(found.sizing, tried=found.sizing.tried * 5)
    said = "each design takes 10 % less of what is allowed than all cheaper ones"
    assert said in " ".join(sizing_text(many).split())
    assert said not in " ".join(sizing_text(few).split())  # all of them are shown


@pytest.mark.slow
def test_the_design_comes_as_a_case_with_the_comments_of_the_original(sized):
    case, found = sized
    text = sized_text(case, found)
    again = load_case_text(text)
    assert again.design is None
    assert again.conductors.length.sum() == pytest.approx(found.design.conductors.length.sum())
    layers = [
        [(one.name, one.thickness) for one in item.safety.layers]
        for item in (again, found.design)
    ]
    assert layers[0] == layers[1]
    assert "# kept" in text
    assert "# of each" in text
    assert text.startswith("# Sized by ohmscape")


@pytest.mark.slow
def test_a_step_says_what_it_costs_and_buys(sized):
    _, found = sized
    sizing = found.sizing
    assert sizing.steps
    for step in sizing.steps:
        differing = [
            (a, b) for a, b in zip(step.start.chosen, step.tried.chosen, strict=True) if a != b
        ]
        assert len(differing) == 1
        assert step.cost == pytest.approx(step.tried.cost - sizing.shown.cost)
        before, after = (item.thin.conditions[0] for item in (step.start, step.tried))
        assert step.ohms == pytest.approx(after.resistance - before.resistance)
        assert step.volts(sizing.targets) == pytest.approx(
            after.met[0].voltage - before.met[0].voltage
        )


@pytest.mark.slow
def test_a_design_that_passes_only_by_thin_conductors_is_not_called_passing(monkeypatch):
    honest = Trials.evaluation

    def hopeful(self, case):
        found = honest(self, case)
        half = [
            Condition(
                **{
                    **vars(each),
                    "met": tuple(
                        type(met)(**{**vars(met), "voltage": met.voltage / 9, "most": 0.1})
                        for met in each.met
                    ),
                }
            )
            for each in found.conditions
        ]
        return Evaluation("thin conductors", tuple(half))

    case = load_case_text(QUICK)
    true = size_case(case).sizing
    monkeypatch.setattr(Trials, "evaluation", hopeful)
    deceived = size_case(case).sizing
    assert all(item.thin.meets(case.design.targets) for item in deceived.tried)
    assert deceived.cheapest.chosen == true.cheapest.chosen
    misses = [item for item in deceived.tried if item.cost < deceived.cheapest.cost]
    assert misses
    assert not any(item.passes(case.design.targets) for item in misses)
    assert all(item.proof is not None for item in misses)


@pytest.mark.slow
def test_where_nothing_passes_the_nearest_is_shown_and_by_how_much_it_misses():
    text = QUICK.replace("current: 60 A", "current: 900 A")
    case = load_case_text(text)
    found = size_case(case)
    sizing = found.sizing
    assert sizing.cheapest is None
    assert not sizing.proven
    best = min(item.worst(case.design.targets) for item in sizing.tried)
    assert sizing.nearest.worst(case.design.targets) == best > 1
    need = sizing.nearest.proof.deciding(case.design.targets)
    assert need.met.exposure == "at the kiosk"
    assert need.met.foot is not None
    assert "NO DESIGN PASSES" in sized_text(case, found)


@pytest.mark.slow
def test_a_target_of_resistance_rules_designs_out_unsolved():
    many = QUICK.replace(
        "values: [1.5 m, 4 m]", "values: [0.5 m, 1 m, 1.5 m, 2 m, 2.5 m, 3 m, 4 m, 8 m, 16 m]"
    )
    text = many + "  targets: {resistance: 5 ohm}\n  most_tried: 14\n"
    case = load_case_text(text)
    sizing = size_case(case).sizing
    assert sizing.possible == 18
    assert sizing.excluded
    for one in sizing.excluded:
        assert one.what == "resistance"
        by = next(item for item in sizing.tried if item.chosen == one.by)
        assert by.thin.resistance > 5.0
        found = Trials().evaluation(design_case(case, one.chosen))
        assert found.resistance >= by.thin.resistance * 0.999
    # Nothing that reaches the target was ruled out.
    assert sizing.cheapest is None or sizing.cheapest.proof.resistance <= 5.0
    assert len(sizing.tried) + len(sizing.excluded) == 14


def test_a_case_without_choices_or_targets_is_refused():
    bare = CASE[: CASE.index("design:")]
    with pytest.raises(CaseError, match="nothing to choose from"):
        size_case(load_case_text(bare))
    aimless = bare[: bare.index("safety:")] + QUICK[QUICK.index("design:") :]
    aimless = aimless[: aimless.index("    - name: gravel")] + "  targets: {reserve: 0.1}\n"
    with pytest.raises(CaseError, match="nothing to reach"):
        size_case(load_case_text(aimless))


@pytest.mark.slow
def test_the_command_leaves_case_tables_pictures_and_report(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "kiosk.yaml").write_text(QUICK, encoding="utf-8")
    done = CliRunner().invoke(main, ["size", "kiosk.yaml"])
    assert done.exit_code == 0, done.output
    for words in ("Cheapest that passes", "qualified engineer", "4 designs are possible"):
        assert words in done.output
    folder = tmp_path / "kiosk-size"
    names = {path.name for path in folder.iterdir()}
    wanted = {"sized.yaml", "designs.csv", "bill.csv", "steps.csv", "front.png", "front.svg",
              "steps.png", "steps.svg", "report.html", "report.pdf"}  # fmt: skip
    assert wanted <= names
    page = (folder / "report.html").read_text(encoding="utf-8")
    assert "Bill of quantities" in page
    rows = (folder / "designs.csv").read_text(encoding="utf-8").splitlines()
    assert sum(not row.startswith("#") for row in rows) == 1 + 4
    # Again, it takes what was kept; a file of somebody else's making is not taken for ours.
    began = time.monotonic()
    again = CliRunner().invoke(main, ["size", "kiosk.yaml", "--no-pictures"])
    assert again.exit_code == 0, again.output
    assert time.monotonic() - began < 60
    (folder / "designs-tried.json").write_text("{", encoding="utf-8")
    broken = CliRunner().invoke(main, ["size", "kiosk.yaml"])
    assert broken.exit_code == 1
    assert "cannot be read as designs tried before" in broken.output


def test_what_was_kept_for_another_case_is_not_taken(tmp_path):
    case, other = load_case_text(QUICK), load_case_text(QUICK.replace("60 A", "61 A"))
    kept = design_search.KeptDesigns(tmp_path, case=case, accuracy=None)
    kept.thin[0, 0] = (Trials().evaluation(design_case(case, (0, 0))), "")
    kept.save(now=True)
    assert design_search.KeptDesigns(tmp_path, case=case, accuracy=None).thin == kept.thin
    assert design_search.KeptDesigns(tmp_path, case=other, accuracy=None).thin == {}
    assert design_search.KeptDesigns(tmp_path, case=case, accuracy="fine").thin == {}
    (tmp_path / "designs-tried.json").write_text("[]", encoding="utf-8")
    with pytest.raises(ResultError, match="take it away"):
        design_search.KeptDesigns(tmp_path, case=case, accuracy=None)


HEATED = """\
ohmscape: 1
title: A lead to choose
soil: {layers: [{resistivity: 80 ohm*m}]}
electrodes:
  - name: station
    drive: {circuit: true}
    parts:
      - {kind: ring, name: ring, centre: [0 m, 0 m], ring_diameter: 4 m, depth: 0.5 m,
         stranded: {cross_section: 50 mm^2}}
circuit:
  {frequency: 50 Hz, supply: {current: 3 kA, to: station}, split_factor: 0.4, x_over_r: 15}
protection: [{name: relay, measures: supply, fixed: {clearing_time: 0.4 s}}]
heating:
  ambient: 40 degC
  joint: bolted
  leads: [{name: lead, diameter: 2.8 mm, material: annealed copper}]
study:
  area: {margin: 3 m, spacing: 0.8 m}
  touch: [{name: kiosk, electrode: station, points: [[0 m, 0 m]]}]
safety:
  limits: [{name: nobody there, own: {voltage: 90 kV}}]
  exposures: [{name: at the kiosk, touch: kiosk, limit: nobody there}]
numerics: {accuracy: coarse, second_opinion: never}
design:
  choices: [{name: lead, set: [heating, leads, lead, diameter], values: [2.8 mm, 10 mm]}]
"""


@pytest.mark.slow
def test_a_design_whose_lead_melts_does_not_pass():
    case = load_case_text(HEATED)
    sizing = size_case(case).sizing
    thin, thick = sizing.tried
    assert thin.thin.melts == ("lead",)
    assert not thin.may_pass(case.design.targets)
    assert thick.thin.melts == ()
    assert sizing.cheapest.chosen == (1,)
    design = design_case(case, (0,))
    assert evaluation_of(design, run_variants(design)).melts == ("lead",)


SEARCH = """\
import sys
from pathlib import Path
import ohmscape.jobs.design_search as search
import ohmscape.jobs.kept_designs as kept
from ohmscape.cases.loading import load_case
from ohmscape.jobs.sizing import size_case
search._batch, kept._every = 1, 0.0
found = size_case(load_case("case.yaml"), folder=Path(sys.argv[1])).sizing
print([(item.chosen, item.cost, item.passes(found.targets)) for item in found.tried])
print(found.cheapest.chosen, found.proven, [item.chosen for item in found.front])
"""


@pytest.mark.slow
def test_a_search_killed_at_random_times_ends_in_the_same_answer(tmp_path):
    (tmp_path / "case.yaml").write_text(QUICK, encoding="utf-8")

    def search(folder):
        return subprocess.Popen(
            [sys.executable, "-c", SEARCH, folder],
            cwd=tmp_path,
            stdout=subprocess.PIPE,
            text=True,
        )

    began = time.monotonic()
    wanted, _ = search("whole").communicate()
    seconds = time.monotonic() - began
    assert wanted
    luck = random.Random(20261128)
    killed = 0
    for _ in range(4):
        child = search("killed")
        time.sleep(luck.uniform(0.2, 0.9) * seconds)
        os.kill(child.pid, signal.SIGKILL)
        killed += child.wait() == -signal.SIGKILL
        child.stdout.close()
        file = tmp_path / "killed" / "designs-tried.json"
        if file.exists():
            json.loads(file.read_text(encoding="utf-8"))  # whole at any time
    assert killed
    found, _ = search("killed").communicate()
    assert found == wanted


# 33 designs in three conditions, too many to be shown side by side in each; gravel elsewhere
# is dear and of no use.
SEASONS = QUICK.replace(
    "electrodes:",
    """variants:
  - name: dry
    soil: {layers: [{resistivity: 300 ohm*m, thickness: 80 cm}, {resistivity: 90 ohm*m}]}
  - name: wet
    soil: {layers: [{resistivity: 60 ohm*m, thickness: 80 cm}, {resistivity: 90 ohm*m}]}
electrodes:""",
    1,
)
SEASONS = SEASONS.replace("values: [1.5 m, 4 m]", "from: 1 m\n      to: 6 m\n      step: 0.5 m")
SEASONS = SEASONS.replace(
    "        - {name: none}\n",
    """        - {name: none}
        - name: elsewhere
          safety:
            surface:
              - name: gravel
                polygon: [[8 m, 8 m], [18 m, 8 m], [18 m, 18 m], [8 m, 18 m]]
                resistivity: 1500 ohm*m
                thickness: 0.1 m
""",
)
PLAIN = {"units": "SI", "vocabulary": "earth"}


@pytest.mark.slow
def test_another_process_says_the_same_and_may_be_ended_from_outside(monkeypatch):
    case = load_case_text(SEASONS)
    jobs = [(chosen, number) for chosen in case.design.designs() for number in (2, 0, 1)][::5]
    backwards = crew.Crew(case, accuracy=None).answers("look", jobs[::-1], of=jobs)
    monkeypatch.setattr(crew, "_cores", lambda: 2)
    with crew.Crew(case, accuracy=None) as both:
        both.call_helpers()
        (helper,) = both._helpers
        assert [helper.answer("look", job) for job in jobs] == backwards[::-1]
        with pytest.raises(IndexError):
            helper.answer("look", (jobs[0][0], 99))
        assert both.answers("look", jobs, of=jobs) == backwards[::-1]
        helper._process.kill()
        assert both.answers("look", jobs, of=jobs) == backwards[::-1]


def _as_if_proven(self, some, number, **_):
    found = [self.look(chosen, number)[0] for chosen in some]
    return [(replace(each, method="finite elements"), "") for each in found]


@pytest.mark.slow
@pytest.mark.parametrize("current", ["60 A", "900 A"])
def test_giving_designs_up_finds_what_trying_all_in_all_conditions_finds(monkeypatch, current):
    case = load_case_text(SEASONS.replace("60 A", current))
    monkeypatch.setattr(DesignWork, "prove", _as_if_proven)
    monkeypatch.setattr(crew, "_cores", lambda: 1)  # others do not know of that

    def outcome(kept):
        with crew.Crew(case, accuracy=None) as team:
            search = design_search.DesignSearch(case, kept, team, unwatched)
            search.try_all()
            return search.outcome()

    nothing, kept = (
        design_search.KeptDesigns(None, case=case, accuracy=None) for _ in range(2)
    )
    some = outcome(nothing)
    with monkeypatch.context() as patch:
        patch.setattr(design_search, "side_by_side", 1000)
        every = outcome(kept)
    # However much another search has kept, this one takes what it asks for.
    assert outcome(kept) == some
    assert not any(item.given_up for item in every.tried)
    given_up = sum(item.given_up for item in some.tried)
    assert given_up > 5
    assert f"{given_up} of them were given up" in str(proof_text(some).plain(**PLAIN))
    assert "given up" not in str(proof_text(every).plain(**PLAIN))
    assert len(some.tried) == len(every.tried) == some.possible == 33
    assert some.front == every.front
    assert (some.cheapest, some.nearest) == (every.cheapest, every.nearest)
    assert some.proven == every.proven == (current == "60 A")
