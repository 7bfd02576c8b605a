"""Bodies in soil: what is where, and what soil carries of them."""

from dataclasses import replace
from math import inf

import numpy as np
import pytest

from ohmscape.solver.bodies import Ball, Body, Cylinder, Prism
from ohmscape.solver.errors import CaseError
from ohmscape.solver.model import Soil
from ohmscape.solver.results.packing import pack, unpack

POOL = Body("pool", Prism(((-7, 0), (7, 0), (7, 7), (-7, 7)), top=0.0, bottom=2.0), 20.0)
PLANT = Body("plant room", Cylinder((3.0, 3.0), 1.5, 0.0, 2.0), inf, within="pool")
PLINTH = Body("plinth", Ball((3.0, 3.0, 0.0), 0.5), 90.0, within="plant room")
SOIL = Soil((100.0, 40.0), (1.2,), bodies=(PLINTH, POOL, PLANT))


def test_the_innermost_body_is_what_is_there_whatever_the_order():
    points = np.array(
        [
            [9.0, 3.0, -0.5],  # first layer
            [9.0, 3.0, -1.2],  # second layer: a plane belongs to what is below it
            [-3.0, 3.0, -1.5],  # pool
            [3.0, 4.2, -1.5],  # plant room
            [3.0, 3.2, -0.2],  # plinth
            [7.0, 3.0, -0.5],  # wall of the pool
        ]
    )
    for order in (SOIL.bodies, SOIL.bodies[::-1]):
        soil = replace(SOIL, bodies=order)
        assert soil.resistivity_at(points).tolist() == [100, 40, 20, inf, 90, 20]
    names = [body.name for body in SOIL.bodies]
    material = SOIL.material_at(points)
    assert material[:2].tolist() == [0, 1]
    assert [names[k - 2] for k in material[2:]] == ["pool", "plant room", "plinth", "pool"]


def test_on_a_shared_face_it_is_the_body_listed_last():
    beside = Body("deck", Prism(((7, 0), (9, 0), (9, 7), (7, 7)), top=0.0, bottom=0.2), 800.0)
    wall = np.array([[7.0, 3.0, -0.1]])
    assert Soil((100.0,), bodies=(POOL, beside)).resistivity_at(wall) == [800.0]
    assert Soil((100.0,), bodies=(beside, POOL)).resistivity_at(wall) == [20.0]


def test_soils_with_other_bodies_are_other_soils():
    again = Soil((100.0, 40.0), (1.2,), bodies=(PLINTH, POOL, PLANT))
    assert again == SOIL
    assert hash(again) == hash(SOIL)
    assert replace(SOIL, bodies=(POOL,)) != replace(SOIL, bodies=())
    assert replace(SOIL, bodies=(replace(POOL, resistivity=21.0),)) != replace(
        SOIL, bodies=(POOL,)
    )


def test_bodies_are_kept_in_results():
    kept, arrays = pack(Soil, SOIL, name="soil")
    assert unpack(Soil, kept, arrays=arrays) == SOIL
    # Soil of a result from before there were bodies has none.
    del kept["bodies"]
    assert unpack(Soil, kept, arrays=arrays) == replace(SOIL, bodies=())


@pytest.mark.parametrize(
    ("bodies", "match"),
    [
        ((POOL, POOL), "two bodies are named 'pool'"),
        ((PLANT,), "'plant room' lies in 'pool', that is not there; other bodies: none"),
        ((replace(POOL, within="plant room"), PLANT), "that lies in it"),
        ((replace(POOL, within="pool"),), "that lies in it"),
    ],
)
def test_bodies_that_do_not_fit_together_are_refused(bodies, match):
    with pytest.raises(CaseError, match=match):
        Soil((100.0,), bodies=bodies)


@pytest.mark.parametrize("resistivity", [0.0, -3.0, float("nan")])
def test_a_body_has_a_resistivity(resistivity):
    with pytest.raises(CaseError, match="must be above 0, infinite for a void"):
        replace(POOL, resistivity=resistivity)
