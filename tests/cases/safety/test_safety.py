"""The safety block: limits, surface layers and exposures as the solver takes them."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.errors import CaseError
from ohmscape.solver.limits import (
    En50522,
    Iec60479,
    Ieee80,
    Livestock,
    OwnCurrent,
    OwnVoltage,
)
from ohmscape.solver.model import Soil
from ohmscape.solver.polygons import nearest_on_segments, on_or_inside

PUBLIC = {"name": "public", "ieee_80": {}}
TOUCH = {"name": "at the rod", "touch": "main", "limit": "public"}
SQUARE = [["-2 m", "-2 m"], ["2 m", "-2 m"], ["2 m", "2 m"], ["-2 m", "2 m"]]


@pytest.fixture
def safe(case_with):
    """Case with one rod and this safety block."""

    def build(*, blocks=None, **keys):
        block = {"duration": "0.5 s", "limits": [PUBLIC], "exposures": [TOUCH]} | keys
        block = {key: value for key, value in block.items() if value is not None}
        return case_with(safety=block, **(blocks or {}))

    return build


@pytest.fixture
def two_apart(content):
    """The rod of the case and a floating one beside it."""
    (main,) = content()["electrodes"]
    other = {**main["parts"][0], "at": ["4 m", "0 m"]}
    return [main, {"name": "fence", "drive": {"floating": True}, "parts": [other]}]


def messages(caught):
    return [str(problem) for problem in caught.value.problems]


def test_no_safety_block_judges_nothing(case_with):
    assert case_with().safety is None


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ({"ieee_80": {}}, Ieee80("it", 50.0)),
        ({"ieee_80": {"body": "70 kg"}}, Ieee80("it", 70.0)),
        (
            {"en_50522": {"footwear": "1 kohm", "ground": False}},
            En50522("it", 1000.0, ground=False),
        ),
        (
            {"en_50522": {"table": [["0.1 s", "500 V"], ["1 s", "100 V"]], "edition": "new"}},
            En50522("it", table=((0.1, 500.0), (1.0, 100.0)), edition="new"),
        ),
        (
            {"iec_60479": {"curve": "b", "percentile": 50, "footwear": "200 ohm"}},
            Iec60479("it", curve="b", percentile=50, footwear=200.0),
        ),
        ({"livestock": {"level": "750 mV", "pace": "5 ft"}}, Livestock("it", 0.75, 0.0, 1.524)),
        ({"own": {"voltage": "25 V"}}, OwnVoltage("it", ((1.0, 25.0),))),
        (
            {"own": {"table": [["0.1 s", "300 V"], ["1 s", "100 V"]], "body": "2 kohm"}},
            OwnVoltage("it", ((0.1, 300.0), (1.0, 100.0)), 2000.0),
        ),
        (
            {"own": {"current": "6 mA", "body": "500 ohm", "feet": True}},
            OwnCurrent("it", 0.006, 500.0, feet=True),
        ),
    ],
)
def test_each_kind_of_limit_arrives_in_si_units(safe, given, expected):
    case = safe(limits=[{"name": "it", **given}], exposures=[TOUCH | {"limit": "it"}])
    assert case.safety.exposures[0].limit == expected


def test_every_kind_of_exposure_arrives(safe, two_apart):
    exposures = [
        TOUCH | {"inside": SQUARE},
        {"name": "walking", "step": "anywhere", "limit": "public"},
        {"name": "both", "hands": ["main", "fence"], "limit": "public"},
        {"name": "far", "transferred": "main", "remote_earth": True, "limit": "public"},
        {"name": "tap", "transferred": "main", "at": [["9 ft", "1 m"]], "limit": "public"},
    ]
    case = safe(exposures=exposures, blocks={"electrodes": two_apart})
    touch, step, hands, far, tap = case.safety.exposures
    assert [e.kind for e in (touch, step, hands, far, tap)] == [
        "touch",
        "step",
        "hands",
        "transferred",
        "transferred",
    ]
    assert touch.outline.shape == (4, 2)
    assert hands.groups == (0, 1)
    assert far.places is None
    assert tap.places[0].tolist() == pytest.approx([2.7432, 1.0])


def test_a_fault_may_last_for_ever(safe):
    case = safe(duration=None, continuous=True)
    assert case.safety.duration == math.inf
    assert case.safety.long_duration_limit.source.startswith("IEC TS 60479-1")


def test_the_limit_for_long_faults_can_be_chosen(safe):
    own = {"name": "20 V", "own": {"voltage": "20 V"}}
    case = safe(limits=[PUBLIC, own], long_duration_limit="20 V")
    assert case.safety.long_duration_limit.name == "20 V"


def test_a_duration_must_be_given(safe):
    with pytest.raises(CaseError, match="needs the duration of the fault"):
        safe(duration=None)


def test_names_that_nothing_carries_are_told_together(safe):
    exposures = [
        {"name": "a", "touch": "mian", "limit": "publik"},
        {"name": "b", "hands": ["main", "fence"], "limit": "public"},
        {"name": "b", "transferred": "tap", "remote_earth": True, "limit": "public"},
    ]
    with pytest.raises(CaseError) as caught:
        safe(exposures=exposures, long_duration_limit="staff")
    text = "\n".join(messages(caught))
    assert "no touchable metal 'mian'; did you mean 'main'?" in text
    assert "no limit 'publik'; did you mean 'public'?" in text
    assert "no electrode or touchable metal 'fence'" in text
    assert "no electrode 'tap'" in text
    assert "no limit 'staff'" in text
    assert "exposure name 'b' is taken by safety.exposures" in text


@pytest.mark.parametrize(
    ("limit", "message"),
    [
        ({"ieee_80": {"body": "50 lb"}}, "body: '50 lb' is 22.7 kg; IEEE 80 has bodies of 50"),
        ({"ieee_80": {"body": "60 kg"}}, "IEEE 80 has bodies of 50 kg and 70 kg"),
        ({"livestock": {"level": "2 V"}}, "action levels are from 0.5 to 1 V"),
        (
            {"own": {"table": [["1 s", "100 V"], ["2 s", "200 V"]]}},
            "a limit cannot rise with the duration",
        ),
    ],
)
def test_a_limit_that_does_not_exist_is_told_with_its_place(safe, limit, message):
    with pytest.raises(CaseError, match=message) as caught:
        safe(limits=[{"name": "public", **limit}])
    assert "safety.limits[1]" in messages(caught)[0]


def test_a_limit_that_does_not_hold_for_its_exposure_is_refused_before_meshing(safe):
    steps = {"name": "walking", "step": "anywhere", "limit": "european"}
    with pytest.raises(CaseError, match="gives no limit for 'step'") as caught:
        safe(limits=[{"name": "european", "en_50522": {}}], exposures=[steps])
    assert "safety.exposures[1]" in messages(caught)[0]


def test_a_layer_that_the_formula_does_not_hold_for_is_refused(safe):
    fill = {"name": "fill", "polygon": SQUARE, "resistivity": "2 kohm*m", "thickness": "80 cm"}
    with pytest.raises(CaseError, match=r"used here from 0\.05 to 0\.5 m"):
        safe(surface=[fill])


@pytest.mark.parametrize(
    ("resistivity", "thickness"), [("3000 ohm*m", "150 mm"), ("2500 ohm*m", "101 mm")]
)
def test_rock_counts_in_the_soil_or_in_the_limit_never_in_both(safe, resistivity, thickness):
    rock = {
        "name": "rock",
        "polygon": SQUARE,
        "resistivity": resistivity,
        "thickness": thickness,
    }
    layers = [
        {"resistivity": "3000 ohm*m", "thickness": "100 mm"},
        {"resistivity": "120 ohm*m"},
    ]
    with pytest.raises(CaseError, match="counts in the soil model or here, not in both"):
        safe(surface=[rock], blocks={"soil": {"layers": layers}})


def test_a_variant_whose_soil_spoils_a_limit_is_told_by_name(safe):
    rock = {
        "name": "rock",
        "polygon": SQUARE,
        "resistivity": "1000 ohm*m",
        "thickness": "10 cm",
    }
    layers = [{"resistivity": "900 ohm*m", "thickness": "10 cm"}, {"resistivity": "90 ohm*m"}]
    gravel = {"name": "gravel", "soil": {"layers": layers}}
    with pytest.raises(CaseError, match=r"in variant 'gravel': .* looks like the top layer"):
        safe(surface=[rock], blocks={"variants": [gravel]})


BOW = [["0 m", "0 m"], ["2 m", "2 m"], ["2 m", "0 m"], ["0 m", "2 m"]]


@pytest.mark.parametrize(
    ("keys", "place"),
    [
        ({"exposures": [TOUCH | {"inside": BOW}]}, "safety.exposures[1] 'at the rod'.inside"),
        (
            {
                "surface": [
                    {
                        "name": "rock",
                        "polygon": BOW,
                        "resistivity": "1 kohm*m",
                        "thickness": "10 cm",
                    }
                ]
            },
            "safety.surface[1] 'rock'.polygon",
        ),
    ],
)
def test_an_outline_that_crosses_itself_is_refused(safe, keys, place):
    # By the even-odd rule half of it would be outside, and judged nowhere.
    with pytest.raises(CaseError, match="an outline goes round once") as caught:
        safe(**keys)
    assert place in messages(caught)[0]


WALL = {"name": "wall", "electrode": "main", "line": [["0 m", "0 m"], ["0 m", "30 m"]]}
AT_WALL = {"name": "at the wall", "touch": "wall", "limit": "public"}


def test_metal_that_runs_out_of_the_map_is_refused_not_half_judged(safe):
    study = {"area": {"margin": "4 m"}, "touch": [WALL]}
    with pytest.raises(CaseError, match=r"'wall' can be reached from .* study\.area larger"):
        safe(exposures=[AT_WALL], blocks={"study": study})
    wide = {"area": {"corner": ["-9 m", "-9 m"], "size": ["40 m", "40 m"]}, "touch": [WALL]}
    assert safe(exposures=[AT_WALL], blocks={"study": wide}).safety
    # People stand where the map is: the rest of the wall is somebody else's.
    assert safe(exposures=[AT_WALL | {"inside": SQUARE}], blocks={"study": study}).safety


def test_steps_inside_an_outline_need_a_map_of_all_of_it(safe):
    far = [["0 m", "0 m"], ["50 m", "0 m"], ["50 m", "5 m"]]
    step = {"name": "lawn", "step": "anywhere", "limit": "public", "inside": far}
    with pytest.raises(CaseError, match=r"'inside' reaches from \(0, 0\) m to \(50, 5\) m"):
        safe(exposures=[step])


def test_steps_anywhere_need_a_map_of_the_metal(safe):
    # Beside a rod at (0, 0) the map would see a fraction of the worst step.
    study = {"area": {"corner": ["1.5 m", "1.5 m"], "size": ["4 m", "4 m"]}}
    step = {"name": "walking", "step": "anywhere", "limit": "public"}
    with pytest.raises(CaseError, match="steps are worst over the metal, which reaches from"):
        safe(exposures=[step], blocks={"study": study})
    lawn = [["2 m", "2 m"], ["4 m", "2 m"], ["4 m", "4 m"]]
    assert safe(exposures=[step | {"inside": lawn}], blocks={"study": study}).safety


@pytest.mark.parametrize("hands", [["main", "main"], ["main", "bench"]])
def test_hands_on_one_electrode_would_always_pass_and_are_refused(safe, hands):
    bench = {"name": "bench", "electrode": "main", "points": [["0 m", "0 m"]]}
    both = {"name": "both", "hands": hands, "limit": "public"}
    with pytest.raises(CaseError, match="have the potential of one electrode"):
        safe(exposures=[both], blocks={"study": {"touch": [bench]}})


def test_a_limit_for_long_faults_that_cannot_take_over_is_refused_before_solving(safe):
    european = {"name": "european", "en_50522": {}}
    step = {"name": "walking", "step": "anywhere", "limit": "public"}
    device = {"name": "relay", "measures": "earth current of main"}
    blocks = {"protection": [device | {"fixed": {"clearing_time": "0.2 s"}}]}
    keys = {"duration": None, "limits": [PUBLIC, european], "exposures": [step]}
    assert safe(**keys, blocks=blocks).safety
    with pytest.raises(CaseError, match="gives no limit for 'step'"):
        safe(**keys, long_duration_limit="european", blocks=blocks)


def test_a_frozen_top_of_a_variant_does_not_insulate_the_feet(safe):
    # Water lies on frozen ground: IEEE 80 with 310 ohm*m, not 2500, in every condition.
    frozen = {"name": "january", "soil": {"layers": [{"resistivity": "2500 ohm*m"}]}}
    wet = {"layers": [{"resistivity": "310 ohm*m"}]}
    case = safe(blocks={"soil": wet, "variants": [frozen]})
    for each in (case, *case.variants):
        assert each.safety.under_feet.soil == Soil((310.0,))
        assert "310 Ω·m at the top" in each.safety.under_feet.words
    # As well where the poorer conductor is the case itself.
    thawed = {"name": "thaw", "soil": wet}
    dry = {"layers": [{"resistivity": "2500 ohm*m"}]}
    case = safe(blocks={"soil": dry, "variants": [thawed]})
    assert case.safety.under_feet.soil == Soil((310.0,))
    assert "of variant 'thaw'" in case.safety.under_feet.words


def test_what_a_case_states_under_the_feet_stays(safe):
    frozen = {
        "name": "january",
        "soil": {"layers": [{"resistivity": "2500 ohm*m"}]},
        "safety": {"under_feet": "40 ohm*m"},
    }
    case = safe(under_feet="80 ohm*m", blocks={"variants": [frozen]})
    assert case.safety.under_feet.soil == Soil((80.0,))
    assert case.variants[0].safety.under_feet.soil == Soil((40.0,))


def test_who_is_there_is_taken_with_the_exposure(safe):
    there = {**TOUCH, "people": ["children", "wet"]}
    assert safe(exposures=[there]).safety.exposures[0].people == ("children", "wet")


def test_the_weight_of_a_child_is_refused_with_a_way_on(safe):
    child = {"name": "public", "ieee_80": {"body": "22.7 kg"}}
    with pytest.raises(CaseError, match=r"people: \[children\]"):
        safe(limits=[child])


RING = [["-3 m", "-3 m"], ["3 m", "-3 m"], ["3 m", "1 m"], ["1 m", "3 m"], ["-3 m", "3 m"]]


@pytest.mark.parametrize("corners", [RING, RING[::-1]])
def test_inside_a_fence_is_off_its_line_all_round(safe, corners):
    fence = {"name": "fence", "electrode": "main", "line": [*corners, corners[0]]}
    rod = {"name": "main", "electrode": "main", "footprint": True}
    inside = {"name": "yard", "step": "anywhere", "inside": "fence", "limit": "public"}
    study = {"touch": [rod, fence], "area": {"margin": "8 m"}}
    case = safe(exposures=[inside], blocks={"study": study})
    outline = case.safety.exposures[0].outline
    ring = np.array([[float(x.split()[0]) for x in corner] for corner in corners])
    gap = nearest_on_segments(outline, start=ring, end=np.roll(ring, -1, axis=0)) - outline
    # Corners off both of their sides: no nearer than that, no farther than a sharp one.
    gaps = np.linalg.norm(gap, axis=1)
    assert_allclose(gaps, 0.01, rtol=1e-9)
    assert on_or_inside(outline, outline=ring).all()


def test_a_fence_that_does_not_go_round_has_no_inside(safe):
    fence = {"name": "fence", "electrode": "main", "line": RING}
    inside = {"name": "yard", "step": "anywhere", "inside": "fence", "limit": "public"}
    with pytest.raises(CaseError, match="'fence' does not go round"):
        safe(exposures=[inside], blocks={"study": {"touch": [fence]}})
    unknown = {**inside, "inside": "hedge"}
    with pytest.raises(CaseError, match="hedge"):
        safe(exposures=[unknown], blocks={"study": {"touch": [fence]}})
    wrong = {**inside, "inside": [["0 m", "0 m"], ["1 lb", "0 m"], ["1 m", "1 m"]]}
    with pytest.raises(CaseError) as caught:
        safe(exposures=[wrong], blocks={"study": {"touch": [fence]}})
    assert "1 lb" in str(caught.value)
