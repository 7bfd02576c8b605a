"""Finer meshes and higher order come nearer to the exact resistance."""

import field_layouts as lay
import numpy as np
import pytest
from measuring import resistance, solved

from ohmscape.solver.model import Soil

# Boundary integral of the true rod, 3 m x 16 mm in 100 Ω·m, computed independently.
EXACT = 33.1936


def _error(**settings):
    conductors = lay.rod(length=3.0, radius=0.008)
    return resistance(solved(conductors, soil=Soil((100.0,)), **settings)) / EXACT - 1


@pytest.mark.slow
def test_error_falls_at_least_linearly_with_element_size():
    # Clouds as many elements wide on each mesh, as on the two meshes of a run. By itself the
    # finest, above 40,000 elements, has narrower ones, which takes back part of its gain.
    fineness = np.array([0.7, 1.4, 2.8])
    errors = [_error(fineness=value, spread=0.3 / value) for value in fineness]
    order = -np.polyfit(np.log(fineness), np.log(np.abs(errors)), 1)[0]
    assert order > 1.0


def test_resistance_comes_from_below():
    # The smeared source radiates less well resolved, never better: its energy is too small.
    assert _error(fineness=0.7) < _error(fineness=1.4) < 0.0


@pytest.mark.parametrize(("fineness", "tolerance"), [(1.0, 0.06), (2.0, 0.04)])
def test_linear_elements_work_and_are_rougher(fineness, tolerance):
    # Linear elements carry the cloud only roughly: an order of magnitude worse.
    linear = _error(order=1, fineness=fineness)
    assert abs(linear) < tolerance
    assert abs(linear) > 3 * abs(_error(fineness=fineness))
