"""Division of the current: by hand, by published examples, and by what must be true."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.circuit import (
    REMOTE_EARTH,
    Circuit,
    Ladder,
    Path,
    Supply,
    operate,
    operating,
)
from ohmscape.solver.errors import CaseError, TrustError

ROUND_OFF = 1e-12


def soil(*own, mutual=()):
    """Current matrix of electrodes with these resistances; `mutual`: (i, k, ohm)."""
    resistance = np.diag(np.array(own, dtype=float))
    for i, k, ohm in mutual:
        resistance[i, k] = resistance[k, i] = ohm
    return np.linalg.inv(resistance)


def solved(supply, *, matrix, names, paths=(), bonds=(), **keys):
    circuit = Circuit(keys.pop("frequency", 60.0), supply, paths=tuple(paths), **keys)
    return operate(circuit, current_matrix=matrix, group_names=names, bonds=bonds)


# --- by hand


def test_a_path_beside_the_electrode_divides_the_current_by_impedance():
    metal = 0.9 + 1.3j
    found = solved(
        Supply("grid", current=3180.0),
        matrix=soil(2.78),
        names=("grid",),
        paths=[Path("shield", ("grid", REMOTE_EARTH), impedance=metal)],
    )
    assert_allclose(found.split_factor, abs(metal / (metal + 2.78)), rtol=ROUND_OFF)
    assert_allclose(found.share("shield"), abs(2.78 / (metal + 2.78)), rtol=ROUND_OFF)
    assert_allclose(found.driving_impedance, metal * 2.78 / (metal + 2.78), rtol=ROUND_OFF)
    assert_allclose(found.earth_current + found.current_through("shield"),
                    found.supply_current, rtol=ROUND_OFF)  # fmt: skip


def test_series_and_parallel_by_hand():
    # 230 V behind 0.4 + 0.3j, then 6.1 Ω beside (1.2 to a node, from it 3.3 and 4.7j).
    source, rod, lead, left, right = 0.4 + 0.3j, 6.1, 1.2, 3.3, 4.7j
    found = solved(
        Supply("rod", voltage=230.0, impedance=source),
        matrix=soil(rod),
        names=("rod",),
        paths=[
            Path("lead", ("rod", "hub"), impedance=lead),
            Path("left", ("hub", REMOTE_EARTH), impedance=left),
            Path("right", (REMOTE_EARTH, "hub"), impedance=right),
        ],
    )
    behind = lead + 1 / (1 / left + 1 / right)
    whole = source + 1 / (1 / rod + 1 / behind)
    current = 230.0 / whole
    rise = 230.0 - source * current
    turn = np.conj(rise) / abs(rise)
    assert_allclose(found.supply_current, current * turn, rtol=ROUND_OFF)
    assert_allclose(found.point.voltage, [abs(rise)], rtol=ROUND_OFF)
    hub = rise * (1 - lead / behind)
    assert found.nodes == ("hub",)
    assert_allclose(found.node_voltage, [hub * turn], rtol=ROUND_OFF)
    assert_allclose(found.current_through("right"), -hub * turn / right, rtol=ROUND_OFF)
    assert_allclose(found.supply_power, 230.0 * np.conj(current), rtol=ROUND_OFF)


def test_a_loop_over_two_electrodes_counts_their_mutual_resistance_twice():
    # R_A + R_B − 2 R_AB + conductors: the return stands in the field of the first.
    own_a, own_b, shared, wires = 109.0, 5.2, 1.7, 0.46
    found = solved(
        Supply("workshop", voltage=230.0, impedance=wires, returns_at="source earth"),
        matrix=soil(own_a, own_b, mutual=[(0, 1, shared)]),
        names=("workshop", "source earth"),
        frequency=50.0,
    )
    current = 230.0 / (own_a + own_b - 2 * shared + wires)
    assert_allclose(found.fault_current, current, rtol=ROUND_OFF)
    assert_allclose(
        found.point.voltage, [current * (own_a - shared), current * (shared - own_b)],
        rtol=1e-11,
    )  # fmt: skip
    assert_allclose(found.point.current, [current, -current], rtol=1e-11)
    assert_allclose(found.split_factor, 1.0, rtol=1e-11)
    assert_allclose(found.point.resistance, [[own_a, shared], [shared, own_b]], rtol=1e-11)


def test_one_model_is_rod_only_protective_conductor_and_open_neutral():
    matrix, names = soil(47.5), ("rod",)
    supply = Supply("rod", voltage=120.0, impedance=0.3, returns_at="neutral")
    paths = (
        Path("service electrode", ("neutral", REMOTE_EARTH), impedance=2.0),
        Path("protective conductor", ("rod", "neutral"), impedance=0.21, connected=False),
    )
    rod_only = Circuit(60.0, supply, paths=paths)
    alone = operate(rod_only, current_matrix=matrix, group_names=names)
    # By hand: 120 V over 49.8 Ω; 2.41 A, 114 V on the rod, 276 W in its soil.
    assert_allclose(alone.fault_current, 120 / 49.8, rtol=ROUND_OFF)
    assert_allclose(alone.point.voltage, [114.46], atol=0.01)
    assert_allclose(alone.point.power, 275.8, atol=0.1)
    assert alone.current_through("protective conductor") == 0
    with_conductor = operate(
        rod_only.switched({"protective conductor": True, "a bond elsewhere": False}),
        current_matrix=matrix,
        group_names=names,
    )
    loop = 0.3 + 1 / (1 / 0.21 + 1 / 49.5)
    assert_allclose(with_conductor.fault_current, 120 / loop, rtol=ROUND_OFF)
    assert with_conductor.split_factor < 0.005
    with pytest.raises(CaseError, match=r"loop of the supply is open.*connect 'service"):
        operate(
            rod_only.switched({"service electrode": False}),
            current_matrix=matrix,
            group_names=names,
        )


def test_an_open_neutral_sends_the_load_current_through_the_rod():
    # A load of 24 Ω between the 240 V supply and the panel, whose rod is 31 Ω.
    def rise(*, connected):
        neutral = Path("neutral", ("panel", REMOTE_EARTH), impedance=0.12, connected=connected)
        found = solved(
            Supply("hot", voltage=240.0),
            matrix=soil(31.0),
            names=("panel",),
            paths=[Path("load", ("hot", "panel"), impedance=24.0), neutral],
        )
        return found.point.voltage[0]

    assert_allclose(rise(connected=True), 240 * 0.11954 / 24.11954, rtol=1e-4)
    assert_allclose(rise(connected=False), 240 * 31 / 55, rtol=ROUND_OFF)


# --- published and standard values


def test_split_of_the_worked_example():
    # IEEE Std 80-2000 Annex B.1 (from memory): 3180 A, split 0.6 → 1908 A, times 2.78 → 5304 V.
    found = solved(
        Supply("grid", current=3180.0), matrix=soil(2.78), names=("grid",), split_factor=0.6
    )
    assert_allclose(abs(found.earth_current), 1908.0, rtol=ROUND_OFF)
    assert_allclose(found.point.voltage, [5304.0], atol=0.5)
    assert_allclose(found.split_factor, 0.6, rtol=ROUND_OFF)
    assert_allclose(found.current_through("other paths"), 1272.0, rtol=ROUND_OFF)
    assert_allclose(found.share("other paths"), 0.4, rtol=ROUND_OFF)


def test_120_volts_on_a_rod_of_25_ohm():
    # Common practice, no source: 4.8 A, which no 15 A breaker opens at.
    found = solved(Supply("rod", voltage=120.0), matrix=soil(25.0), names=("rod",))
    assert_allclose(found.fault_current, 4.8, rtol=ROUND_OFF)


# --- a ladder in the network, against the same ladder spelled out


SPAN, FOOTING = 0.31 + 0.47j, 13.7


def spelled_out(spans, *, near, far=None, broken_after=None):
    """Paths of a ladder, one for each span and each ground."""
    paths, here = [], near
    for k in range(spans):
        last = k == spans - 1
        there = far if last and far else f"pole {k + 1}"
        cut = k == broken_after
        paths.append(Path(f"span {k + 1}", (here, there), impedance=SPAN, connected=not cut))
        if not (last and far):
            ground = (there, REMOTE_EARTH)
            paths.append(Path(f"ground {k + 1}", ground, impedance=FOOTING))
        here = there
    return paths


@pytest.mark.parametrize("broken_after", [None, 0, 3])
@pytest.mark.parametrize("far", [None, "far station"])
def test_a_ladder_is_its_spans_and_grounds(far, broken_after):
    names, matrix = ("station", "far station"), soil(1.9, 0.7, mutual=[(0, 1, 0.05)])
    supply = Supply("station", voltage=900.0, impedance=0.2 + 1.4j, returns_at="far station")
    ladder = Ladder(
        SPAN, FOOTING, spans=6, end="closed" if far else "open", broken_after=broken_after
    )
    whole = Path("line", ("station", far or REMOTE_EARTH), ladder=ladder)
    spelled = spelled_out(6, near="station", far=far, broken_after=broken_after)
    one = solved(supply, matrix=matrix, names=names, paths=[whole])
    two = solved(supply, matrix=matrix, names=names, paths=spelled)
    assert_allclose(one.supply_current, two.supply_current, rtol=1e-11)
    assert_allclose(one.point.voltage, two.point.voltage, rtol=1e-11)
    (line,) = one.branches
    assert_allclose(line.current, two.current_through("span 1"), rtol=1e-10, atol=1e-10)
    if far:
        last = two.current_through("span 6")
        assert_allclose(line.far_current, last, rtol=1e-10, atol=1e-10)
    assert_allclose(line.loss, sum(branch.loss for branch in two.branches), rtol=1e-10)


def test_a_break_in_a_grounded_neutral_raises_the_station():
    def rise(broken_after):
        ladder = Ladder(0.05 + 0.04j, 25.0, spans=40, broken_after=broken_after)
        found = solved(
            Supply("kiosk", current=600.0),
            matrix=soil(8.0),
            names=("kiosk",),
            paths=[Path("neutral", ("kiosk", REMOTE_EARTH), ladder=ladder)],
        )
        return abs(found.point.voltage[0])

    rises = [rise(k) for k in (None, 12, 3, 1, 0)]
    assert (np.diff(rises) > 0).all()
    assert_allclose(rises[-1], 600 * 8.0, rtol=ROUND_OFF)


# --- what must be true


NAMES = ("grid", "fence", "well", "neighbour")
MATRIX = soil(
    1.53, 14.0, 33.0, 4.1, mutual=[(0, 1, 0.9), (0, 2, 0.2), (1, 3, 0.3), (0, 3, 0.11)]
)
PATHS = (
    Path("sheath", ("grid", "neighbour"), impedance=0.35 + 0.22j),
    Path("neutral", ("grid", "hub"), impedance=0.18 + 0.3j),
    Path("pump cable", ("hub", "well"), impedance=0.7 + 0.05j),
    Path(
        "shield wire",
        ("grid", "neighbour"),
        ladder=Ladder(0.27 + 0.6j, 12.0, spans=14, end="closed"),
    ),
    Path("service", ("hub", REMOTE_EARTH), ladder=Ladder(0.09 + 0.1j, 30.0)),
)


@pytest.fixture(params=["current", "voltage"])
def tangle(request):
    drive = {"current": 2600.0} if request.param == "current" else {"voltage": 6e3}
    if request.param == "voltage":
        drive["impedance"] = 0.4 + 2.1j
    supply = Supply("grid", **drive, returns_at="neighbour")
    return solved(supply, matrix=MATRIX, names=NAMES, paths=PATHS, bonds=[(0, 1)])


def test_currents_add_up_at_every_node(tangle):
    of = tangle.current_through
    currents = {branch.name: branch for branch in tangle.branches}
    grid = of("earth current of grid") + of("earth current of fence")
    assert_allclose(of("supply"), grid + of("sheath") + of("neutral") + of("shield wire"))
    assert_allclose(of("neutral"), of("pump cable") + of("service"))
    assert_allclose(of("pump cable"), of("earth current of well"))
    arriving = of("sheath") + currents["shield wire"].far_current
    assert_allclose(arriving, of("supply") + of("earth current of neighbour"))
    assert tangle.residual < 1e-12


def test_bonded_electrodes_share_one_voltage_and_one_split(tangle):
    voltage = tangle.point.voltage
    assert voltage[0] == voltage[1]
    assert tangle.struck == (0, 1)
    assert_allclose(tangle.earth_current, tangle.point.current[:2].sum(), rtol=ROUND_OFF)


def test_power_of_the_supply_is_that_of_soil_and_paths(tangle):
    taken = tangle.point.power + sum(branch.loss for branch in tangle.branches)
    assert_allclose(tangle.supply_power.real, taken + tangle.supply_loss, rtol=1e-12)
    assert all(branch.loss > 0 for branch in tangle.branches)
    assert tangle.point.power > 0


def test_the_largest_rise_is_the_reference_of_phase(tangle):
    largest = np.abs(tangle.point.voltage).argmax()
    assert tangle.point.voltage[largest].real > 0
    assert tangle.point.voltage[largest].imag == 0
    assert np.iscomplexobj(tangle.point.voltage)  # reactances put the others out of phase


def test_everything_scales_with_the_supply():
    def at(current):
        supply = Supply("grid", current=current, returns_at="neighbour")
        return solved(supply, matrix=MATRIX, names=NAMES, paths=PATHS)

    one, ten = at(173.0), at(1730.0)
    assert_allclose(ten.point.voltage, 10 * one.point.voltage, rtol=ROUND_OFF)
    assert_allclose(ten.supply_power, 100 * one.supply_power, rtol=ROUND_OFF)
    assert_allclose(ten.split_factor, one.split_factor, rtol=ROUND_OFF)


def test_a_voltage_supply_is_the_current_supply_it_draws():
    by_voltage = solved(
        Supply("grid", voltage=6e3, impedance=0.4 + 2.1j),
        matrix=MATRIX,
        names=NAMES,
        paths=PATHS,
    )
    by_current = solved(
        Supply("grid", current=by_voltage.fault_current),
        matrix=MATRIX,
        names=NAMES,
        paths=PATHS,
    )
    assert_allclose(by_current.point.voltage, by_voltage.point.voltage, rtol=1e-11)
    assert_allclose(by_current.driving_impedance, by_voltage.driving_impedance, rtol=1e-11)


def test_reciprocity_between_two_places():
    # The rise of the well with current into the neighbour is that the other way round.
    def transfer(fed, seen):
        supply = Supply(fed, current=100.0)
        found = solved(supply, matrix=MATRIX, names=NAMES, paths=PATHS)
        drawn = found.point.voltage[NAMES.index(seen)] / found.supply_current
        return complex(drawn)

    there, back = transfer("well", "neighbour"), transfer("neighbour", "well")
    assert abs(there.imag) > 1e-3 * abs(there)
    assert_allclose(there, back, rtol=1e-11)


def test_electrodes_that_nothing_names_float():
    found = solved(Supply("grid", current=10.0), matrix=MATRIX, names=NAMES,
                   all_current_in_soil=True)  # fmt: skip
    assert_allclose(found.point.current, [10, 0, 0, 0], atol=1e-12)
    assert_allclose(found.point.voltage, 10 * found.point.resistance[:, 0], rtol=1e-12)
    assert not np.iscomplexobj(found.point.voltage)


def test_a_better_electrode_draws_a_larger_share():
    # Its rise falls less than its resistance does: the division must be solved again.
    def at(resistance):
        return solved(
            Supply("grid", current=1000.0),
            matrix=soil(resistance),
            names=("grid",),
            paths=[Path("neutral", ("grid", REMOTE_EARTH), impedance=1.3)],
        )

    poor, good = at(4.0), at(2.0)
    assert good.split_factor > poor.split_factor
    assert 0.5 < good.point.voltage[0] / poor.point.voltage[0] < 1.0


def test_a_fault_on_metal_above_ground_strikes_the_electrode_that_takes_it():
    found = solved(
        Supply("frame", voltage=230.0, returns_at="transformer"),
        matrix=soil(40.0, 3.0),
        names=("transformer", "rod"),
        paths=[Path("earthing conductor", ("frame", "rod"), impedance=0.05)],
    )
    assert found.struck == (1,)
    assert_allclose(found.split_factor, 1.0, rtol=1e-12)


def test_what_is_cut_off_has_no_voltage_and_no_current():
    found = solved(
        Supply("grid", current=10.0),
        matrix=soil(5.0),
        names=("grid",),
        paths=[
            Path("first", ("grid", "pole"), impedance=1.0, connected=False),
            Path("second", ("pole", "shed"), impedance=1.0),
            Path("third", ("shed", REMOTE_EARTH), impedance=1.0, connected=False),
        ],
    )
    assert np.isnan(found.node_voltage).all()
    assert [found.share(f"{name}") for name in ("first", "second", "third")] == [0, 0, 0]


def test_a_ladder_of_one_closed_span_has_no_ground():
    paths = [Path("lead", ("frame", "rod"), ladder=Ladder(0.2, 9.0, spans=1, end="closed"))]
    supply = Supply("frame", voltage=12.0)
    found = solved(supply, matrix=soil(3.8), names=("rod",), paths=paths)
    assert_allclose(found.fault_current, 12.0 / 4.0, rtol=ROUND_OFF)


# --- refusals


def test_a_node_that_leads_nowhere_is_refused():
    with pytest.raises(CaseError, match=r"'gird' is no electrode, .* did you mean 'grid'\?"):
        solved(
            Supply("grid", current=10.0),
            matrix=soil(5.0),
            names=("grid",),
            paths=[Path("neutral", ("gird", REMOTE_EARTH), impedance=1.0)],
        )


def test_an_electrode_named_as_the_reference_is_refused():
    names = ("grid", "remote earth")
    with pytest.raises(CaseError, match=r"an electrode is named 'remote earth'.*rename it"):
        solved(Supply("grid", voltage=1.0), matrix=soil(5.0, 6.0), names=names)


def test_a_supply_between_bonded_electrodes_is_refused():
    with pytest.raises(CaseError, match="bonds join 'a' and 'b', between which the supply"):
        solved(
            Supply("a", voltage=1.0, returns_at="b"),
            matrix=soil(5.0, 6.0),
            names=("a", "b"),
            bonds=[(1, 0)],
        )


def test_a_loop_without_soil_is_refused():
    with pytest.raises(CaseError, match="of the supply is open: nothing leads from 'x' back"):
        solved(
            Supply("x", voltage=1.0, returns_at="y"),
            matrix=soil(5.0),
            names=("a",),
            paths=[Path("heater", ("x", "y"), impedance=10.0)],
        )
    with pytest.raises(CaseError, match="closes its loop through metal alone"):
        solved(
            Supply("x", voltage=1.0, returns_at="a"),
            matrix=soil(5.0),
            names=("a",),
            paths=[Path("heater", ("x", "a"), impedance=10.0)],
        )


def test_impedances_that_cancel_are_refused():
    # A coil and a capacitor in series short a voltage that has no impedance of its own.
    with pytest.raises(TrustError, match="impedances of opposite sign cancel in it"):
        solved(
            Supply("a", voltage=1.0),
            matrix=soil(5.0),
            names=("a",),
            paths=[
                Path("coil", ("a", "b"), impedance=2j),
                Path("capacitor", ("b", REMOTE_EARTH), impedance=-2j),
            ],
        )


@pytest.mark.parametrize("what", ["currents", "power"])
def test_a_balance_that_is_missed_is_refused(what, monkeypatch):
    monkeypatch.setattr(operating, "balance_limit", -1.0 if what == "currents" else 1e-30)
    if what == "power":  # a supply of one branch balances its node exactly
        extra = operating.Branch("x", ("a", "b"), True, 0j, 0j, 9.0)
        monkeypatch.setattr(operating, "_branches", lambda *_: (extra,))
    with pytest.raises(TrustError, match=rf"{what} of the fault circuit miss their balance"):
        solved(Supply("a", voltage=1.0), matrix=soil(5.0), names=("a",))


def test_an_unknown_current_is_refused_with_the_known_ones():
    found = solved(Supply("rod", voltage=1.0), matrix=soil(5.0), names=("rod",))
    assert found.current_names == ("supply", "earth current of rod")
    with pytest.raises(CaseError, match="no current 'neutral'; there are 'supply', 'earth c"):
        found.current_through("neutral")
