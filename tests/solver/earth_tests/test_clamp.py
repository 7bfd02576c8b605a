"""Two clamps by hand: loops of resistances."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.circuit import Ladder
from ohmscape.solver.circuit.model import REMOTE_EARTH, Path
from ohmscape.solver.earth_tests import Network, clamp_reading
from ohmscape.solver.errors import CaseError, TrustError

# A pole ground and a far one, without mutual resistance.
GROUNDS = np.diag([1 / 36.0, 1 / 25.0])
NAMES = ("pole", "house")


def neutral(impedance=0.8, **keys):
    return Path("neutral", ("pole", REMOTE_EARTH), impedance=complex(impedance), **keys)


def test_the_reading_is_the_ground_and_all_others_behind_the_neutral():
    found = clamp_reading(GROUNDS, around="pole", groups=NAMES, paths=[neutral()])
    assert_allclose(found.reading, 36.8)
    assert_allclose(found.true_resistance, 36.0)
    assert_allclose(found.rest, 0.8)
    assert_allclose(found.error, 0.8 / 36)
    assert not found.metal_loop


def test_many_grounds_in_parallel_hardly_add():
    paths = [Path(f"ground {k}", ("pole", REMOTE_EARTH), impedance=25 + 0j) for k in range(50)]
    found = clamp_reading(GROUNDS, around="pole", groups=NAMES, paths=paths)
    assert_allclose(found.reading, 36.5)


def test_a_ladder_counts_with_its_input_impedance():
    ladder = Ladder(span=0.1 + 0.2j, footing=25.0, spans=None)
    path = Path("line", ("pole", REMOTE_EARTH), ladder=ladder)
    found = clamp_reading(GROUNDS, around="pole", groups=NAMES, paths=[path])
    assert_allclose(found.reading, abs(36.0 + ladder.input_impedance), rtol=1e-9)


@pytest.mark.parametrize("ends", [("pole", REMOTE_EARTH), (REMOTE_EARTH, "pole")])
def test_behind_a_clamp_on_a_path_lies_the_path_however_it_is_written(ends):
    path = Path("neutral", ends, impedance=0.8 + 0j)
    found = clamp_reading(GROUNDS, around="neutral", groups=NAMES, paths=[path])
    assert_allclose(found.reading, 36.8)
    assert_allclose(found.rest, 0.8)


def test_a_single_rod_has_no_loop():
    found = clamp_reading(GROUNDS, around="pole", groups=NAMES)
    assert math.isinf(found.reading)
    assert math.isinf(found.rest)
    assert found.error is None


def test_an_open_neutral_has_no_loop():
    off = neutral(connected=False)
    for around in ("pole", "neutral"):
        found = clamp_reading(GROUNDS, around=around, groups=NAMES, paths=[off])
        assert math.isinf(found.reading)


def test_two_bonded_electrodes_add_with_their_mutual_resistance_taken_off_twice():
    soil = np.linalg.inv(np.array([[36.0, 4.0], [4.0, 25.0]]))
    found = clamp_reading(soil, around="pole", groups=NAMES, bonds=[("pole", "house")])
    # Current I down one and up the other: 36 + 25 - 2 * 4.
    assert_allclose(found.reading, 53.0)
    assert_allclose(found.true_resistance, 36.0)
    assert not found.metal_loop


def test_a_loop_of_metal_says_nothing_about_the_soil():
    wires = [
        Path("bonding lead", ("pole", "panel"), impedance=0.02 + 0j),
        Path("bonding bar", ("panel", "pole"), impedance=0.03 + 0j),
    ]
    found = clamp_reading(GROUNDS, around="bonding lead", groups=NAMES, paths=wires)
    assert found.metal_loop
    assert_allclose(found.reading, 0.05)


def test_clamps_round_a_path_read_it_with_what_it_joins():
    found = clamp_reading(
        GROUNDS,
        around="link",
        groups=NAMES,
        paths=[neutral(), Path("link", ("pole", "house"), impedance=0.4 + 0j)],
    )
    assert_allclose(found.reading, 0.4 + 25 + 1 / (1 / 36 + 1 / 0.8))
    assert found.true_resistance is None
    assert found.error is None


def test_a_path_that_begins_at_remote_earth_is_clamped_at_its_other_end():
    path = Path("neutral", (REMOTE_EARTH, "pole"), impedance=0.8 + 0j)
    found = clamp_reading(GROUNDS, around="neutral", groups=NAMES, paths=[path])
    assert_allclose(found.reading, 36.8)


def test_what_is_not_there_cannot_be_clamped():
    message = "no electrode or path 'nutral' to clamp; there are 'pole'"
    with pytest.raises(CaseError, match=message):
        clamp_reading(GROUNDS, around="nutral", groups=NAMES, paths=[neutral()])


def test_impedances_that_cancel_are_told():
    # A loop without resistance round which nothing is left.
    paths = [
        Path("one", ("pole", "node"), impedance=1j),
        Path("two", ("node", "other"), impedance=1j),
        Path("three", ("other", "pole"), impedance=-2j),
    ]
    network = Network.of(GROUNDS, groups=NAMES, paths=paths)
    with pytest.raises(TrustError, match="impedances cancel"):
        network.voltages({"pole": 1.0})


def test_voltages_are_those_of_a_divider():
    path = Path("link", ("pole", "house"), impedance=4.0 + 0j)
    network = Network.of(GROUNDS, groups=NAMES, paths=[path])
    pole, house = network.voltages({"pole": 2.0})
    through = 2.0 * 36 / (36 + 4 + 25)
    assert_allclose([pole, house], [(2 - through) * 36, through * 25])
    assert network.impedance_between("pole", "nowhere") == math.inf
