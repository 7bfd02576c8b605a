"""The axisymmetric solver against exact values: closed forms and boundary integrals.

"Computed independently" means a boundary integral of the true metal surface with its end
caps, with exact image series for the layers; it is good to the digits given.
"""

from functools import lru_cache

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.axisymmetric import Cylinder, Fill, HalfSpheroid, solve_axisymmetric
from ohmscape.solver.errors import CaseError
from ohmscape.solver.model import Soil

FOOT, INCH = 0.3048, 0.0254
HUNDRED = Soil((100.0,))
EIGHT_FOOT = Cylinder(length=8 * FOOT, radius=5 / 16 * INCH)
THREE_METRE = Cylinder(length=3.0, radius=0.008)


def plate(radius, depth):
    return Cylinder(radius=radius, length=0.0, top_depth=depth)


# Closed forms of potential theory (textbook; from memory), 100 Ω·m.
CLOSED_FORMS = {
    "hemisphere": (HalfSpheroid(radius=0.5, bottom_depth=0.5), None, 100 / np.pi),
    "slender half spheroid": (HalfSpheroid(radius=0.1, bottom_depth=2.0), None, 29.38695),
    "flat half spheroid": (HalfSpheroid(radius=1.0, bottom_depth=0.3), None, 21.12364),
    "plate on the surface": (plate(1.0, 0.0), None, 25.0),
    "hemisphere in a shell": (
        HalfSpheroid(radius=0.2, bottom_depth=0.2),
        Fill(radius=0.6, resistivity=20.0, cover=0.4),
        (20 * (1 / 0.2 - 1 / 0.6) + 100 / 0.6) / (2 * np.pi),
    ),
}

# Computed independently, 100 Ω·m and a fill where there is one.
UNIFORM = {
    "rod 8 ft": (EIGHT_FOOT, HUNDRED, None, 39.518),
    "rod 3 m": (THREE_METRE, HUNDRED, None, 33.1936),
    "rod 10 ft": (Cylinder(length=10 * FOOT, radius=3 / 8 * INCH), HUNDRED, None, 31.831),
    "rod 20 ft": (Cylinder(length=20 * FOOT, radius=5 / 16 * INCH), HUNDRED, None, 18.2305),
    "plate": (plate(0.5, 1.0), HUNDRED, None, 28.8276),
    "small plate, deep": (plate(0.3, 1.5), HUNDRED, None, 44.3019),
    "plate, shallow": (plate(0.5, 0.6), HUNDRED, None, 31.019),
    "rod in backfill": (
        THREE_METRE,
        HUNDRED,
        Fill(radius=0.15, resistivity=30.0, cover=0.142),
        22.146,
    ),
    "rod in good backfill": (
        EIGHT_FOOT,
        HUNDRED,
        Fill(radius=0.10, resistivity=2.0, cover=0.020),
        23.02,
    ),
    "rod in concrete worse than the soil": (
        THREE_METRE,
        Soil((30.0,)),
        Fill(radius=0.15, resistivity=90.0, cover=0.142),
        19.24,
    ),
}

# Computed independently: resistivities, thickness, rod, resistance.
LAYERED = (
    ((100.0, 500.0), 5.0, THREE_METRE, 36.871),
    ((100.0, 20.0), 5.0, THREE_METRE, 31.412),
    ((300.0, 50.0), 3.0, EIGHT_FOOT, 108.044),
    ((50.0, 1000.0), 4.0, THREE_METRE, 21.556),
    ((300.0, 50.0), 1.5, THREE_METRE, 25.985),
    ((100.0, 500.0), 1.0, THREE_METRE, 80.500),
    ((400.0, 100.0), 2.0, Cylinder(length=6.0, radius=0.008), 23.586),
    ((50.0, 1000.0), 1.0, THREE_METRE, 59.027),
)


@lru_cache(maxsize=1)
def rod_solution():
    return solve_axisymmetric(THREE_METRE, soil=HUNDRED)


def within(solution, reference):
    # 0.05 % is what this solver promises; finite elements err downwards by 0.01 % here.
    assert_allclose(solution.resistance, reference, rtol=5e-4)


