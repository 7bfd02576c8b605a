"""What comes with ohmscape loads, and holds what its comments say."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.fitting import fit_soil
from ohmscape.cases.loading import load_case, load_case_text
from ohmscape.cases.shipped import shipped_case_path, shipped_cases
from ohmscape.cases.starter import starter_case
from ohmscape.solver.errors import CaseError

NAMES = (
    "bench-rod",
    "driven-rod",
    "fence-by-grid",
    "grid-test-on-rock",
    "kiosk-by-a-cable",
    "kiosk-in-three-seasons",
    "measured-fresh-rod",
    "pad-in-doubt",
    "pad-on-a-foundation",
    "pad-to-size",
    "pad-transformer",
    "pasture-pole",
    "pillar-options",
    "pool-with-deck",
    "substation-grid",
    "surveyed-pump-house",
    "switch-pole-on-varved-clay",
    "switchyard",
    "tank-beside-a-pump",
    "tt-workshop",
    "yard-beside-a-pipe",
    "yard-from-a-drawing",
    "yard-on-a-rock-edge",
    "yard-to-size",
)


def shipped(name):
    return load_case(shipped_case_path(name))


def test_names_of_the_shipped_cases():
    assert shipped_cases() == NAMES


def test_an_unknown_name_is_refused_with_the_known_ones():
    with pytest.raises(CaseError, match=r"no shipped case 'rodd'; there are bench-rod, driven"):
        shipped_case_path("rodd")


@pytest.mark.parametrize("name", NAMES)
def test_a_shipped_case_loads_and_starts_with_a_comment(name):
    case = shipped(name)
    assert case.title
    assert case.source.file == f"{name}.yaml"
    assert case.source.text.startswith("# ")


def test_the_pump_house_stands_on_the_soil_its_readings_were_made_from():
    soil = fit_soil(shipped("surveyed-pump-house")).soil
    # The readings scatter by 3 % about 210 over 65, 2.4 m thick; rounding and noise left.
    assert_allclose(soil.resistivity, (210, 65), rtol=0.05)
    assert_allclose(soil.thickness, (2.4,), rtol=0.08)


def test_the_driven_rod_is_flush_and_eight_feet_long():
    case = shipped("driven-rod")
    c = case.conductors
    assert case.soil.resistivity == (120.0,)
    assert_allclose(c.start, [[0, 0, 0]])
    assert_allclose(c.end, [[0, 0, -2.4384]])
    assert_allclose(c.radius, 0.0079375)
    assert case.drives[0].kind == "voltage"


def test_the_pad_transformer_has_a_rod_at_each_corner_of_its_ring():
    case = shipped("pad-transformer")
    ring, rods = case.parts
    assert (ring.rods, rods.rods) == (0, 4)
    # 2 (12 ft + 10 ft) of conductor, four rods of 8 ft.
    assert_allclose([ring.conductor_length, rods.rod_length], [44 * 0.3048, 32 * 0.3048])
    assert case.joints == 4
    assert case.drives[0].kind == "current"


def test_the_substation_has_its_rods_at_every_second_node_of_the_edge():
    case = shipped("substation-grid")
    grid, rods = case.parts
    # Eleven lines of 70 m in each direction; twenty rods of 7.5 m.
    assert_allclose([grid.conductor_length, rods.rod_length], [1540, 150])
    assert case.joints == 121
    c = case.conductors
    tops = c.start[c.part == 1]
    on_edge = (np.isclose(tops[:, :2], 0) | np.isclose(tops[:, :2], 70)).any(axis=1)
    assert on_edge.all()
    # Every second node is 14 m along the edge: multiples of 14 m, or 70 m minus those.
    assert_allclose(tops[:, :2] / 14, np.round(tops[:, :2] / 14), atol=1e-12)
    assert case.study.area.spacing == 0.5


def test_the_fence_stands_apart_and_can_be_bonded_by_one_word():
    text = shipped_case_path("fence-by-grid").read_text(encoding="utf-8")
    case = load_case_text(text)
    c = case.conductors
    assert [drive.kind for drive in case.drives] == ["current", "floating"]
    assert [bond.closed for bond in case.bonds] == [False]
    # 10 posts a side, corners counted once.
    assert case.parts[-1].rods == 36
    fence = c.start[c.group == 1, :2]
    gap = np.maximum(np.abs(fence - 10) - 10, 0)
    assert_allclose(np.hypot(*gap.T).min(), 3.0)
    bonded = load_case_text(text.replace("closed: false", "closed: true"))
    assert [bond.closed for bond in bonded.bonds] == [True]


def test_the_starter_loads_as_it_stands():
    case = load_case_text(starter_case())
    assert [part.kind for part in case.parts] == ["ring", "rods"]
    # The four rods hang from the ring.
    assert case.parts[1].rods == 4
    assert case.soil.resistivity == (200.0, 70.0)


@pytest.mark.parametrize("name", ["pad-transformer", "kiosk-in-three-seasons", "switchyard"])
def test_what_a_newcomer_runs_first_is_judged(name):
    case = shipped(name)
    for each in (case, *case.variants):
        assert {item.kind for item in each.safety.exposures} == {"touch", "step"}
