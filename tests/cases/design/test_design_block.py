"""Choices laid over a case, and blocks that are broken, endless or contradictory."""

import re

import jsonschema
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.designs import design_case
from ohmscape.cases.loading import case_from, load_case_text
from ohmscape.cases.reading.yaml_reader import read_document
from ohmscape.cases.schema import case_file_schema
from ohmscape.solver.errors import CaseError

CASE = """\
ohmscape: 1
title: A yard
soil: {layers: [{resistivity: 310 ohm*m, thickness: 2 m}, {resistivity: 85 ohm*m}]}
electrodes:
  - name: yard
    drive: {current: 90 A}
    parts:
      - {kind: grid, name: grid, corner: [0 m, 0 m], size: [9 m, 7 m], meshes: [2, 2],
         depth: 0.5 m, diameter: 9 mm}
      - {kind: rods, name: rods, along: {part: grid, count: 4}, length: 2 m, diameter: 16 mm}
  - name: fence
    drive: {floating: true}
    parts:
      - {kind: rod, name: post, at: [15 m, 0 m], top_depth: 0 m, length: 1.5 m, diameter: 5 cm}
bonds: [{name: lead, between: [yard, fence], closed: false}]
safety:
  duration: 0.4 s
  limits: [{name: adults, ieee_80: {body: 70 kg}}]
  surface:
    - name: rock
      polygon: [[-1 m, -1 m], [10 m, -1 m], [10 m, 8 m], [-1 m, 8 m]]
      resistivity: 3000 ohm*m
      thickness: 0.1 m
  exposures: [{name: in the yard, touch: yard, limit: adults}]
variants:
  - name: wet
    soil: {layers: [{resistivity: 100 ohm*m}]}
design:
  choices:
"""
LENGTH = """\
    - name: rod length
      set: [electrodes, yard, parts, rods, length]
      from: 1.5 m
      to: 4.5 m
      step: 1.5 m
"""
MESHES = """\
    - name: meshes
      set: [electrodes, yard, parts, grid, meshes]
      values: [[2, 2], [4, 3]]
"""
OTHERS = """\
    - name: rock
      options:
        - {name: as it is}
        - {name: none, safety: {surface: [{name: rock, absent: true}]}}
        - {name: thick, safety: {surface: [{name: rock, thickness: 0.2 m}]}}
    - name: fence
      options:
        - {name: apart}
        - {name: tied, close: [lead], price: 120}
"""


def loaded(choices, more=""):
    return load_case_text(CASE + choices + more)


def refusal(choices, more=""):
    with pytest.raises(CaseError) as raised:
        loaded(choices, more)
    return [str(problem) for problem in raised.value.problems]


def line_of(text, choices, more=""):
    """Line on which something stands in the case file."""
    lines = (CASE + choices + more).splitlines()
    return next(k for k, line in enumerate(lines, start=1) if text in line)


def test_designs_are_one_option_of_each_choice():
    case = loaded(LENGTH + MESHES + OTHERS)
    designs = list(case.design.designs())
    assert len(designs) == len(set(designs)) == 3 * 2 * 3 * 2
    assert case.design.words((2, 1, 0, 1)) == (
        "rod length: 4.5 m; meshes: [4, 3]; rock: as it is; fence: tied"
    )


def test_a_design_has_what_was_chosen_and_the_variants_of_the_case():
    case = loaded(LENGTH + MESHES + OTHERS)
    found = design_case(case, (2, 1, 2, 1))
    rods = next(part for part in found.parts if part.name == "rods")
    grid = next(part for part in found.parts if part.name == "grid")
    assert_allclose(rods.rod_length, 4 * 4.5)
    assert_allclose(grid.conductor_length, 5 * 7 + 4 * 9)  # lines along y, along x
    assert [layer.thickness for layer in found.safety.layers] == [0.2]
    assert found.bonds[0].closed
    assert [item.variant for item in found.variants] == ["wet"]
    assert found.variants[0].soil.resistivity == (100.0,)
    assert found.variants[0].conductors is found.conductors
    assert found.variants[0].bonds[0].closed
    assert found.design is None
    # The case itself is as it was written.
    assert case.safety.layers[0].thickness == 0.1
    assert not case.bonds[0].closed


