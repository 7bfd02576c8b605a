"""More metal than the limits allow is refused with the numbers, before any is built."""

import tracemalloc

import numpy as np
import pytest

from ohmscape.cases.electrodes.layouts import rods_pieces
from ohmscape.cases.electrodes.proximity import approaches
from ohmscape.cases.electrodes.schema import Rods
from ohmscape.cases.reading.size_limits import MOST_NEIGHBOURS
from ohmscape.solver.errors import BudgetError, CaseError

GRID = {
    "kind": "grid",
    "name": "grid",
    "corner": ["0 m", "0 m"],
    "size": ["300 m", "300 m"],
    "meshes": [100, 100],
    "depth": "0.5 m",
    "diameter": "8 mm",
}
RODS = {"kind": "rods", "length": "3 m", "diameter": "16 mm"}
FIELD = {"corner": ["0 m", "0 m"], "size": ["9 km", "9 km"], "filled": True}


def test_a_million_rods_are_counted_and_never_built(case_with):
    rods = RODS | {
        "name": "forest",
        "top_depth": "0 m",
        "rectangle": FIELD | {"per_side": [1000, 1000]},
    }
    message = (
        r"electrodes\[1\] 'main'\.parts\[1\] 'forest': 1,000,000 straight pieces of metal; "
        r"at most 50,000 are allowed\. Most are in 'forest' 1,000,000: use fewer rods"
    )
    case_with()  # imports and caches are not what is measured
    tracemalloc.start()
    with pytest.raises(BudgetError, match=message):
        case_with(rods)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    # A million rods are 48 MB of end points alone.
    assert peak < 5e6


@pytest.mark.parametrize("amount", [50_001, 1_000_000, 10**18])
def test_no_single_count_is_beyond_the_limit(amount, case_with):
    line = {"start": ["0 m", "0 m"], "end": ["9 km", "0 m"], "count": amount}
    with pytest.raises(CaseError, match=rf"count: {amount} is not allowed: from 2 to 50000"):
        case_with(RODS | {"top_depth": "0 m", "line": line})


def test_parts_are_counted_together_and_the_largest_are_named(case_with):
    rods = RODS | {"name": "rods", "nodes": {"part": "grid"}}
    wires = [
        GRID | {"name": f"grid {k}", "corner": [f"{k} km", "0 m"], "meshes": [60, 60]}
        for k in (1, 2, 3)
    ]
    # 2 × 100 × 101 pieces, 101² rods, three times 2 × 60 × 61 pieces.
    message = (
        r"52,361 straight pieces.*Most are in 'grid' 20,200, 'rods' 10,201, 'grid 1' 7,320"
    )
    with pytest.raises(BudgetError, match=message):
        case_with(GRID, rods, *wires)


def test_pieces_are_counted_again_once_they_are_split(case_with):
    # 340 wires: few until each is cut where it crosses 170 others.
    comb = [
        {
            "kind": "conductor",
            "points": [[f"{k} m", "-1 m"], [f"{k} m", "1000 m"]],
            "depth": "1 m",
            "diameter": "8 mm",
        }
        for k in range(170)
    ]
    across = [
        {
            "kind": "conductor",
            "points": [["-1 m", f"{k} m"], ["1000 m", f"{k} m"]],
            "depth": "1 m",
            "diameter": "8 mm",
        }
        for k in range(170)
    ]
    with pytest.raises(BudgetError, match=r"^electrodes: 58,140 straight pieces of metal"):
        case_with(*comb, *across)


def test_metal_crowded_into_one_place_is_refused():
    # 8,000 pieces of 1 m within 2 cm: 32 million pairs.
    points = np.random.default_rng(3).uniform(0, 0.02, size=(8000, 3))
    message = f"the 8,000 pieces of metal crowd so closely that more than {MOST_NEIGHBOURS:,} "
    with pytest.raises(BudgetError, match=message):
        approaches(points, end=points - np.array([0, 0, 1]), reach=np.full(8000, 0.01))


def test_rods_need_a_host_with_a_run():
    part = Rods.model_validate(RODS | {"along": {"part": "star", "count": 3}})
    with pytest.raises(CaseError, match="along: 'star' has no outline or run; name a grid"):
        rods_pieces(part, host=None)
