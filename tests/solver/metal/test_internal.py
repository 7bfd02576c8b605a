"""Internal impedance of metal against closed forms, tables and limits."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.constants import mu_0
from scipy.special import jv

from ohmscape.solver.heating import MATERIALS, material
from ohmscape.solver.metal.internal import Bar, clad_wire, round_wire, strip, tube

COPPER, STEEL = 1.7241e-8, 1.59e-7


def test_a_round_wire_is_the_table_of_rosa_and_grover():
    # Rosa and Grover 1912, formulas and tables for inductance, R/R0 and L/L0 at
    # x = a sqrt(2)/δ; from memory.
    x = np.array([1.0, 2.0, 3.0, 5.0, 10.0])
    frequency, radius = 50.0, 0.005
    skin = radius * np.sqrt(2) / x
    resistance = [1.0052, 1.0782, 1.3181, 2.0427, 3.7986]
    inductance = [0.99741, 0.96114, 0.84517, 0.55597, 0.28162]
    for depth, more, less in zip(skin, resistance, inductance, strict=True):
        resistivity = np.pi * frequency * mu_0 * depth**2
        z = round_wire(radius, resistivity=resistivity, permeability=1.0, frequency=frequency)
        assert_allclose(z.real * np.pi * radius**2 / resistivity, more, rtol=5e-5)
        assert_allclose(z.imag / (frequency * mu_0 / 4), less, rtol=2e-5)


@pytest.mark.parametrize(
    ("radius", "resistivity", "permeability", "frequency", "expected"),
    [
        # Bessel functions, in mΩ/m.
        (0.004, COPPER, 1, 50, 0.34324 + 0.01570j),
        (0.004, COPPER, 1, 60, 0.34334 + 0.01884j),
        (0.005, STEEL, 200, 50, 3.0379 + 2.3929j),
        (0.005, STEEL, 200, 60, 3.2907 + 2.6688j),
        (0.005, STEEL, 100, 50, 2.3753 + 1.4364j),
        (0.005, STEEL, 500, 50, 4.5425 + 3.9283j),
    ],
)
def test_wires_of_copper_and_steel(radius, resistivity, permeability, frequency, expected):
    z = round_wire(
        radius, resistivity=resistivity, permeability=permeability, frequency=frequency
    )
    assert_allclose(1e3 * z, expected, rtol=1e-4)


def test_a_round_wire_by_bessel_functions_of_the_first_kind():
    # J of a complex argument in place of scaled I: another way to the same closed form.
    radius, frequency = 0.006, 60.0
    k = np.sqrt(-2j * np.pi * frequency * mu_0 * 300 / STEEL)
    expected = k * STEEL / (2 * np.pi * radius) * jv(0, k * radius) / jv(1, k * radius)
    z = round_wire(radius, resistivity=STEEL, permeability=300, frequency=frequency)
    assert_allclose(z, expected, rtol=1e-12)


@pytest.mark.parametrize(
    ("frequency", "expected"),
    [(0, 0.04749), (50, 0.1599 + 0.1582j), (60, 0.1748 + 0.1731j)],
)
def test_a_steel_pipe_by_schelkunoff(frequency, expected):
    # 219.1 x 6.3 mm; Schelkunoff 1934, from memory.
    outer = 0.2191 / 2
    z = tube(
        outer - 0.0063, outer=outer, resistivity=2e-7, permeability=300, frequency=frequency
    )
    assert_allclose(1e3 * z, expected, rtol=5e-4)


@pytest.mark.parametrize(
    ("frequency", "expected"),
    [(0, 0.21437), (50, 0.24493 + 0.01722j), (60, 0.24644 + 0.01716j)],
)
def test_copper_clad_steel_of_two_layers_of_bessel_functions(frequency, expected):
    z = clad_wire(
        0.008,
        core=0.006563,
        resistivity=(COPPER, STEEL),
        permeability=200,
        frequency=frequency,
    )
    assert_allclose(1e3 * z, expected, rtol=1e-3)


def test_a_clad_wire_of_one_metal_and_a_tube_without_bore_are_the_wire():
    whole = round_wire(0.005, resistivity=STEEL, permeability=1, frequency=50)
    for core in (1e-4, 0.0025, 0.0049):
        clad = clad_wire(
            0.005, core=core, resistivity=(STEEL, STEEL), permeability=1, frequency=50
        )
        assert_allclose(clad, whole, rtol=1e-9)
    bored = tube(1e-9, outer=0.005, resistivity=STEEL, permeability=1, frequency=50)
    assert_allclose(bored, whole, rtol=1e-9)


def test_thick_metal_has_the_impedance_of_its_skin():
    # Far thicker than its skin, where Bessel functions that are not scaled overflow.
    radius, frequency = 0.5, 1e6
    k = np.sqrt(2j * np.pi * frequency * mu_0 * 200 / STEEL)
    skin = k * STEEL / (2 * np.pi * radius)
    kept = dict(resistivity=STEEL, permeability=200, frequency=frequency)
    assert_allclose(round_wire(radius, **kept), skin, rtol=1e-4)
    assert_allclose(tube(0.1, outer=radius, **kept), skin, rtol=1e-4)
    ribbon = strip(0.5, 0.1, **kept)
    assert_allclose(ribbon, k * STEEL / 1.2, rtol=1e-9)


@pytest.mark.parametrize("frequency", [0.0, 1e-6])
def test_slow_currents_fill_the_section(frequency):
    kept = dict(resistivity=STEEL, permeability=200, frequency=frequency)
    assert_allclose(round_wire(0.005, **kept), STEEL / (np.pi * 0.005**2), rtol=1e-6)
    assert_allclose(strip(0.03, 0.0035, **kept), STEEL / (0.03 * 0.0035), rtol=1e-6)
    ring = np.pi * (0.05**2 - 0.04**2)
    assert_allclose(tube(0.04, outer=0.05, **kept), STEEL / ring, rtol=1e-6)


def test_galvanised_strip_by_the_slab():
    # Slab approximation: no better source is known, 10 % of R and 30 % of X.
    z = strip(0.03, 0.0035, resistivity=2.01e-7, permeability=200, frequency=50)
    assert_allclose(1e3 * z, 1.954 + 0.612j, rtol=1e-3)


@pytest.mark.parametrize("metal", MATERIALS, ids=lambda item: item.name)
def test_every_material_of_the_table_leads_direct_current_as_it_says(metal):
    bar = Bar(metal, permeability=metal.permeability[1])
    radius = np.array([0.004, 0.008])
    z = bar.impedance(radius, frequency=0.0)
    assert_allclose(z, metal.resistivity / (np.pi * radius**2), rtol=1e-9)
    assert (bar.impedance(radius, frequency=60.0).real > z.real).all()


def test_hot_metal_stranded_metal_and_strips_lead_as_their_section_says():
    copper = material("annealed copper")
    assert copper is not None
    radius = np.array([0.0075])
    hot = Bar(copper, 1.0, temperature=120.0).impedance(radius, frequency=0.0)
    cold = Bar(copper, 1.0).impedance(radius, frequency=0.0)
    assert_allclose(hot / cold, 1 + 100 * copper.coefficient)
    stranded = Bar(copper, 1.0, area=95e-6).impedance(radius, frequency=0.0)
    assert_allclose(stranded, copper.resistivity / 95e-6)
    flat = Bar(copper, 1.0, strip=(0.03, 0.004)).impedance(radius, frequency=0.0)
    assert_allclose(flat, copper.resistivity / 120e-6)
