"""A case being edited: each step says what it should, and leads back to the very text."""

import copy
import random

import pytest

from ohmscape.cases.reading.yaml_edits import alike
from ohmscape.cases.reading.yaml_reader import read_document
from ohmscape.cases.shipped import shipped_case_path
from ohmscape.live.changes import changes_between
from ohmscape.live.document import Edit, EditedCase, Splice
from ohmscape.solver.errors import CaseError

TEXT = """\
# by the mill
title: A yard   # its title
soil:
  layers:
    - {resistivity: 80 ohm*m, thickness: 2 m}  # loam
    - resistivity: 300 ohm*m
electrodes:
  - name: yard
    parts:
      # the first rod
      - kind: rod
        at: [1 m, 2 m]   # by the gate
        length: 3 m
      - {kind: rod, at: [4 m, 2 m], length: 2.5 m}
"""
AT = ("electrodes", 0, "parts", 0, "at")


@pytest.fixture
def case():
    return EditedCase.of(TEXT)


def test_a_value_is_set_where_it_stands(case):
    after = case.with_edit(Edit("set", ("electrodes", 0, "parts", 0, "length"), "4 m"))
    assert after.text == TEXT.replace("length: 3 m", "length: 4 m")
    assert (after.undoable, after.redoable) == (1, 0)
    assert case.text == TEXT  # and the case before it is as it was


def test_all_of_a_drag_is_one_step_and_its_text_follows_when_it_rests(case):
    moved = case
    for x in ("2 m", "3 m", "3.7 m"):
        moved = moved.with_edit(Edit("set", AT, [x, "4.3 m"], moving=True))
        assert moved.text == TEXT
        assert moved.content["electrodes"][0]["parts"][0]["at"] == [x, "4.3 m"]
    rested = moved.with_edit(Edit("set", AT, ["3.7 m", "4.3 m"]))
    assert rested.text == TEXT.replace("[1 m, 2 m]", "[3.7 m, 4.3 m]")
    assert rested.undoable == 1
    assert rested.with_edit(Edit("undo")).text == TEXT
    # An edit of something else ends a drag; giving it up leaves nothing of it.
    other = moved.with_edit(Edit("set", ("title",), "Another"))
    assert other.undoable == 2
    assert "[3.7 m, 4.3 m]" in other.text
    assert moved.with_edit(Edit("drop")).content == case.content


def test_a_drag_back_to_where_it_began_is_no_step(case):
    moved = case.with_edit(Edit("set", AT, ["9 m", "9 m"], moving=True))
    back = moved.with_edit(Edit("set", AT, ["1 m", "2 m"]))
    assert (back.text, back.undoable, back.dragged) == (TEXT, 0, None)


def test_entries_without_names_come_and_go_with_comments_kept(case):
    ring = {"kind": "ring", "centre": ["0 m", "0 m"], "radius": "5 m", "depth": "0.5 m"}
    after = case.with_edit(Edit("add", ("electrodes", 0, "parts"), ring))
    assert after.text == TEXT + (
        "      - kind: ring\n        centre: [0 m, 0 m]\n        radius: 5 m\n"
        "        depth: 0.5 m\n"
    )
    fewer = after.with_edit(Edit("remove", ("electrodes", 0, "parts", 1)))
    assert "# by the gate" in fewer.text
    assert fewer.content["electrodes"][0]["parts"][1:] == [ring]
    assert fewer.with_edit(Edit("discard")).text == TEXT
    again = fewer.with_edit(Edit("discard")).with_edit(Edit("redo")).with_edit(Edit("redo"))
    assert again.text == fewer.text


def test_a_list_that_is_not_there_begins_with_what_is_added(case):
    after = case.with_edit(Edit("add", ("bonds",), {"name": "strap", "closed": True}))
    assert after.text == TEXT + "bonds:\n  - name: strap\n    closed: true\n"


@pytest.mark.parametrize(
    ("edit", "match"),
    [
        (Edit("set", ("soil", "layers", 2, "thickness"), "1 m"), r"soil.layers\[3\].*no value"),
        (Edit("set", ("nothing", "here"), 1), "nothing.here: .*no value"),
        (Edit("add", ("title",), 1), "title: .*no list"),
        (Edit("remove", ("electrodes", 7)), r"electrodes\[8\].*no value"),
        (Edit("undo"), "nothing to undo"),
        (Edit("redo"), "nothing to redo"),
        (Edit("discard"), "nothing to discard"),
    ],
)
def test_what_has_no_place_is_refused(case, edit, match):
    with pytest.raises(CaseError, match=match):
        case.with_edit(edit)