def test_choices_are_laid_over_each_other_in_their_order():
    added = """\
    - name: ring
      options:
        - {name: none}
        - name: outer
          electrodes:
            - name: yard
              parts:
                - {kind: ring, name: ring, centre: [4.5 m, 3.5 m], ring_diameter: 16 m,
                   depth: 1 m, diameter: 9 mm}
    - name: depth of the ring
      options:
        - {name: as it is}
        - {name: deep, electrodes: [{name: yard, parts: [{name: ring, depth: 1.5 m}]}]}
"""
    rule = "  rules: [{where: {depth of the ring: deep}, requires: {ring: outer}}]\n"
    case = loaded(added, rule)
    assert list(case.design.designs()) == [(0, 0), (1, 0), (1, 1)]
    depth = [-design_case(case, each).conductors.start[:, 2].max() for each in ((1, 0), (1, 1))]
    deepest = [design_case(case, each).conductors for each in ((1, 0), (1, 1))]
    rings = [metal.start[metal.part == metal.part_names.index("ring")] for metal in deepest]
    assert [-ring[:, 2].mean() for ring in rings] == pytest.approx([1.0, 1.5])
    assert depth == [0.0, 0.0]


@pytest.mark.parametrize(
    ("rule", "count"),
    [
        ("{where: {rod length: 1.5 m}, requires: {meshes: [4, 3]}}", 5),
        ("{where: {rod length: [1.5 m, 3 m]}, excludes: {meshes: [[4, 3]]}}", 4),
        ("{where: {rod length: 1.5 m, meshes: [4, 3]}, excludes: {fence: tied}}", 11),
    ],
)
def test_rules_leave_designs_out(rule, count):
    choices = LENGTH + MESHES + (OTHERS[OTHERS.index("    - name: fence") :] * (count > 6))
    assert len(list(loaded(choices, f"  rules: [{rule}]\n").design.designs())) == count


@pytest.mark.parametrize(
    ("broken", "at", "said"),
    [
        (LENGTH.replace("rods,", "rodds,"), "name: rod length", "did you mean 'rods'"),
        (LENGTH.replace("electrodes", "elektrodes"), "name: rod length", "'electrodes'"),
        (LENGTH.replace("electrodes, yard, parts", "title"), "name: rod length", "no block"),
        (LENGTH.replace("step: 1.5 m", "step: 0 m"), "name: rod length", "never ends"),
        (LENGTH.replace("step: 1.5 m", "step: -1 m"), "name: rod length", "never ends"),
        (LENGTH.replace("step: 1.5 m", "step: 0.01 m"), "name: rod length", "step wider"),
        (LENGTH.replace("step: 1.5 m", "step: 2 m"), "name: rod length", "write 'to: 3.5 m'"),
        (LENGTH.replace("step: 1.5 m", "step: 50 cm"), "name: rod length", "in one unit"),
        (LENGTH.replace("step: 1.5 m", "step: often"), "name: rod length", "no end of a range"),
        (LENGTH.replace("      to: 4.5 m\n", ""), "name: rod length", "'to' and 'step'"),
        (LENGTH.replace("from: 1.5 m", "from: 0 m"), "name: rod length", "'0 m' must be"),
        (LENGTH + LENGTH.replace("rod length", "again"), "name: again", "sets what choice"),
        (MESHES.replace("[4, 3]", "[2, 2]"), "name: meshes", "stands twice"),
        (MESHES.replace("[4, 3]", "[0, 3]"), "values", "0 is not allowed"),
        (MESHES.replace("[[2, 2], [4, 3]]", "[[2, 2]]"), "values", "2 or more entries"),
        (OTHERS.replace("name: rock, absent", "name: rok, absent"), "none", "did you mean"),
        (OTHERS.replace("close: [lead]", "close: [wire]"), "tied", "no bond 'wire'"),
        (OTHERS.replace("thickness: 0.2 m", "thicknes: 0.2 m"), "thick,", "unknown key"),
        (OTHERS.replace("name: thick", "name: none"), "name: rock, thickness", "taken"),
        (OTHERS.replace("price: 120", "price: dear"), "tied", "not a plain number"),
    ],
)  # fmt: skip
def test_a_broken_choice_is_refused_at_its_line(broken, at, said):
    found = refusal(broken)
    assert len(found) == 1, found
    assert said in found[0]
    lines = [int(number) for number in re.findall(r"^text:(\d+)", found[0])]
    wanted = line_of(at, broken)
    assert wanted <= lines[0] <= wanted + 1


