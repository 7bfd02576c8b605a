import hashlib

import pytest

from ohmscape.cases.case import Source
from ohmscape.cases.loading import case_from, load_case, load_case_text
from ohmscape.solver.errors import BudgetError, CaseError

GOOD = """\
ohmscape: 1
title: Two electrodes
soil:
  layers:
    - {resistivity: 250 ohm*m, thickness: 3 m}
    - {resistivity: 300 ohm*ft}
electrodes:
  - name: yard
    drive: {current: 1.2 kA}
    parts:
      - {kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 3 m, diameter: 16 mm}
      - {kind: rod, name: east, at: [4 m, 0 m], top_depth: 0 m, length: 3 m, diameter: 5/8 in}
  - name: fence
    drive: {floating: true}
    parts:
      - {kind: rod, at: [9 m, 0 m], top_depth: 0 m, length: 1 m, diameter: 50 mm}
bonds:
  - {name: gate, between: [fence, yard], closed: true}
"""


def problems(text):
    with pytest.raises(CaseError) as caught:
        load_case_text(text)
    return [str(problem) for problem in caught.value.problems]


def test_a_case_comes_out_in_si_units():
    case = load_case_text(GOOD)
    assert case.soil.resistivity == (250.0, 91.44)
    assert case.soil.thickness == (3.0,)
    assert [(drive.kind, drive.value) for drive in case.drives] == [
        ("current", 1200.0),
        ("floating", 0.0),
    ]
    assert case.conductors.group_names == ("yard", "fence")
    assert case.conductors.part_names == ("rod 1", "east", "rod 3")
    assert case.conductors.group.tolist() == [0, 0, 1]
    assert case.conductors.radius.tolist() == [0.008, 0.0079375, 0.025]


def test_closed_bonds_leave_the_groups_apart():
    case = load_case_text(GOOD)
    (bond,) = case.bonds
    assert (bond.name, bond.groups, bond.closed) == ("gate", (1, 0), True)


def test_a_case_carries_its_text_and_hash(tmp_path):
    file = tmp_path / "yard.yaml"
    file.write_text(GOOD, encoding="utf-8")
    case = load_case(file)
    sha = hashlib.sha256(GOOD.encode()).hexdigest()
    assert case.source == Source(file="yard.yaml", text=GOOD, sha256=sha)


def test_text_file_and_python_values_give_the_same_metal(content):
    text = """
ohmscape: 1
title: A case under test
soil: {layers: [{resistivity: 120 ohm*m}]}
electrodes:
- name: main
  drive: {current: 100 A}
  parts: [{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 3.7 m, diameter: 16 mm}]
"""
    from_text, from_values = load_case_text(text), case_from(content())
    assert from_text.conductors.end.tolist() == from_values.conductors.end.tolist()
    assert from_text.soil == from_values.soil


def test_everything_wrong_with_a_file_is_reported_at_once_in_its_order():
    text = (
        GOOD.replace("title: ", "titel: ")
        .replace("250 ohm*m", "250")
        .replace("1.2 kA", "'1,2 kA'")
        .replace("name: east", "naem: east")
        .replace("5/8 in", "8'")
        .replace("between: [fence, yard]", "between: [fense, yard]")
        .replace("closed: true", "closed: maybe")
    )
    found = problems(text)
    expected = [
        "title: is missing",
        "titel: unknown key; did you mean 'title'?",
        "soil.layers[1].resistivity: 250 needs a unit: write text such as '250 ohm*m'",
        "electrodes[1] 'yard'.drive.current: '1,2 kA' has a comma",
        "electrodes[1] 'yard'.parts[2].naem: unknown key; did you mean 'name'?",
        "electrodes[1] 'yard'.parts[2].diameter: \"8'\" cannot be read",
        "bonds[1] 'gate'.between[1]: no electrode 'fense'; did you mean 'fence'?",
        "bonds[1] 'gate'.closed: 'maybe' must be true or false",
    ]
    assert len(found) == len(expected), "\n".join(found)
    for words in expected:
        assert any(words in line for line in found), (words, found)
    with pytest.raises(CaseError) as caught:
        load_case_text(text)
    lines = [problem.line for problem in caught.value.problems if problem.line is not None]
    assert lines == sorted(lines)
    assert 12 in lines


