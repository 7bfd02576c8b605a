"""Names, bonds and drives that must fit one another."""

from itertools import pairwise

import pytest

from ohmscape.cases.loading import case_from
from ohmscape.solver.errors import CaseError

VOLT, AMPERE = {"voltage": "1 V"}, {"current": "1 A"}
FLOAT = {"floating": True}


@pytest.fixture
def bonded(content, rod):
    """Case of rods 5 m apart with these drives, bonded in a row."""

    def build(*drives, closed=True, between=None):
        names = "abcdef"[: len(drives)]
        pairs = between or [list(pair) for pair in pairwise(names)]
        electrodes = [
            {"name": name, "drive": drive, "parts": [rod | {"at": [f"{5 * k} m", "0 m"]}]}
            for k, (name, drive) in enumerate(zip(names, drives, strict=True))
        ]
        bonds = [
            {"name": f"bond {x}{y}", "between": [x, y], "closed": closed} for x, y in pairs
        ]
        return case_from(content(electrodes=electrodes, bonds=bonds))

    return build


@pytest.mark.parametrize(
    "drives",
    [
        (VOLT, FLOAT),
        (FLOAT, FLOAT, AMPERE),
        (AMPERE, {"current": "-3 kA"}),  # they add up
        (VOLT, FLOAT, {"voltage": "1000 mV"}),  # the same voltage in another unit
    ],
)
def test_drives_that_agree_may_be_bonded(drives, bonded):
    assert all(bond.closed for bond in bonded(*drives).bonds)


@pytest.mark.parametrize(
    ("drives", "who", "why"),
    [
        ((VOLT, AMPERE), r"bonds\[1\] 'bond ab'", "'a' and 'b', driven by voltage and by cur"),
        ((VOLT, {"voltage": "2 V"}), r"bonds\[1\] 'bond ab'", "by different voltages"),
        ((VOLT, FLOAT, AMPERE), r"bonds\[2\] 'bond bc'", "'a' and 'c', driven by voltage and"),
    ],
)
def test_bonds_that_contradict_the_drives_are_refused(drives, who, why, bonded):
    with pytest.raises(CaseError, match=f"{who}: closed, it joins .*{why}"):
        bonded(*drives)
    assert not any(bond.closed for bond in bonded(*drives, closed=False).bonds)


def test_groups_stay_apart_and_bonds_name_them_by_number(bonded):
    case = bonded(VOLT, FLOAT, FLOAT, between=[["c", "a"]])
    assert case.bonds[0].groups == (2, 0)
    assert case.conductors.group.tolist() == [0, 1, 2]


def test_a_bond_to_itself_is_refused(bonded):
    with pytest.raises(CaseError, match=r"between: joins 'a' to itself; name two electrodes"):
        bonded(VOLT, FLOAT, between=[["a", "a"]])


@pytest.mark.parametrize("drive", [FLOAT, {"voltage": "0 V"}, {"current": "0.0 kA"}])
def test_a_case_in_which_nothing_is_driven_is_refused(drive, bonded):
    with pytest.raises(CaseError, match=r"electrodes: no electrode is driven; give one a volt"):
        bonded(drive, FLOAT)


def test_a_drive_that_cannot_be_read_is_one_problem_not_two(bonded):
    with pytest.raises(CaseError) as refused:
        bonded({"voltage": "0,5 V"}, FLOAT)
    (problem,) = refused.value.problems
    assert "has a comma" in problem.message


def test_rods_hang_only_from_a_part_that_is_there(case_with, rod):
    ring = {
        "kind": "ring",
        "name": "ring",
        "centre": ["0 m", "0 m"],
        "ring_radius": "3 m",
        "depth": "0.5 m",
        "diameter": "8 mm",
    }
    rods = {"kind": "rods", "length": "2 m", "diameter": "16 mm"}
    hanging = rods | {"along": {"part": "rign", "count": 3}}
    message = (
        r"parts\[2\]\.along\.part: no part of this electrode to hang from 'rign'; did you mean "
        r"'ring'\? there are 'ring'"
    )
    with pytest.raises(CaseError, match=message):
        case_with(ring, hanging)
    with pytest.raises(CaseError, match=r"there are none"):
        case_with(rod, hanging)
    with pytest.raises(CaseError, match=r"nodes: 'ring' is no grid; name a grid of the same"):
        case_with(ring, rods | {"nodes": {"part": "ring"}})


@pytest.mark.parametrize(
    ("blocks", "message"),
    [
        (
            {"study": {"touch": [{"name": "tap", "electrode": "mian", "footprint": True}]}},
            r"study\.touch\[1\] 'tap'\.electrode: no electrode 'mian'; did you mean 'main'\?",
        ),
        (
            {"bonds": [{"name": "b", "between": ["main", "fence"], "closed": False}]},
            r"bonds\[1\] 'b'\.between\[2\]: no electrode 'fence'; there are 'main'",
        ),
        (
            {
                "study": {
                    "profiles": [
                        {"name": "out", "start": ["0 m", "0 m"], "end": [f"{x} m", "0 m"]}
                        for x in (5, 6)
                    ]
                }
            },
            r"profiles\[2\] 'out': profile name 'out' is taken by study\.profiles\[1\] 'out'",
        ),
    ],
)
def test_names_must_exist_and_be_used_once(blocks, message, case_with):
    with pytest.raises(CaseError, match=message):
        case_with(**blocks)


def test_parts_of_two_electrodes_cannot_share_a_name(case_with, two_electrodes, rod):
    first, second = rod | {"name": "post"}, rod | {"name": "post", "at": ["5 m", "0 m"]}
    message = r"part name 'post' is taken by electrodes\[1\] 'station'\.parts\[1\] 'post'"
    with pytest.raises(CaseError, match=message):
        case_with(electrodes=two_electrodes([first], [second]))
