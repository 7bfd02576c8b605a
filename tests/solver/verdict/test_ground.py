"""What is under the feet, and which limit decides there."""

import numpy as np
import pytest

from ohmscape.solver.errors import CaseError
from ohmscape.solver.limits import Ieee80, Standing
from ohmscape.solver.model import Soil
from ohmscape.solver.verdict import Ground, SurfaceLayer
from ohmscape.solver.verdict.findings import deciding, permissible

SQUARE = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]])
ROCK = SurfaceLayer("rock", SQUARE, 3000.0, 0.1)
ASPHALT = SurfaceLayer("asphalt", SQUARE + np.array([2.0, 0.0]), 9000.0, 0.1)
STAFF = Ieee80("staff", 70.0)


@pytest.mark.parametrize(
    ("soil", "native"),
    [
        (Soil((300.0,)), Standing(300.0)),
        # A thick top is all a foot sees.
        (Soil((300.0, 50.0), (1.5,)), Standing(300.0)),
        # A thin top that conducts worse rests on what lies below.
        (Soil((900.0, 90.0), (0.2,)), Standing(90.0, 900.0, 0.2)),
        # One that conducts better is taken for all: less resistance than there is.
        (Soil((90.0, 900.0), (0.2,)), Standing(90.0)),
        # Thinner than any formula of a layer holds: left out.
        (Soil((900.0, 90.0), (0.02,)), Standing(90.0)),
    ],
)
def test_feet_on_the_native_soil_never_get_too_much_resistance(soil, native):
    assert Ground(soil).standings == (native,)


def test_a_surface_layer_counts_only_where_it_lies():
    ground = Ground(Soil((200.0,)), (ROCK,))
    grounds = ground.limits(STAFF, exposure="touch", duration=0.5)
    places = np.array([[2.0, 2.0], [4.5, 2.0], [-0.1, 0.0]])
    volts = permissible(grounds, places=places)
    bare, rock = (g.limit.voltage for g in grounds)
    assert volts.tolist() == [rock, bare, bare]
    # (1000 + 1.5 Cs rho_s) 0.157 / sqrt(0.5) with Cs = 1 - 0.09 (1 - 200/3000) / 0.29:
    # IEEE Std 80-2000 equations 27 and 33 (from memory).
    cs = 1 - 0.09 * (1 - 200 / 3000) / 0.29
    assert rock == pytest.approx((1000 + 1.5 * cs * 3000) * 0.157 / np.sqrt(0.5), rel=1e-12)
    assert bare == pytest.approx((1000 + 1.5 * 200) * 0.157 / np.sqrt(0.5), rel=1e-12)


def test_where_layers_overlap_the_lower_limit_decides():
    for layers in ((ROCK, ASPHALT), (ASPHALT, ROCK)):
        grounds = Ground(Soil((200.0,)), layers).limits(STAFF, exposure="touch", duration=0.5)
        row = deciding(grounds, places=np.array([[3.0, 2.0], [5.0, 2.0], [1.0, 2.0]]))
        assert [grounds[k].name for k in row] == ["rock", "asphalt", "rock"]


def test_a_layer_that_conducts_better_than_the_soil_counts_as_all_of_it():
    wet = SurfaceLayer("mud", SQUARE, 20.0, 0.1)
    frozen = Ground(Soil((5000.0,)), (wet, ROCK))
    assert frozen.standings == (Standing(5000.0), Standing(20.0), Standing(3000.0))


def test_a_layer_that_a_limit_cannot_take_is_refused():
    fill = SurfaceLayer("fill", SQUARE, 3000.0, 0.8)
    with pytest.raises(CaseError, match=r"used here from 0\.05 to 0\.5 m"):
        Ground(Soil((200.0,)), (fill,)).limits(STAFF, exposure="touch", duration=0.5)