def test_a_problem_starts_with_file_and_line(tmp_path):
    file = tmp_path / "yard.yaml"
    file.write_text(GOOD.replace("length: 1 m", "length: -1 m"), encoding="utf-8")
    where = (
        r"^yard\.yaml:16: electrodes\[2\] 'fence'\.parts\[1\]\.length: '-1 m' must be above 0"
    )
    with pytest.raises(CaseError, match=where):
        load_case(file)


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        ("ohmscape: 1\n", "", "ohmscape: is missing"),
        ("ohmscape: 1", "ohmscape: 2", "version 2 is not known; this program reads version 1"),
        ("ohmscape: 1", "ohmscape: '1'", "version '1' is not known"),
        ("title: Two electrodes", "title: ''", "title: is empty"),
        ("title: Two electrodes", "title:", "title: is empty; give a value or leave"),
        ("title: Two electrodes", "title: 5", "title: 5 must be text"),
        (
            "title: Two electrodes",
            "title: x\nunits: metric",
            "'metric' is not allowed; write 'SI'",
        ),
        ("title: Two electrodes", f"title: {'x' * 201}", "more than the 200 characters"),
        ("drive: {floating: true}", "drive: {}", "drive: give exactly one of .*; got none"),
        ("{floating: true}", "{floating: false}", "false is not allowed; write true"),
        ("{floating: true}", "{voltage: 1 V, current: 2 A}", "got voltage and current"),
        ("drive: {floating: true}", "drive: off", "'off' must be a block of keys"),
        ("{current: 1.2 kA}", "{current: 0 A}", "no electrode is driven"),
        ("{current: 1.2 kA}", "{floating: true}", "no electrode is driven"),
        ("{current: 1.2 kA}", "{current: 2 MA}", "above the 1e.06 A allowed"),
        (
            "{floating: true}",
            "{voltage: 5 V}",
            "joins 'yard' and 'fence', driven by voltage and by current",
        ),
        ("[fence, yard]", "[yard, yard]", "joins 'yard' to itself"),
        ("[fence, yard]", "[fence]", r"between\[2\]: is missing: the list is 1 long"),
        ("[fence, yard]", "[fence, yard, x]", "more than the 2 entries allowed; got 3"),
        ("name: east", "name: rod 1", r"part name 'rod 1' is taken by electrodes\[1\] 'yard'"),
        ("name: fence", "name: yard", "electrode name 'yard' is taken"),
        ("name: fence", "name: 5", "5 is not a name"),
        ("name: fence", "name: ' '", "' ' is not a name"),
        ("name: fence", f"name: {'f' * 81}", "at most 80 printable characters"),
        ("kind: rod, name", "kind: rodd, name", "kind 'rodd' is not known; there are 'rod'"),
        ("{kind: rod, name", "{name", "'kind' is missing"),
        ("at: [4 m, 0 m]", "at: [4 m]", r"at\[2\]: is missing"),
        ("at: [4 m, 0 m]", "at: 4 m", "'4 m' must be a list"),
        ("at: [4 m, 0 m]", "at: [200 km, 0 m]", "above the 100000 m allowed"),
        ("at: [4 m, 0 m]", "at: [50 km, 0 m]", "is 50,000 m from 'rod 1'; .* 20,000 m"),
        (
            "length: 3 m",
            "length: 50 km",
            "reaches 50,000 m down; metal goes 1,000 m deep",
        ),
        ("ohmscape: 1", "ohmscape: true", "version true is not known; this program reads"),
        ("ohmscape: 1", "ohmscape: 1.0", "version 1.0 is not known"),
        ("diameter: 5/8 in", "diameter: 5/8 in, strip: [3 cm, 3 mm]", "got diameter and strip"),
        (", diameter: 5/8 in", "", "give exactly one of diameter, strip, stranded; got none"),
        ("diameter: 5/8 in", "diameter: 1 um", "below the 0.0001 m allowed"),
        (", thickness: 3 m", "", "layer 1 needs a thickness"),
        ("300 ohm*ft", "300 ohm*ft, thickness: 2 m", "the last layer reaches down for ever"),
        ("250 ohm*m", "0 ohm*m", "must be above 0 ohm"),
        ("250 ohm*m", "0.09 ohm*m", "from 0.09 to 91.44 ohm.m are 1016 to 1; at most 1000"),
        ("soil:\n", "soils:\n", "soil: is missing"),
    ],
)
def test_each_wrong_thing_is_refused_in_plain_words(old, new, why):
    assert old in GOOD
    with pytest.raises(CaseError, match=why):
        load_case_text(GOOD.replace(old, new, 1))


def test_a_contrast_of_a_thousand_to_one_is_allowed():
    case = load_case_text(GOOD.replace("300 ohm*ft", "0.25 ohm*m"))
    assert case.soil.resistivity == (250.0, 0.25)


def test_more_layers_than_allowed_are_refused_with_their_number():
    layers = "    - {resistivity: 250 ohm*m, thickness: 3 m}\n"
    with pytest.raises(CaseError, match="more than the 12 entries allowed; got 14"):
        load_case_text(GOOD.replace(layers, layers * 13))


def test_a_hundred_problems_are_shown_and_the_rest_counted():
    rods = "".join(
        f"      - {{kind: rod, at: [{n} m, 0 m], top_depth: 0 m, length: 3, diameter: 1 cm}}\n"
        for n in range(20, 170)
    )
    found = problems(GOOD.replace("  - name: fence\n", rods + "  - name: fence\n"))
    assert len(found) == 101
    assert found[-1].endswith("and 50 more problems")


def test_a_missing_file_and_one_that_is_no_text_are_refused(tmp_path):
    with pytest.raises(CaseError, match="no case file"):
        load_case(tmp_path / "none.yaml")
    with pytest.raises(CaseError, match="no case file"):
        load_case(tmp_path)
    file = tmp_path / "latin.yaml"
    file.write_bytes("ohmscape: 1\ntitle: Stra\xdfe\n".encode("latin-1"))
    with pytest.raises(CaseError, match=r"^latin\.yaml:2: is not UTF-8 text"):
        load_case(file)
    file.write_bytes(b"#" * 300_000)
    with pytest.raises(BudgetError, match="300,000 bytes; a case file has at most 250,000"):
        load_case(file)


@pytest.mark.parametrize("at", ["[1,5 m, 0 m]", "[0 m, 1,5 m]"])
def test_a_decimal_comma_inside_brackets_is_refused_too(at):
    # YAML splits the list there, so that it grows too long.
    with pytest.raises(CaseError, match="got 3: a decimal comma splits an entry"):
        load_case_text(GOOD.replace("[4 m, 0 m]", at))


def test_a_decimal_comma_inside_a_vertex_is_no_depth():
    run = "{kind: conductor, points: [[0 m, 1,5 m], [9 m, 5 m, 1 m]], diameter: 1 cm}"
    with pytest.raises(CaseError, match="1 needs a unit"):
        load_case_text(GOOD.replace("  - name: fence\n", f"      - {run}\n  - name: fence\n"))
