"""What a circuit, a supply and a path may not be."""

import math

import pytest

from ohmscape.solver.circuit import Circuit, Ladder, Path, Supply
from ohmscape.solver.errors import CaseError

FAULT = Supply("grid", current=2600.0)
SOURCE = Supply("rod", voltage=120.0)
NEUTRAL = Path("neutral", ("grid", "remote earth"), impedance=0.9)
LADDER = Ladder(0.2, 15.0, spans=8)


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ({}, "either a voltage or a current"),
        ({"voltage": 1.0, "current": 1.0}, "exactly one of the two"),
        ({"voltage": 0.0}, "supply of 0 V; give an effective value above 0"),
        ({"current": -5.0}, "supply of -5 A"),
        ({"voltage": math.inf}, "supply of inf V"),
        ({"voltage": 1.0, "impedance": -1 + 0j}, "of the supply: its resistance must be >= 0"),
        ({"current": 1.0, "impedance": 1 + 0j}, "a current has no use for an impedance"),
        ({"voltage": 1.0, "returns_at": "rod"}, "goes to 'rod' and returns at 'rod'"),
        ({"voltage": 1.0, "to": "remote earth"}, "must go to an electrode"),
    ],
)
def test_a_wrong_supply_is_refused(keys, message):
    with pytest.raises(CaseError, match=message):
        Supply(**({"to": "rod"} | keys))


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ({}, "path 'p' has either an impedance or a ladder"),
        ({"impedance": 1.0, "ladder": LADDER}, "give one of the two"),
        ({"impedance": 0j}, "path 'p' has no impedance; give it one, or give its two ends one"),
        ({"impedance": complex("nan")}, "of the path 'p': its resistance must be >= 0"),
        ({"impedance": 1.0, "between": ("a", "a")}, "leads from 'a' to itself"),
        ({"ladder": LADDER}, "open at its far end and ends at 'b'; write 'remote earth'"),
        ({"ladder": LADDER, "between": ("remote earth", "a")}, "begins at remote earth"),
        ({"impedance": 1.0, "name": "supply"}, "path 'supply': that name is kept"),
        ({"impedance": 1.0, "name": "other paths"}, "kept for another current"),
        ({"impedance": 1.0, "name": "earth current of a"}, "kept for another current"),
    ],
)
def test_a_wrong_path_is_refused(keys, message):
    with pytest.raises(CaseError, match=message):
        Path(**({"name": "p", "between": ("a", "b")} | keys))


@pytest.mark.parametrize(
    ("supply", "keys", "message"),
    [
        (SOURCE, {"frequency": 0.0}, "frequency of 0 Hz; above 0 and up to 1000 Hz"),
        (SOURCE, {"frequency": 5e3}, "frequency of 5000 Hz"),
        (SOURCE, {"x_over_r": 0.0}, "X/R of 0; it must be above 0"),
        (SOURCE, {"growth_factor": 0.9}, "growth factor of 0.9; it is 1 or more"),
        (FAULT, {"paths": (NEUTRAL, NEUTRAL)}, "path name 'neutral' is used twice"),
        (FAULT, {}, "list the paths, give a split factor, or say that all current is in"),
        (
            FAULT,
            {"paths": (NEUTRAL,), "split_factor": 0.6},
            "the circuit says paths and a split factor; give one of them",
        ),
        (FAULT, {"split_factor": 0.6, "all_current_in_soil": True}, "give one of them"),
        (FAULT, {"split_factor": 1.2}, "split factor of 1.2; it is above 0 and at most 1"),
        (FAULT, {"split_factor": 0.0}, "split factor of 0"),
        (SOURCE, {"split_factor": 0.6}, "give the supply a current, and no return"),
        (
            Supply("grid", current=1.0, returns_at="fence"),
            {"split_factor": 0.6},
            "give the supply a current, and no return",
        ),
    ],
)
def test_a_wrong_circuit_is_refused(supply, keys, message):
    with pytest.raises(CaseError, match=message):
        Circuit(**({"frequency": 60.0, "supply": supply} | keys))


def test_a_voltage_finds_its_own_current():
    # The loop itself is the division: nothing to be said about a fault current.
    assert Circuit(60.0, SOURCE).paths == ()


def test_switching_leaves_the_circuit_as_it_was():
    circuit = Circuit(60.0, FAULT, paths=(NEUTRAL,))
    assert not circuit.switched({"neutral": False}).paths[0].connected
    assert circuit.paths[0].connected