@pytest.mark.parametrize(
    "given",
    [
        {"do": "explode"},
        {"do": "set", "path": "title", "value": 1},
        {"do": "set", "path": [], "value": 1},
        {"do": "set", "path": [-1], "value": 1},
        {"do": "set", "path": [True], "value": 1},
        {"do": "set", "path": ["title"], "value": "\ud800"},
        {"do": "set", "path": ["title"], "value": 10**31},
        {"do": ["set"], "path": ["title"], "value": 1},
    ],
)
def test_what_is_no_edit_is_refused(given):
    with pytest.raises(CaseError):
        Edit.read(given)


def test_an_edit_is_what_its_record_says():
    for edit in (
        Edit("set", ("a", 0), {"b": [1, True]}, moving=True),
        Edit("add", ("a",), None),
        Edit("remove", ("a",)),
        Edit("undo"),
    ):
        assert Edit.read(edit.record()) == edit


def test_true_is_not_one_nor_a_number_its_text(case):
    one = EditedCase.of("a: 1\nb: [1, 2]\n")
    assert one.with_edit(Edit("set", ("a",), True)).text == "a: true\nb: [1, 2]\n"
    assert one.with_edit(Edit("set", ("b", 0), True)).text == "a: 1\nb: [true, 2]\n"
    assert one.with_edit(Edit("set", ("a",), "1")).text == 'a: "1"\nb: [1, 2]\n'
    assert not alike({"a": [1]}, {"a": [True]})
    assert alike({"a": [1.0, "x", None]}, {"a": [1.0, "x", None]})


def test_splices_lead_there_and_back():
    luck = random.Random(20261128)
    for _ in range(300):
        before = "".join(luck.choices("ab\n", k=luck.randint(0, 12)))
        after = "".join(luck.choices("ab\n", k=luck.randint(0, 12)))
        splice = Splice.between(before, after)
        assert splice.done(before) == after
        assert splice.undone(after) == before


@pytest.mark.parametrize("name", ["driven-rod", "substation-grid", "tt-workshop"])
def test_edits_at_random_can_all_be_undone_and_redone(name):
    text = shipped_case_path(name).read_text(encoding="utf-8")
    luck = random.Random(name)
    case, texts = EditedCase.of(text), [text]
    for _ in range(25):
        edit = some_edit(case.content, luck)
        try:
            case = case.with_edit(edit)
        except CaseError:
            continue
        assert alike(read_document(case.text).content, case.content)
        if case.text != texts[-1]:
            texts.append(case.text)
    assert case.undoable == len(texts) - 1 > 10
    last = case
    for expected in reversed(texts[:-1]):
        case = case.with_edit(Edit("undo"))
        assert case.text == expected
    for expected in texts[1:]:
        case = case.with_edit(Edit("redo"))
        assert case.text == expected
    assert alike(case.content, last.content)


def some_edit(content, luck):
    """An edit at a place of a content chosen at random; the case need not be valid then."""
    places = list(every_path(content))
    path = luck.choice(places)
    value = content
    for step in path:
        value = value[step]
    if isinstance(value, list) and luck.random() < 0.5:
        entry = copy.deepcopy(luck.choice(value)) if value else "1 m"
        return Edit("add", path, entry)
    if luck.random() < 0.2:
        return Edit("remove", path)
    return Edit("set", path, luck.choice([7.25, "3.1 m", True, ["1 m"], {"kind": "rod"}]))


def every_path(content, path=()):
    inside = content.items() if isinstance(content, dict) else enumerate(content)
    for step, value in inside:
        yield (*path, step)
        if isinstance(value, dict | list):
            yield from every_path(value, (*path, step))


def test_changes_are_told_by_the_names_of_things(case):
    after = (
        case.with_edit(Edit("set", ("electrodes", 0, "parts", 0, "length"), "4 m"))
        .with_edit(Edit("remove", ("soil", "layers", 0)))
        .with_edit(Edit("set", ("note",), "x" * 100))
        .with_edit(Edit("add", ("electrodes", 0, "parts"), {"kind": "rod", "length": "1 m"}))
    )
    changes = changes_between(case.content, after.content)
    words = [change.words for change in changes]
    assert "electrodes[1] 'yard'.parts[1].length: 3 m → 4 m" in words
    assert any(word.startswith("soil.layers[1]: taken away, was {") for word in words)
    assert any(word.startswith("note: added xxx") and word.endswith("…") for word in words)
    assert any(word.startswith("electrodes[1] 'yard'.parts[3]: added {") for word in words)
    assert len(words) == 4
    assert changes_between(case.content, case.content) == []


def test_named_entries_are_compared_with_those_of_their_name():
    before = {"a": [{"name": "x", "v": 1}, {"name": "y", "v": 2}, {"name": "z", "v": 3}]}
    after = {"a": [{"name": "x", "v": 1}, {"name": "z", "v": 4}]}
    words = [change.words for change in changes_between(before, after)]
    assert words == [
        'a[2] \'y\': taken away, was {"name": "y", "v": 2}',
        "a[2] 'z'.v: 3 → 4",
    ]
