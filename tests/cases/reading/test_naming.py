"""Marked fields are found in a document, whatever else is wrong with it."""

from typing import Annotated, Literal

import pytest
from pydantic import Field

from ohmscape.cases.loading import case_from
from ohmscape.cases.reading import fields as f
from ohmscape.cases.reading.blocks import Block
from ohmscape.cases.reading.naming import ElectrodeName, marked, names_a, refers_to
from ohmscape.solver.errors import CaseError


class Gate(Block):
    kind: Literal["gate"]
    name: Annotated[f.Name, names_a("barrier")]
    posts: tuple[ElectrodeName, ElectrodeName] | None = None


class Wall(Block):
    kind: Literal["wall"]
    name: Annotated[f.Name, names_a("barrier")]
    beside: Annotated[f.Name, refers_to("barrier")] = Field("", alias="next to")


class Yard(Block):
    barriers: Annotated[
        tuple[Annotated[Gate | Wall, Field(discriminator="kind")], ...], Field(max_length=9)
    ] = ()
    main: Annotated[f.Name, refers_to("barrier")] | None = None


def test_names_are_found_in_lists_choices_and_aliases_with_their_places():
    content = {
        "barriers": [
            {"kind": "gate", "name": " east ", "posts": ["a", 3, "b"]},
            {"kind": "wall", "name": "south", "next to": "east"},
            {"kind": "fence", "name": "west"},  # no such kind: its name counts nevertheless
        ],
        "main": "south",
    }
    declared, referring = marked(content, Yard)
    assert [(one.place, one.name) for one in declared] == [
        (("barriers", 0, "name"), "east"),
        (("barriers", 1, "name"), "south"),
        (("barriers", 2, "name"), "west"),
    ]
    assert [(one.place, one.name) for one in referring] == [
        (("barriers", 0, "posts", 0), "a"),
        (("barriers", 0, "posts", 2), "b"),
        (("barriers", 1, "next to"), "east"),
        (("main",), "south"),
    ]
    assert {one.mark.what for one in referring} == {"electrode", "barrier"}


@pytest.mark.parametrize(
    "content",
    [None, [], {"barriers": {"name": "x"}}, {"barriers": [3, {"name": " "}]}, {"main": ["x"]}],
)
def test_what_has_another_form_is_passed_over(content):
    assert marked(content, Yard) == ([], [])


def test_names_of_devices_and_traverses_are_told_beside_wrong_units(content, rod):
    line = {
        "name": "n",
        "array": "wenner",
        "readings": [{"spacing": "2", "resistance": "8 ohm"}],
    }
    device = {"name": "d", "measures": "supply", "fixed": {"clearing_time": "1 s"}}
    given = content(rod, protection=[device, device])
    given["soil"] = {"survey": {"traverses": [line, line]}}
    # The same name in another soil is another traverse.
    other = {"survey": {"traverses": [line | {"name": "n"}]}}
    given["variants"] = [{"name": "dry", "soil": other}]
    with pytest.raises(CaseError) as refused:
        case_from(given)
    found = {problem.path: problem.message for problem in refused.value.problems}
    assert found["soil.survey.traverses[2] 'n'"] == (
        "traverse name 'n' is taken by soil.survey.traverses[1] 'n'; give each its own"
    )
    assert found["protection[2] 'd'"] == (
        "device name 'd' is taken by protection[1] 'd'; give each its own"
    )
    assert "soil.survey.traverses[1] 'n'.readings[1].spacing" in found
    assert "variants[1] 'dry'.soil.survey.traverses[1] 'n'" not in found