@pytest.mark.parametrize(
    ("rules", "said"),
    [
        ("{where: {rod size: 3 m}, requires: {meshes: [4, 3]}}", "no choice 'rod size'"),
        ("{where: {rod length: 5 m}, requires: {meshes: [4, 3]}}", "no option of choice"),
        ("{where: {rod length: 3 m}, requires: {rod length: 1.5 m}}", "on both sides"),
        ("{where: {rod length: 3 m}}", "exactly one of requires, excludes"),
        (
            "{where: {rod length: 3 m}, excludes: {meshes: [[2, 2], [4, 3]]}}",
            "no design with '3 m'",
        ),
        (
            "{where: {rod length: [1.5 m, 3 m, 4.5 m]}, excludes: {meshes: [[2, 2], [4, 3]]}}",
            "leave no design",
        ),
    ],
)
def test_rules_that_contradict_are_refused(rules, said):
    found = refusal(LENGTH + MESHES, f"  rules: [{rules}]\n")
    assert said in found[0]


def test_all_that_is_wrong_is_said_at_once():
    broken = LENGTH.replace("rods,", "rodds,") + OTHERS.replace("[lead]", "[wire]")
    assert len(refusal(broken)) == 1  # places first, then what is laid over the case
    both = MESHES.replace("[4, 3]", "[0, 3]") + OTHERS.replace("[lead]", "[wire]")
    assert len(refusal(both)) == 2


@pytest.mark.parametrize("end", [float("nan"), float("inf"), True, None, ["3 m"], "9" * 80])
def test_ends_that_are_no_quantity_are_refused(end):
    content = read_document(CASE + LENGTH).content
    content["design"]["choices"][0]["to"] = end
    with pytest.raises(CaseError):
        case_from(content)


def test_too_many_designs_are_refused():
    many = "".join(
        f"    - {{name: n{k}, set: [electrodes, yard, parts, {part}, {key}], from: 1, to: 50, "
        "step: 1}\n"
        for k, (part, key) in enumerate(
            [("grid", "diameter"), ("grid", "depth"), ("rods", "length"), ("rods", "diameter")]
        )
    )
    assert "6,250,000 designs" in refusal(many)[0]


def test_what_breaks_only_together_is_said_where_it_was_written():
    case = loaded(
        "    - name: depth\n"
        "      set: [electrodes, yard, parts, grid, depth]\n"
        "      values: [0.5 m, 1 m]\n"
        "    - name: rock\n"
        "      options:\n"
        "        - {name: as it is}\n"
        "        - name: a wire across\n"
        "          electrodes: [{name: fence, parts: [{kind: conductor, name: wire, diameter:"
        " 9 mm, depth: 1 m, points: [[-1 m, 1 m], [10 m, 1 m]]}]}]\n"
    )
    with pytest.raises(CaseError, match="'grid' piece 2 of 'yard' and 'wire' of 'fence' touch"):
        design_case(case, (1, 1))


@pytest.mark.parametrize(
    "prices",
    [
        "{currency: EUR, conductors: [{section: 63.6 mm^2, price: 9, per: 1 m}]}",
        "{currency: USD, conductors: [{section: 0.0986 in^2, price: 350, per: 100 ft}],"
        " rods: {each: 40, driven: 6, per: 1 ft}, joint: 12, fixed: 900,"
        " surface: {price: 55, per: 1 yd^3}}",
    ],
)
def test_the_schema_for_editors_takes_what_is_taken(prices):
    text = CASE + LENGTH + MESHES + OTHERS
    text += f"  targets: {{reserve: 0.1, resistance: 5 ohm, rise: 2 kV}}\n  prices: {prices}\n"
    load_case_text(text)
    jsonschema.Draft202012Validator(case_file_schema()).validate(read_document(text).content)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ("  targets: {reserve: 1.5}\n", "from 0 to 0.9"),
        ("  targets: {resistance: 0 ohm}\n", "nothing buried reaches 0"),
        ("  targets: {resistence: 3 ohm}\n", "did you mean 'resistance'"),
        ("  prices: {currency: EUR, joint: -3}\n", "from 0 to"),
        ("  prices: {joint: 3}\n", "currency: is missing"),
        ("  most_tried: 0\n", "from 1 to"),
    ],
)
def test_targets_and_prices_are_checked(more, said):
    assert said in refusal(LENGTH, more)[0]
