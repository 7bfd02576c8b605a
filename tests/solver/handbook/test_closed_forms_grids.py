"""Grid formulas against the worked examples of IEEE Std 80-2000 and one handbook."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from reference_formulas import (
    GridPlan,
    SchwarzCoefficients,
    mesh_voltage,
    perimeter_step_voltage,
    schwarz_coefficients,
    schwarz_resistance,
)

from ohmscape.solver.errors import CaseError
from ohmscape.solver.handbook import (
    laurent_niemann_resistance,
    sverak_resistance,
)

# IEEE Std 80-2000 Annex B, inputs and printed results from memory: 400 ohm m, conductor of
# 10 mm at 0.5 m, 7 m meshes, 1908 A. The example's number stands in the name.
COMMON = {"resistivity": 400.0, "current": 1908.0}
B1 = GridPlan(
    length_x=70.0,
    length_y=70.0,
    area=4900.0,
    perimeter=280.0,
    conductor_length=1540.0,
    conductor_radius=0.005,
    spacing=7.0,
    depth=0.5,
)
B2 = replace(B1, rod_count=20, rod_length=7.5)
B3 = GridPlan(
    length_x=63.0,
    length_y=84.0,
    area=63.0 * 84.0,
    perimeter=294.0,
    conductor_length=1659.0,
    conductor_radius=0.005,
    spacing=7.0,
    depth=0.5,
    rod_count=38,
    rod_length=10.0,
)
# An L-shaped outline; no printed numbers recalled, worked out independently instead.
B4 = replace(
    B1,
    length_y=105.0,
    area=6125.0,
    perimeter=350.0,
    conductor_length=1575.0,
    rod_count=24,
    rod_length=7.5,
)

# The printed results come from K, Km and Cs rounded on the way.
PRINT = 0.005
# Half a unit in the last of four digits or more of the independent recomputation.
DIGITS = 2e-4


def total_length(plan):
    return plan.conductor_length + plan.rod_count * plan.rod_length


@pytest.mark.parametrize(
    ("plan", "recomputed", "printed", "laurent"),
    [
        (B1, 2.7757, 2.78, 2.7918),
        (B2, 2.7526, 2.75, 2.7688),
        (B3, 2.6185, 2.62, None),
        (B4, 2.482, None, None),
    ],
)
def test_grid_resistance(plan, recomputed, printed, laurent):
    grid = {"resistivity": 400.0, "area": plan.area, "conductor_length": total_length(plan)}
    value = sverak_resistance(depth=plan.depth, **grid)
    assert_allclose(value, recomputed, rtol=DIGITS)
    if printed is not None:
        assert_allclose(value, printed, rtol=PRINT)
    if laurent is not None:
        assert_allclose(laurent_niemann_resistance(**grid), laurent, rtol=2e-5)


@pytest.mark.parametrize(
    ("plan", "recomputed", "printed"),
    [(B1, 5296, 5304), (B2, 5252, 5247), (B3, 4996.2, 4998.96)],
)
def test_grid_rise(plan, recomputed, printed):
    resistance = sverak_resistance(
        resistivity=400.0,
        area=plan.area,
        conductor_length=total_length(plan),
        depth=plan.depth,
    )
    assert_allclose(resistance * 1908.0, recomputed, rtol=DIGITS)
    assert_allclose(resistance * 1908.0, printed, rtol=PRINT)


@pytest.mark.parametrize(("plan", "recomputed"), [(B2, 2.847), (B3, 2.632)])
def test_schwarz_on_the_same_grids(plan, recomputed):
    # Formulas and coefficients from memory, recomputed independently to four digits with
    # coefficients interpolated in depth and rods of 10 mm diameter.
    longer = max(plan.length_x, plan.length_y)
    aspect = longer / min(plan.length_x, plan.length_y)
    value = schwarz_resistance(
        grid_resistivity=400.0,
        rod_resistivity=400.0,
        area=plan.area,
        conductor_length=plan.conductor_length,
        conductor_radius=plan.conductor_radius,
        depth=plan.depth,
        rod_count=plan.rod_count,
        rod_length=plan.rod_length,
        rod_radius=0.005,
        coefficients=schwarz_coefficients(area=plan.area, depth=plan.depth, aspect=aspect),
    )
    assert_allclose(value.combined, recomputed, rtol=DIGITS)


@pytest.mark.parametrize(
    ("plan", "n", "Km", "Em", "printed_Em"),
    [
        (B1, 11.0, 0.8896, 1001.6, 1002.1),
        (B2, 11.0, 0.7717, 749.1, 747.4),
        (B3, 11.344, 0.7675, 593.6, 595.8),
        (B4, 10.584, 0.777, 702.0, None),
    ],
)
def test_mesh_voltage(plan, n, Km, Em, printed_Em):
    mesh = mesh_voltage(plan, **COMMON)
    assert_allclose(plan.parallel_conductors, n, rtol=5e-5)
    assert_allclose(mesh.spacing_factor, Km, rtol=7e-4)  # three digits in the last row
    assert_allclose(mesh.voltage, Em, rtol=DIGITS)
    if printed_Em is not None:
        assert_allclose(mesh.voltage, printed_Em, rtol=PRINT)


@pytest.mark.parametrize(("plan", "printed"), [(B1, 2.272), (B3, 2.324)])
def test_irregularity(plan, printed):
    assert_allclose(plan.irregularity, printed, rtol=5e-4)
    assert mesh_voltage(plan, **COMMON).irregularity == plan.irregularity


@pytest.mark.parametrize(
    ("plan", "Ks", "Es"),
    # Annex B prints 0.406 and 548.9 for the first (from memory); the others recomputed only.
    [(B2, 0.4061, 549.1), (B3, 0.4062, 459.4), (B4, None, 513.5)],
)
def test_step_voltage(plan, Ks, Es):
    step = perimeter_step_voltage(plan, **COMMON)
    if Ks is not None:
        assert_allclose(step.spacing_factor, Ks, rtol=2e-4)
    assert_allclose(step.voltage, Es, rtol=DIGITS)


def test_step_voltage_as_printed():
    step = perimeter_step_voltage(B2, **COMMON)
    assert_allclose([step.spacing_factor, step.voltage], [0.406, 548.9], rtol=PRINT)


def test_mesh_voltage_is_within_a_tenth_of_the_field():
    # Field values by method of moments, computed independently: centre of the corner mesh.
    for plan, field in ((B1, 924.0), (B2, 711.0)):
        assert_allclose(mesh_voltage(plan, **COMMON).voltage, field, rtol=0.10)


def test_grid_resistance_is_five_to_twelve_per_cent_above_the_field():
    # Field values by method of moments, computed independently: 2.647 and, with rods, 2.50.
    for plan, field in ((B1, 2.647), (B2, 2.50)):
        value = sverak_resistance(
            resistivity=400.0,
            area=4900.0,
            conductor_length=total_length(plan),
            depth=0.5,
        )
        assert 1.04 < value / field < 1.12


HANDBOOK = SchwarzCoefficients(k1=1.15, k2=4.75)


def handbook_grid(side, meshes, rod_length, lower, upper):
    """Case C.3 of the handbook: square grid, rods in the lower soil, grid in the upper."""
    return schwarz_resistance(
        grid_resistivity=upper,
        rod_resistivity=lower,
        area=side**2,
        conductor_length=2 * (meshes + 1) * side,
        conductor_radius=0.005,
        depth=0.5,
        rod_count=meshes + 1,
        rod_length=rod_length,
        rod_radius=0.01,
        coefficients=HANDBOOK,
    )


def test_schwarz_step_by_step():
    # A. L. Sheldrake, Handbook of Electrical Engineering, Wiley 2003, Appendix H, case C.3:
    # printed 227.86, 17.541, 30.82, 16.582 ohm; four digits printed.
    value = handbook_grid(10.0, 5, 50.0, 1000.0, 5000.0)
    printed = [227.86, 17.541, 30.82, 16.582]
    assert_allclose([value.grid, value.rods, value.mutual, value.combined], printed, rtol=1e-4)


@pytest.mark.parametrize(
    ("rod_length", "lower", "upper", "printed"),
    [
        (10.0, 100.0, 1000.0, (4.421, 3.716, 3.215, 2.838, 2.544, 2.307)),
        (10.0, 1000.0, 5000.0, (44.13, 37.11, 32.12, 28.37, 25.43, 23.07)),
        (50.0, 1000.0, 5000.0, (21.33, 18.59, 16.58, 15.02, 13.76, 12.71)),
    ],
)
def test_schwarz_table(rod_length, lower, upper, printed):
    # Same source, table of combined resistance for sides of 6 to 16 m in 3 to 8 meshes; four
    # digits printed. A formula check: the grid term takes the top layer alone.
    value = [
        handbook_grid(2.0 * meshes, meshes, rod_length, lower, upper).combined
        for meshes in range(3, 9)
    ]
    assert_allclose(value, printed, rtol=1e-3)


@pytest.mark.parametrize(
    ("relative", "aspect", "k1", "k2"),
    # The standard's three lines (from memory) at their own depths.
    [(1e-9, 2.0, 1.33, 5.80), (0.1, 3.0, 1.05, 4.98), (1 / 6, 4.0, 0.93, 4.20)],
)
def test_schwarz_coefficients_at_the_three_depths(relative, aspect, k1, k2):
    value = schwarz_coefficients(area=100.0, depth=relative * 10.0, aspect=aspect)
    assert_allclose([value.k1, value.k2], [k1, k2], rtol=1e-7)


def test_schwarz_coefficients_are_continuous_between_the_lines():
    below, above = (
        schwarz_coefficients(area=100.0, depth=1.0 + shift, aspect=2.5)
        for shift in (-1e-9, 1e-9)
    )
    assert_allclose([below.k1, below.k2], [above.k1, above.k2], rtol=1e-8)


def test_laurent_niemann_tends_to_the_disc():
    # Any amount of conductor leaves the disc of the same area on the surface, rho / 4r.
    value = laurent_niemann_resistance(
        resistivity=400.0, area=np.pi * 30.0**2, conductor_length=1e12
    )
    assert_allclose(value, 400.0 / 120.0, rtol=1e-9)


def test_deep_sverak_grid_has_half_the_shallow_spreading_term():
    # 1 + 1 / (1 + h sqrt(20/A)) lies between 2 and 1; h sqrt(20/A) = 0.1 here.
    value = sverak_resistance(
        resistivity=1.0, area=20.0 * 25.0, conductor_length=1e12, depth=0.5
    )
    assert_allclose(value, (1 + 1 / 1.1) / 100.0, rtol=1e-9)


def test_grid_formulas_scale_with_resistivity_and_current():
    for formula in (mesh_voltage, perimeter_step_voltage):
        one = formula(B3, resistivity=100.0, current=10.0).voltage
        # proportional to both, exact but for rounding
        assert_allclose(formula(B3, resistivity=300.0, current=70.0).voltage, 21 * one)


AREA = {"resistivity": 400.0, "area": 4900.0, "conductor_length": 1540.0}
SCHWARZ = {
    "grid_resistivity": 400.0,
    "rod_resistivity": 400.0,
    "area": 4900.0,
    "conductor_length": 1540.0,
    "conductor_radius": 0.005,
    "depth": 0.5,
    "rod_count": 20,
    "rod_length": 7.5,
    "rod_radius": 0.008,
    "coefficients": HANDBOOK,
}
COEFFICIENTS = {"area": 4900.0, "depth": 0.5, "aspect": 1.0}


@pytest.mark.parametrize(
    ("formula", "arguments", "message"),
    [
        (laurent_niemann_resistance, AREA | {"area": 0.0}, "niemann_resistance: area: got 0"),
        (
            laurent_niemann_resistance,
            AREA | {"conductor_length": 240.0},
            r"circle of area: got 0.967\d+; must be at least 1: the conductor must",
        ),
        (sverak_resistance, AREA | {"depth": 0.0}, "sverak_resistance: depth: got 0; must be"),
        (sverak_resistance, AREA | {"depth": 0.2}, "depth: got 0.2; must be from 0.25 to 2.5"),
        (
            sverak_resistance,
            AREA | {"depth": 0.5, "conductor_length": 1.0},
            "sverak.*the conductor must at least run round",
        ),
        (
            schwarz_coefficients,
            COEFFICIENTS | {"aspect": 9.0},
            "aspect: got 9; must be from 1",
        ),
        (
            schwarz_coefficients,
            COEFFICIENTS | {"depth": 14.0},
            "root of area: got 0.2; must",
        ),
        (schwarz_coefficients, COEFFICIENTS | {"area": -1.0}, "coefficients: area: got -1"),
        (
            schwarz_resistance,
            SCHWARZ | {"rod_count": 0},
            "resistance: rod_count: got 0",
        ),
        (
            schwarz_resistance,
            SCHWARZ | {"depth": 0.01},
            "depth / conductor_radius: got 2",
        ),
        (schwarz_resistance, SCHWARZ | {"rod_radius": 1.5}, "rod_length / rod_radius: got 5"),
        (
            schwarz_resistance,
            SCHWARZ | {"rod_length": 4000.0},
            "conductor_length / rod_length: got 0.385; must be at least 0.5",
        ),
        (
            schwarz_resistance,
            SCHWARZ | {"conductor_length": 100.0},
            "schwarz.*the conductor must at least run round",
        ),
    ],
)
def test_grid_formulas_refuse_what_they_do_not_hold_for(formula, arguments, message):
    with pytest.raises(CaseError, match=message):
        formula(**arguments)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"spacing": 0.0}, "GridPlan: spacing: got 0; must be positive"),
        ({"rod_count": 4}, "GridPlan: rod_length: got 0; must be positive"),
        ({"rod_length": 3.0}, "GridPlan: rod_count: got 0; must be positive"),
        ({"depth": 3.0}, "depth: got 3; must be from 0.25 to 2.5: bound of the standard"),
        ({"spacing": 2.0}, "spacing: got 2; must be at least 2.5"),
        ({"conductor_radius": 0.1}, "conductor diameter / depth: got 0.4; must be at most"),
        ({"area": 5000.0}, r"area / \(length_x length_y\): got 1.02\d+; must be at most 1"),
        ({"conductor_length": 200.0}, "conductor_length / perimeter: got 0.71"),
        ({"conductor_length": 4000.0}, r"conductors n: got 28.57\d+; must be from 2 to 25"),
        ({"conductor_length": 260.0, "perimeter": 260.0}, r"conductors n: got 1.92\d+; must"),
    ],
)
def test_grid_plan_refuses_what_the_standard_does_not_cover(changed, message):
    with pytest.raises(CaseError, match=message):
        replace(B1, **changed)


@pytest.mark.parametrize("formula", [mesh_voltage, perimeter_step_voltage])
@pytest.mark.parametrize(
    ("current", "message"), [(0.0, "voltage: current: got 0"), (np.inf, "current: got inf")]
)
def test_grid_voltages_refuse_a_current_that_is_none(formula, current, message):
    with pytest.raises(CaseError, match=message):
        formula(B1, resistivity=400.0, current=current)
