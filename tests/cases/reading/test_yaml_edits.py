"""Case files edited in place: they say what they should, and keep their comments."""

import copy
import random

import pytest

from ohmscape.cases.reading.yaml_edits import edited
from ohmscape.cases.reading.yaml_reader import read_document
from ohmscape.cases.shipped import shipped_case_path, shipped_cases
from ohmscape.solver.errors import CaseError

TEXT = """\
# on top
title: A yard   # its title
parts:
  - name: grid    # the grid
    meshes: [4, 3]   # along x and y
    size: {x: 9 m, y: 7 m}
  # rods below
  - name: rods
    length: 3 m  # of each
    at:
      - [0 m, 0 m]
      - [3 m, 0 m]
  - {name: post, length: 1 m}
# at the end
last: 1
"""


def changed(change):
    before = read_document(TEXT).content
    after = copy.deepcopy(before)
    change(after)
    text = edited(TEXT, before=before, after=after)
    assert read_document(text).content == after
    return text


def comments(text):
    return [line[line.index("#") :] for line in text.splitlines() if "#" in line]


def test_values_change_in_their_places():
    def change(content):
        content["parts"][0]["meshes"] = [8, 6]
        content["parts"][1]["length"] = "4.5 m"
        content["parts"][2]["length"] = "2 m"
        content["last"] = True

    text = changed(change)
    assert comments(text) == comments(TEXT)
    assert "    meshes: [8, 6]   # along x and y\n" in text
    assert "    length: 4.5 m  # of each\n" in text
    assert "  - {name: post, length: 2 m}\n" in text
    assert len(text.splitlines()) == len(TEXT.splitlines())


def test_entries_are_added_behind_the_last_and_keys_to_their_block():
    def change(content):
        content["parts"].append(
            {"name": "ring", "points": [["0 m", "1 m"]], "list": [{"a": 1}]}
        )
        content["parts"][1]["diameter"] = "16 mm"
        content["note"] = "true: it is #1"

    text = changed(change)
    assert comments(text)[:-1] == comments(TEXT)
    assert "  - name: ring\n    points: [[0 m, 1 m]]\n    list:\n      - a: 1\n" in text
    assert text.index("ring") < text.index("# at the end")
    assert text.rstrip().endswith('note: "true: it is #1"')


def test_entries_are_taken_away_with_their_lines():
    def change(content):
        del content["parts"][1]
        del content["parts"][0]["size"]

    text = changed(change)
    assert "length: 3 m" not in text
    assert "size" not in text
    assert "# rods below" in text


def test_the_first_key_of_an_entry_may_go():
    def change(content):
        content["parts"][0] = {"meshes": [4, 3], "size": {"x": "9 m", "y": "7 m"}}

    assert "  - meshes: [4, 3]" in changed(change) or "meshes: [4, 3]" in changed(change)


def test_a_block_with_a_comment_behind_its_key_may_become_a_value():
    text = "# about\na: 1\nsite:      # where\n  # more\n  x: 2\nlast: 3\n"
    after = {"a": 1, "site": "7 m", "last": 3}
    found = edited(text, before={"a": 1, "site": {"x": 2}, "last": 3}, after=after)
    assert read_document(found).content == after
    assert found.startswith("# about\na: 1\nsite:")


def test_what_cannot_be_edited_is_refused():
    with pytest.raises(CaseError, match="cannot be edited in place"):
        edited(TEXT, before={"title": "another"}, after={"title": "another"})


@pytest.mark.parametrize("name", shipped_cases())
def test_shipped_cases_take_changes_at_random(name):
    text = shipped_case_path(name).read_text(encoding="utf-8")
    before = read_document(text).content
    for seed in range(12):
        luck = random.Random(seed)
        after = copy.deepcopy(before)
        for _ in range(3):
            _disturb(after, luck)
        assert read_document(edited(text, before=before, after=after)).content == after


def _disturb(value, luck):
    """Change, add or take away something somewhere."""
    while True:
        inside = list(value) if isinstance(value, dict) else list(range(len(value)))
        step = luck.choice(inside)
        child = value[step]
        if isinstance(child, dict | list) and child and luck.random() < 0.75:
            value = child
            continue
        if isinstance(value, dict) and len(value) > 1 and luck.random() < 0.3:
            del value[step]
        elif isinstance(value, dict) and luck.random() < 0.4:
            value["added"] = {"name": "x: y", "at": [["1 m", "2 m"]]}
        elif isinstance(value, list) and luck.random() < 0.5:
            value.append(copy.deepcopy(child))
        else:
            value[step] = luck.choice(["7 m", 3, False, "a # b", ["1 m", "2 m"]])
        return


UNNAMED = """\
layers:
  - {thickness: 2 m}  # loam
  # below it
  - thickness: 3 m    # clay
  - thickness: 4 m
names: [{name: a}, {name: b}]
last: 1
"""


def test_entries_without_names_come_and_go_with_comments_kept():
    before = read_document(UNNAMED).content
    after = copy.deepcopy(before)
    after["layers"].append({"thickness": "9 m"})
    text = edited(UNNAMED, before=before, after=after)
    assert text == UNNAMED.replace(
        "  - thickness: 4 m\n", "  - thickness: 4 m\n  - thickness: 9 m\n"
    )
    del after["layers"][0], after["layers"][1]
    text = edited(UNNAMED, before=before, after=after)
    assert text.startswith("layers:\n  # below it\n  - thickness: 3 m    # clay\n")
    assert read_document(text).content == after


def test_a_list_in_one_line_may_get_an_entry_with_a_name():
    before = read_document(UNNAMED).content
    after = copy.deepcopy(before)
    after["names"].append({"name": "c"})
    text = edited(UNNAMED, before=before, after=after)
    assert text == UNNAMED.replace("{name: b}]", "{name: b}, {name: c}]")


def test_one_may_become_true():
    before = read_document(UNNAMED).content
    text = edited(UNNAMED, before=before, after={**before, "last": True})
    assert text == UNNAMED.replace("last: 1", "last: true")
