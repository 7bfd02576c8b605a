"""Options of a case with prices, side by side: what a run says of them."""

import csv
from dataclasses import replace

import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.run import run_variants
from ohmscape.solver.results.options import options_of
from ohmscape.solver.results.storage import load, save
from ohmscape.solver.verdict import headline
from ohmscape.viz.options.picture import draw_options, options_figure
from ohmscape.viz.options.table import write_options
from ohmscape.viz.report.sections.options import options_section
from ohmscape.viz.report.terminal_lines import section_lines

# Not solved in the dry season is the wire alone, which is the cheapest that passes in spring.
CASE = """\
ohmscape: 1
title: A pillar
soil: {layers: [{resistivity: 90 ohm*m, thickness: 1.2 m}, {resistivity: 60 ohm*m}]}
electrodes:
  - name: pillar earth
    drive: {current: 14 A}
    parts:
      - {kind: rod, name: rod, at: [0 m, 0 m], top_depth: 0.3 m, length: 2.4 m, diameter: 16 mm}
study:
  area: {margin: 2 m}
  touch:
    - {name: pillar, electrode: pillar earth,
       body: [[-0.4 m, -0.2 m], [0.4 m, -0.2 m], [0.4 m, 0.2 m], [-0.4 m, 0.2 m]]}
safety:
  duration: 0.4 s
  limits: [{name: public, ieee_80: {body: 50 kg}}]
  exposures:
    - {name: at the pillar, touch: pillar, limit: public}
    - {name: walking by, step: anywhere, limit: public}
variants:
  - name: dry
    soil: {layers: [{resistivity: 240 ohm*m, thickness: 1.2 m}, {resistivity: 75 ohm*m}]}
  - name: ring
    electrodes:
      - name: pillar earth
        parts:
          - {kind: loop, name: ring, depth: 0.5 m, diameter: 8 mm,
             points: [[-1.2 m, 0 m], [0 m, -1.2 m], [1.2 m, 0 m], [0 m, 1.2 m]]}
          - {kind: conductor, name: lead, diameter: 8 mm,
             points: [[0 m, 0 m, 0.5 m], [1.2 m, 0 m, 0.5 m]]}
  - name: gravel
    also_in: [dry]
    price: 60
    safety:
      surface: &gravel
        - {name: gravel, polygon: [[-3 m, -3 m], [3 m, -3 m], [3 m, 3 m], [-3 m, 3 m]],
           resistivity: 2000 ohm*m, thickness: 0.1 m}
  - name: thick gravel
    also_in: [dry]
    price: 60
    safety:
      surface:
        - {name: gravel, polygon: [[-3 m, -3 m], [3 m, -3 m], [3 m, 3 m], [-3 m, 3 m]],
           resistivity: 2000 ohm*m, thickness: 0.2 m}
prices:
  currency: EUR
  conductors: [{section: 50.27 mm^2, price: 1, per: 1 m}]
  rods: {each: 40, driven: 30, per: 1 m}
  surface: {price: 110, per: 1 m^3}
numerics: {accuracy: coarse, second_opinion: never}
""".replace(" &gravel", "")


@pytest.fixture(scope="module")
def results():
    return run_variants(load_case_text(CASE))


@pytest.fixture(scope="module")
def options(results):
    return options_of(results)


def test_options_stand_against_the_conditions_they_were_solved_in(results, options):
    assert options.conditions == ("", "dry")
    assert [option.name for option in options.options] == ["", "ring", "gravel", "thick gravel"]
    assert [option.whole for option in options.options] == [True, False, True, True]
    by_variant = {result.variant: result for result in results}
    gravel = options.options[2]
    for held, name in zip(gravel.held, ("gravel", "gravel, dry"), strict=True):
        result = by_variant[name]
        assert held.rise == result.rise
        assert held.resistance == result.resistance(0)
        assert held.passes == (headline(result.verdict).finding == "passes")


def test_the_cheapest_passes_by_its_verdicts_in_every_condition(options):
    rod = 40 + 2.4 * 30
    prices = [rod, rod + 1.2 * (4 * 2**0.5 + 1), rod + 60 + 36 * 11, rod + 60 + 36 * 22]
    assert_allclose([option.price for option in options.options], prices, rtol=1e-3)
    bare, ring, gravel, thick = options.options
    assert not bare.held[0].passes
    # Cheaper, and passes where it was solved: but nobody knows of the dry season.
    assert ring.held[0].passes
    assert not ring.passes
    assert gravel.passes
    assert thick.passes
    assert options.cheapest is gravel


