"""Several soils and switched bonds in one run, side by side."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape import CaseError, load_case_text
from ohmscape.jobs.run import run_case, run_variants
from ohmscape.solver.results.variants import comparison
from ohmscape.viz.result_folder import load_result, load_results, save_result
from ohmscape.viz.terminal.summary import comparison_table
from ohmscape.viz.variants import draw_comparison

CASE = """
ohmscape: 1
title: Two rods under four conditions
soil: {layers: [{resistivity: 310 ohm*m, thickness: 2 m}, {resistivity: 85 ohm*m}]}
variants:
  - name: ten times drier
    soil: {layers: [{resistivity: 3.1 kohm*m, thickness: 2 m}, {resistivity: 850 ohm*m}]}
  - name: bonded
    close: [link]
electrodes:
  - name: a
    drive: {current: 100 A}
    parts: [{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 3 m, diameter: 16 mm}]
  - name: b
    drive: {floating: true}
    parts: [{kind: rod, at: [4 m, 0 m], top_depth: 0 m, length: 3 m, diameter: 16 mm}]
bonds: [{name: link, between: [a, b], closed: false}]
numerics: {accuracy: coarse}
"""


@pytest.fixture(scope="module")
def results():
    return run_variants(load_case_text(CASE))


def test_voltages_of_a_driven_current_scale_with_resistivity(results):
    base, dry, _ = results
    assert_allclose(dry.rise, 10 * base.rise, rtol=1e-6)
    assert_allclose(
        [w.voltage for w in dry.worst], [10 * w.voltage for w in base.worst], rtol=1e-4
    )


def test_a_bond_alone_needs_no_new_solution_and_halves_the_current_of_a_rod(results):
    base, _, bonded = results
    assert bonded.solution is base.solution
    # Two rods alike share the current evenly, whatever the soil.
    assert_allclose(bonded.operating.current, [50, 50], rtol=1e-3)
    assert bonded.resistance(0) < base.resistance(0)


def test_the_case_itself_comes_out_as_without_variants(results):
    alone = run_case(load_case_text(CASE))
    assert alone.variant == ""
    assert_allclose(alone.rise, results[0].rise, rtol=1e-12)


def test_the_worst_of_each_quantity_is_marked(results):
    compared = comparison(results)
    assert compared.names == ("as it stands", "ten times drier", "bonded")
    assert [quantity.name for quantity in compared.quantities] == [
        "resistance of a",
        "largest rise",
        "worst touch",
        "worst step",
    ]
    assert all(quantity.worst == 1 for quantity in compared.quantities)
    lines = comparison_table(compared).splitlines()
    assert [line.count("*") for line in lines] == [1, 0, 4, 0]


@pytest.mark.slow
def test_each_variant_gets_a_folder_that_a_run_may_replace(results, tmp_path):
    target = tmp_path / "out"
    for _ in range(2):
        save_result(results[0], target, variants=results[1:], pictures=False)
    again = load_result(target / "variants" / "ten-times-drier")
    assert again.variant == "ten times drier"
    assert_allclose(again.rise, results[1].rise, rtol=0)
    rows = (target / "comparison.csv").read_text(encoding="utf-8").splitlines()
    table = [row for row in rows if not row.startswith("#")]
    assert_allclose(float(table[2].split(",")[2]), results[1].rise, rtol=1e-8)
    assert not list(target.rglob("*.png")) + list(target.rglob("*.svg"))


def test_variants_are_read_back_in_the_order_of_the_case(results, tmp_path):
    folder = tmp_path / "kept"
    save_result(results[0], folder, variants=results[1:], pictures=False)
    names = ["", "ten times drier", "bonded"]
    assert [item.variant for item in load_results(folder)] == names
    (folder / "comparison.csv").write_bytes(b'"\xff\x00' + b"a" * 200_000)
    assert [item.variant for item in load_results(folder)] == sorted(names)
    (folder / "comparison.csv").unlink()
    assert [item.variant for item in load_results(folder)] == sorted(names)


def test_their_order_survives_names_that_a_spreadsheet_would_run(results, tmp_path):
    names = ["", "=dry", "+bonded"]
    renamed = [replace(r, variant=n) for r, n in zip(results, names, strict=True)]
    save_result(renamed[0], tmp_path / "kept", variants=renamed[1:], pictures=False)
    assert [item.variant for item in load_results(tmp_path / "kept")] == names


def test_the_figure_is_the_same_from_the_same_data(results, tmp_path):
    compared = comparison(results)
    one, two = (
        draw_comparison(compared, title="t", path=tmp_path / name).read_bytes()
        for name in ("one.svg", "two.svg")
    )
    assert one == two


@pytest.mark.slow
def test_a_foreign_file_among_the_variants_is_spared(results, tmp_path):
    target = tmp_path / "out"
    save_result(results[0], target, variants=results[1:2], pictures=False)
    (target / "variants" / "ten-times-drier" / "letter.txt").write_text("mine")
    save_result(results[0], target, pictures=False)
    assert [
        path.name for path in target.rglob("*") if path.parent.parent == target / "variants"
    ] == ["letter.txt"]
    assert len(load_results(target)) == 1


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("close: [link]", "note: x", r"variants\[2\] 'bonded'.*unknown key"),
        ("    close: [link]\n", "", r"differs in nothing"),
        ("close: [link]", "close: [lnik]", r"no bond 'lnik'; did you mean 'link'"),
        ("close: [link]", "close: [link]\n    open: [link]", r"cannot be both open and closed"),
        ("name: bonded", "name: ten times drier", r"variant name 'ten times drier' is taken"),
        ("{floating: true}", "{voltage: 9 V}", r"variants\[2\].*driven by voltage and by curr"),
    ],
)
def test_a_wrong_variant_is_refused_at_its_place(old, new, message):
    with pytest.raises(CaseError, match=message):
        load_case_text(CASE.replace(old, new))


def test_equivalent_soils_of_a_survey_are_variants():
    from ohmscape.cases.fitting import fit_soil
    from ohmscape.cases.loading import load_case
    from ohmscape.cases.shipped import shipped_case_path

    case = fit_soil(load_case(shipped_case_path("surveyed-pump-house")))
    assert len(case.variants) == len(case.survey.equivalents) > 0
    for variant, soil in zip(case.variants, case.survey.equivalents, strict=True):
        assert variant.soil == soil
        assert np.any(np.array(soil.resistivity) != case.soil.resistivity)


@pytest.mark.slow
def test_variants_with_other_metal_are_solved_and_set_side_by_side():
    # Two rods 40 m apart hardly know of each other: without the second, nothing changes for
    # the first; four times the length in uniform soil is held against Dwight's formula.
    text = CASE.replace("4 m, 0 m", "40 m, 0 m")
    head, _, tail = text.partition("variants:\n")
    _, _, rest = tail.partition("electrodes:\n")
    variants = (
        "variants:\n"
        "  - name: alone\n"
        "    electrodes: [{name: b, absent: true}]\n"
        "    bonds: [{name: link, absent: true}]\n"
        "  - name: longer\n"
        "    soil: {layers: [{resistivity: 100 ohm*m}]}\n"
        "    electrodes: [{name: a, parts: [{name: rod, length: 6 m}]}]\n"
        "  - name: third\n"
        "    electrodes:\n"
        "      - name: c\n"
        "        drive: {current: 10 A}\n"
        "        parts:\n"
        "          - {kind: rod, at: [0 m, 40 m], top_depth: 0 m, length: 3 m,"
        " diameter: 16 mm}\n"
    )
    rod = rest.replace("{kind: rod, at: [0 m, 0 m]", "{kind: rod, name: rod, at: [0 m, 0 m]")
    results = run_variants(load_case_text(head + variants + "electrodes:\n" + rod))
    base, alone, longer, third = results
    assert alone.group_names == ("a",)
    assert alone.solution is not base.solution
    assert_allclose(alone.resistance(0), base.resistance(0), rtol=2e-3)
    # H. B. Dwight, AIEE Trans. 55, 1936: rho / 2 pi L (ln 4L/a - 1); 1 % above the field.
    dwight = 100 / (2 * np.pi * 6) * (np.log(4 * 6 / 0.008) - 1)
    assert_allclose(longer.resistance(0), dwight, rtol=0.02)
    compared = comparison(results)
    by_name = {quantity.name: quantity.values for quantity in compared.quantities}
    assert np.isnan(by_name["resistance of c"][:3]).all()
    assert_allclose(by_name["resistance of c"][3], third.resistance(2), rtol=0)
    assert compared.quantities[1].worst == 3
