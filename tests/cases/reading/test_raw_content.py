"""Blocks, lists and names of content that may be wrong."""

import pytest

from ohmscape.cases.reading.messages import did_you_mean, not_among
from ohmscape.cases.reading.raw_content import blocks, entries, names

BONDS = {"bonds": [{"name": " tie "}, 3, {"name": ""}, {"name": "tie"}, {"name": 4}]}


def test_only_blocks_count_and_keep_their_places():
    assert [place for place, _ in blocks(BONDS, "bonds")] == [
        ("bonds", 0), ("bonds", 2), ("bonds", 3), ("bonds", 4),
    ]  # fmt: skip
    assert names(BONDS, "bonds") == ["tie"]


@pytest.mark.parametrize("content", [None, 3, [], {"bonds": None}, {"bonds": {"name": "tie"}}])
def test_what_is_no_list_is_passed_over(content):
    assert list(entries(content, "bonds")) == []
    assert names(content, "bonds") == []


def test_a_name_that_nothing_carries_is_told_with_the_names_there_are():
    assert not_among("gird", ["grid", "fence"], what="electrode") == (
        "no electrode 'gird'; did you mean 'grid'? there are 'grid', 'fence'"
    )
    assert not_among("x", [], what="limit") == "no limit 'x'; there are none"
    assert did_you_mean("x" * 10_000, ["grid"]) == ""