@pytest.mark.parametrize("name", CLOSED_FORMS)
def test_resistance_meets_the_closed_form_within_the_stated_band(name):
    metal, fill, reference = CLOSED_FORMS[name]
    solution = solve_axisymmetric(metal, soil=HUNDRED, fill=fill)
    within(solution, reference)
    assert abs(solution.resistance / reference - 1) < solution.error_estimate


@pytest.mark.parametrize("name", UNIFORM)
def test_resistance_meets_the_boundary_integral(name):
    metal, soil, fill, reference = UNIFORM[name]
    within(solve_axisymmetric(metal, soil=soil, fill=fill), reference)


@pytest.mark.parametrize(("resistivity", "thickness", "metal", "reference"), LAYERED)
def test_resistance_in_two_layers_meets_the_image_series(
    resistivity, thickness, metal, reference
):
    solution = solve_axisymmetric(metal, soil=Soil(resistivity, (thickness,)))
    within(solution, reference)
    # The references hold to five digits, far less than the band.
    assert abs(solution.resistance / reference - 1) < solution.error_estimate


def test_surface_potential_of_a_rod_meets_the_boundary_integral():
    x = np.array([0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 20.0])
    exact = [16.1739, 12.7603, 9.3991, 6.2436, 4.6324, 3.0048, 1.5667, 0.7926]
    # Elements grow with distance; 0.2 % is what is promised for the profile.
    assert_allclose(rod_solution().potential(x, current=1.0), exact, rtol=2e-3)


def test_close_to_the_rod_a_finer_mesh_changes_the_profile_by_less_than_promised():
    x = np.array([0.025, 0.05, 0.075, 0.15])
    finer = solve_axisymmetric(THREE_METRE, soil=HUNDRED, fineness=2.0)
    coarse = rod_solution().potential(x, current=1.0)
    assert_allclose(coarse, finer.potential(x, current=1.0), rtol=2e-3)


def _confocal(radius, depth, *, focus):
    """Longer half axis of the spheroid through a place, of the foci at +-focus."""
    near, far = (np.hypot(radius, depth + side * focus) for side in (-1, 1))
    return 0.5 * (near + far)


def test_potential_from_25_mm_outwards_meets_the_half_spheroid():
    # ρ I / (2 π f) artanh(f / s), s of the confocal spheroid: classical (from memory).
    slender = HalfSpheroid(radius=0.01, bottom_depth=3.0)
    solution = solve_axisymmetric(slender, soil=HUNDRED)
    focus = np.sqrt(3.0**2 - 0.01**2)
    r = np.array([0.025, 0.075, 0.4, 2.0, 9.0, 40.0])[:, None]
    depth = np.array([0.0, 0.3, 2.9, 3.2, 11.0])[None, :]
    exact = (
        100 * 2.5 / (2 * np.pi * focus) * np.arctanh(focus / _confocal(r, depth, focus=focus))
    )
    found = solution.potential(r, depth=depth, current=2.5)
    assert found.shape == (6, 5)
    assert_allclose(found, exact, rtol=3e-3)


def test_potential_round_a_hemisphere_falls_as_one_over_the_distance():
    metal = HalfSpheroid(radius=0.5, bottom_depth=0.5)
    solution = solve_axisymmetric(metal, soil=HUNDRED)
    r = np.array([0.5, 0.7, 1.5, 4.0, 15.0])
    angle = np.linspace(0.0, np.pi / 2, 7)[:, None]
    found = solution.potential(r * np.cos(angle), depth=r * np.sin(angle), current=3.7)
    # On the metal itself as well, whose curve the mesh follows.
    assert_allclose(found, np.broadcast_to(100 * 3.7 / (2 * np.pi * r), (7, 5)), rtol=2e-3)


@pytest.mark.parametrize(
    ("radius", "depth"), [(0.007, 1.0), (0.0, 0.0), (1e9, 0.0), (1.0, 1e9), (1.0, -0.1)]
)
def test_no_potential_inside_the_metal_or_beyond_the_mesh(radius, depth):
    with pytest.raises(CaseError, match=r"is inside the metal, above the surface or beyond"):
        rod_solution().potential([1.0, radius], depth=[0.0, depth], current=1.0)
