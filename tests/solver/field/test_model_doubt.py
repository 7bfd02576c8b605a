"""What a result says that the model leaves open, beside level fill as it is."""

from dataclasses import replace

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.field.elements import line_elements
from ohmscape.solver.field.model_doubt import model_doubt
from ohmscape.solver.model import Soil

RHO = 100.0


def _above(depth, *, inner, outer, fill):
    """Potential at the surface above long level fill, less that of its axis alone. [V per A/m]

    In the plane across, harmonics round the fill and its image, of which each is given by the
    potential and the current that pass the face of the fill.
    """
    count = 12
    angle = 2 * np.pi * np.arange(64) / 64
    n = np.arange(1, count + 1)

    def outside(x, y):
        """Value of the source and its image, and of each harmonic with its image."""
        own, image = x + 1j * (y + depth), x + 1j * (depth - y)
        source = -RHO / (2 * np.pi) * (np.log(abs(own)) + np.log(abs(image)))
        # Even about the vertical: real parts with the vertical as the axis.
        own, image = own / 1j, image / 1j
        waves = [np.real(z[..., None] ** -n) for z in (own, image)]
        return source, waves[0] + waves[1]

    def at(radius):
        return outside(radius * np.sin(angle), radius * np.cos(angle) - depth)

    step = 1e-5 * outer
    part = 2 * np.cos(np.outer(n, angle)) / len(angle)
    value, waves = (part @ each for each in at(outer))
    slope, slopes = (
        part @ ((there - here) / (2 * step))
        for there, here in zip(at(outer + step), at(outer - step), strict=True)
    )
    # Through fill with metal in it, σ times the slope goes with the value.
    ratio = (inner / outer) ** (2 * n)
    passing = RHO / fill * n / outer * (1 + ratio) / (1 - ratio)
    harmonics = np.linalg.solve(slopes - passing[:, None] * waves, passing * value - slope)
    waves = outside(np.zeros(1), np.zeros(1))[1]
    return float((waves @ harmonics)[0])


@pytest.mark.parametrize(("depth", "outer"), [(0.3, 0.1), (0.5, 0.1), (0.8, 0.05)])
@pytest.mark.parametrize("fill", [1.0, 30.0, 2000.0])
def test_wide_level_fill_is_off_by_its_dipole(depth, outer, fill):
    metal = lay.wire(length=30.0, radius=0.005, depth=depth)
    metal = replace(
        metal,
        sheath_radius=np.array([outer]),
        sheath_resistivity=np.array([fill]),
        sheath_cover=np.array([outer]),
    )
    elements = line_elements(
        metal, soil=Soil((RHO,)), element_size=np.array([0.5]), spread=np.array([0.5])
    )
    even = elements.length[None]
    resistance, voltage = model_doubt(
        elements, conductors=metal, soil=Soil((RHO,)), current=even
    )
    true = abs(_above(depth, inner=0.005, outer=outer, fill=fill))
    # More harmonics than the dipole, and the images of dipoles in one another.
    assert_allclose(voltage, true, rtol=0.2)
    assert_allclose(resistance, 0.25 * voltage, rtol=1e-6)


@pytest.mark.parametrize(("beyond", "open"), [(0.02, True), (0.3, False), (-0.02, False)])
def test_an_inclined_tip_just_in_better_soil_is_open(beyond, open):
    metal = lay.rod(length=2.0, radius=0.009)
    metal = replace(metal, end=np.add(metal.end, [0.5, 0.0, 0.0]))
    soil = Soil((800.0, 20.0), (2.0 - beyond,))
    elements = line_elements(
        metal, soil=soil, element_size=np.array([0.2]), spread=np.array([0.3])
    )
    even = elements.length[None]
    doubts = model_doubt(elements, conductors=metal, soil=soil, current=even)
    share = elements.length[elements.layer == 1].sum() / elements.length.sum()
    assert_allclose(doubts, 0.05 * share if open else 0.0)


def test_bare_and_vertical_metal_leaves_nothing_open():
    soil = Soil((RHO, 20.0), (1.0,))
    rod = lay.rod(length=2.0, radius=0.008)
    filled = replace(
        rod,
        sheath_radius=np.array([0.1]),
        sheath_resistivity=np.array([2.0]),
        sheath_cover=np.array([0.1]),
    )
    for metal in (rod, filled):
        elements = line_elements(
            metal, soil=soil, element_size=np.array([0.2]), spread=np.array([0.3])
        )
        even = elements.length[None]
        assert model_doubt(elements, conductors=metal, soil=soil, current=even) == (0.0, 0.0)
