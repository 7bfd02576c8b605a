"""Potential within sheaths: closed form, joints with metal and soil, sheaths that meet."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.model import Conductors
from ohmscape.solver.sheaths import within_sheaths

VOLTAGE = np.array([100.0, 30.0])


def _inclined(contact=0.0):
    """Fill of 3 Ω·m from 0.01 to 0.12 m round metal at 53°, and bare metal far away."""
    bare = Conductors.bare(
        [[0.0, 0.0, 0.0], [40.0, 0.0, -1.0]],
        end=[[3.0, 0.0, -4.0], [41.0, 0.0, -1.0]],
        radius=0.01,
        group=[0, 1],
    )
    return replace(
        bare,
        sheath_radius=np.array([0.12, 0.01]),
        sheath_resistivity=np.array([3.0, 1.0]),
        contact=np.array([contact, 0.0]),
    )


def _at(across, along=2.0):
    """Points beside the inclined axis, across it in level direction."""
    across = np.asarray(across, dtype=float)
    return np.column_stack([0.6 * along + 0 * across, across, -0.8 * along + 0 * across])


@pytest.mark.parametrize("contact", [0.0, 0.04])
def test_current_passes_the_sheath_straight_outwards(contact):
    across, face = np.array([0.01, 0.03, 0.07, 0.119999]), np.full(4, 64.0)
    found = within_sheaths(
        face, points=_at(across), conductors=_inclined(contact), voltage=VOLTAGE
    )
    film = contact / 0.01
    drop = (film + 3 * np.log(across / 0.01)) / (film + 3 * np.log(12))
    assert_allclose(found, 100 - 36 * drop)
    assert_allclose(found[-1], 64, rtol=1e-4)
    assert found[0] == 100 or contact > 0


def test_soil_bare_metal_and_fill_beyond_the_end_are_left():
    points = np.concatenate([_at([0.121, 0.5]), _at([0.0], along=5.01), [[40.5, 0.0, -1.0]]])
    given = np.array([60.0, 50.0, 70.0, 29.0])
    found = within_sheaths(given, points=points, conductors=_inclined(), voltage=VOLTAGE)
    assert_allclose(found, given)


def test_phasors_have_a_drop_in_step_with_each_part():
    voltage = np.array([60 + 80j, 0])
    found = within_sheaths(
        np.array([30 + 20j]), points=_at([0.03]), conductors=_inclined(), voltage=voltage
    )
    share = np.log(3) / np.log(12)
    assert_allclose(found, (60 + 80j) - share * (30 + 60j))


def test_where_sheaths_meet_the_nearest_metal_counts():
    one = _inclined()
    both = replace(
        one,
        start=np.array([[0.0, 0.0, 0.0], [0.0, 0.1, 0.0]]),
        end=np.array([[3.0, 0.0, -4.0], [3.0, 0.1, -4.0]]),
        sheath_radius=np.array([0.12, 0.12]),
        sheath_resistivity=np.array([3.0, 3.0]),
    )
    found = within_sheaths(
        np.full(2, 20.0), points=_at([0.02, 0.09]), conductors=both, voltage=VOLTAGE
    )
    log = np.log(12)
    assert_allclose(found, [100 - 80 * np.log(2) / log, 30.0])