def test_too_close_to_a_limit_is_not_to_pass(results):
    def too_close(result):
        # An error as large as what is left of the limit.
        judgements = tuple(
            replace(item, error=item.worst.limit.voltage) for item in result.verdict.judgements
        )
        return replace(result, verdict=replace(result.verdict, judgements=judgements))

    changed = [
        too_close(result) if result.variant == "gravel, dry" else result for result in results
    ]
    found = options_of(changed)
    assert not found.options[2].passes
    assert found.cheapest.name == "thick gravel"


def test_without_limits_or_prices_nothing_passes(results):
    bare = options_of([replace(result, verdict=None) for result in results])
    assert bare.cheapest is None
    text = "\n".join(section_lines(_section(results, verdict=None), units="SI"))
    assert "NO OPTION passes in both conditions" in text
    assert options_of([replace(result, option=None) for result in results]) is None
    assert options_of(results[:2]) is None  # one option alone


def _section(results, **changes):
    return options_section([replace(result, **changes) for result in results])


def test_terminal_and_page_mark_the_cheapest_with_a_word_and_a_sign(results, options):
    section = options_section(results)
    text = "\n".join(section_lines(section, units="SI"))
    assert "★ Cheapest that passes in both conditions: 'gravel', 568 EUR (456 more" in text
    assert text.count("★ cheapest that passes") == 1
    assert "✕ not solved" in text
    reached = section.blocks[3]
    marked = {str(row[0]) for row in reached.rows if "★" in str(row[0])}
    assert marked == {"gravel, 568 EUR ★"}
    assert len(reached.rows) == len(options.options) * len(options.conditions)
    tones = [tone for tone, row in reached.toned_rows if row[-1] != "✓ PASS"]
    assert set(tones) == {"fail"}


def test_what_has_no_price_is_said(results):
    def free(option):
        lines = tuple(
            replace(line, price=0.0) if line.what == "surface" else line for line in option.bill
        )
        return replace(option, bill=lines)

    changed = [replace(result, option=free(result.option)) for result in results]
    text = "\n".join(section_lines(options_section(changed), units="SI"))
    assert "Without a price in the case: joints, surface layer." in " ".join(text.split())


def test_the_table_has_every_number_of_every_option(results, options, tmp_path):
    path = write_options(options, results, path=tmp_path / "options.csv")
    text = path.read_text(encoding="utf-8")
    assert "# For a qualified engineer to check" in text
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    rows = {(row["option"], row["condition"]): row for row in csv.DictReader(lines)}
    assert len(rows) == 8
    gravel = rows["gravel", "dry"]
    result = next(item for item in results if item.variant == "gravel, dry")
    worst = result.verdict.tightest.worst
    assert_allclose(float(gravel["resistance [ohm]"]), result.resistance(0), rtol=1e-8)
    assert_allclose(float(gravel["largest share of a limit [%]"]), 100 * worst.share, rtol=1e-8)
    assert_allclose(float(gravel["foot x [m]"]), worst.foot[0], rtol=1e-8)
    assert_allclose(float(gravel["surface layer [m^3]"]), 3.6)
    assert (gravel["passes"], gravel["standing of the option"]) == (
        "yes",
        "cheapest that passes",
    )
    missing = rows["ring", "dry"]
    assert (missing["passes"], missing["resistance [ohm]"]) == ("not solved", "")
    assert missing["standing of the option"] == "not solved in 1 of 2"
    assert rows["as it is", "as it stands"]["exposures that do not pass"] == (
        "at the pillar: FAIL"
    )


def test_the_picture_is_black_where_the_verdict_does_not_pass(options, tmp_path):
    figure = options_figure(options)
    prices, shares = figure.subfigs[0].axes
    names = [label.get_text() for label in prices.get_yticklabels()]
    assert names == ["as it is", "ring", "gravel\n★ cheapest that passes", "thick gravel"]
    marks = [line for line in shares.lines if len(line.get_xdata()) == 1]
    assert len(marks) == 7  # the ring was not solved in the dry season
    for mark in marks:
        # As far as nothing is too close to its limit, what is above it is black.
        above = mark.get_xdata()[0] > 100
        assert (mark.get_markerfacecolor() == "black") == above
    path = draw_options(options, title="A pillar", path=tmp_path / "options.png")
    assert path.stat().st_size > 10_000


def test_results_keep_what_they_cost(results, tmp_path):
    kept = load(save(results[-1], tmp_path / "result.npz"))
    assert kept.option == results[-1].option
    assert kept.option.condition == "dry"
