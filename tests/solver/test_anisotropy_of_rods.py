"""Rods with their true faces and fill in anisotropic soil, by elements that know it directly.

The reference stretches nothing: quadrilaterals of degree 2 in the half-plane (radius, depth)
with a conductivity of its own in each direction, the faces of metal and fill among their
sides. For the plain rod in even soil it comes within 0.01 % of the boundary integral of its
true face, 33.194 Ω.
"""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementQuad2, MeshQuad

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.solver.anisotropy import twin_of
from ohmscape.solver.errors import CaseError
from ohmscape.solver.field.solution import solve
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.thin_wire import second_opinion


def graded(lines, *, first, far, growth=1.35):
    """Coordinates through some lines, from steps of `first` at each, and on to `far`."""
    found = []
    for low, high in pairwise(lines):
        steps, step, gap = [0.0], min(first, (high - low) / 4), high - low
        while steps[-1] + step < gap / 2:
            steps.append(steps[-1] + step)
            step *= growth
        count = max(2, int(np.ceil((gap - 2 * steps[-1]) / step)) + 1)
        between = np.linspace(steps[-1], gap - steps[-1], count)
        found.append(low + np.concatenate([steps, between, gap - np.array(steps)]))
    end, step = [lines[-1]], first
    while end[-1] < far:
        end.append(end[-1] + step)
        step *= growth
    return np.unique(np.round(np.concatenate([*found, end]), 12))


@BilinearForm
def conduction(u, v, w):
    radial = w.sideways * u.grad[0] * v.grad[0]
    return (radial + w.upright * u.grad[1] * v.grad[1]) * w.x[0]


def rod_resistance(length, radius, *, soil, fill=None):
    """Of a rod driven from the surface; fill is its radius, resistivity and cover."""
    outer, resistivity, cover = fill or (radius, 1.0, 0.0)
    across = graded(sorted({0.0, radius, outer}), first=0.08 * radius, far=4e3 * length)
    down = graded(sorted({0.0, length, length + cover}), first=0.08 * radius, far=4e3 * length)
    mesh = MeshQuad.init_tensor(across, down)
    r, z = mesh.p[:, mesh.t].mean(axis=1)
    mesh = mesh.restrict(np.flatnonzero((r > radius) | (z > length)))
    r, z = mesh.p[:, mesh.t].mean(axis=1)
    filled = (r < outer) & (z < length + cover)
    basis = Basis(mesh, ElementQuad2(), intorder=5)
    sigma = [
        np.repeat(np.where(filled, 1 / resistivity, 1 / rho)[:, None], basis.X.shape[1], 1)
        for rho in (soil.resistivity[0], soil.upright[0])
    ]
    matrix = conduction.assemble(basis, sideways=sigma[0], upright=sigma[1])
    r, z = basis.doflocs
    metal = (r <= radius + 1e-9) & (z <= length + 1e-9)
    free = ~metal & (r < across[-1] * (1 - 1e-9)) & (z < down[-1] * (1 - 1e-9))
    volts = metal.astype(float)
    volts[free] = splu(matrix[free][:, free].tocsc()).solve(-(matrix @ volts)[free])
    return 1 / (2 * np.pi * (volts @ (matrix @ volts)))


def beds(horizontal, vertical):
    return Soil((horizontal,), vertical_resistivity=(vertical,))


def both(length, radius, *, soil, fill=None, contact=0.0):
    metal = Conductors.bare([0.0, 0.0, 0.0], end=[0.0, 0.0, -length], radius=radius)
    metal = replace(metal, contact=np.array([contact]))
    if fill is not None:
        names = ("sheath_radius", "sheath_resistivity", "sheath_cover")
        metal = replace(
            metal, **{name: np.array([x]) for name, x in zip(names, fill, strict=True)}
        )
    plan = mesh_plan(metal, soil=soil, fineness=1.6, growth_limit=0.4)
    found = solve(build_mesh(plan), soil=soil, conductors=metal)
    other = second_opinion(metal, soil=soil)
    return (*(1 / each.current_matrix[0, 0] for each in (found, other)), other.resistance_error)


def test_the_reference_is_right_for_even_soil_and_for_beds():
    assert_allclose(rod_resistance(3.0, 0.008, soil=Soil((100.0,))), 33.194, rtol=2e-4)
    # Computed independently: coordinate stretch, thin wire (0.04 % above the true face).
    assert_allclose(rod_resistance(3.0, 0.008, soil=beds(100.0, 400.0)), 36.922, rtol=1e-3)
    assert_allclose(rod_resistance(3.0, 0.008, soil=beds(200.0, 50.0)), 58.953, rtol=1e-3)


@pytest.mark.parametrize(
    ("length", "radius", "fill", "soil"),
    [
        (1.0, 0.05, None, beds(100.0, 900.0)),  # a post
        (3.0, 0.008, (0.1, 2.0, 0.0), beds(100.0, 400.0)),
        (3.0, 0.008, (0.1, 2.0, 0.2), beds(100.0, 900.0)),
        (3.0, 0.008, (0.1, 1000.0, 0.1), beds(100.0, 400.0)),
        (2.0, 0.01, (0.2, 60.0, 0.1), beds(400.0, 100.0)),
        (1.0, 0.01, (0.2, 30.0, 0.1), beds(100.0, 400.0)),
    ],
)
def test_posts_and_rods_in_fill(length, radius, fill, soil):
    exact = rod_resistance(length, radius, soil=soil, fill=fill)
    found, other, stated = both(length, radius, soil=soil, fill=fill)
    assert_allclose(found, exact, rtol=1e-3)
    assert_allclose(other, exact, rtol=stated)


def test_a_film_on_a_post_is_no_thicker_on_its_end():
    # A film so poor that current leaves evenly: all of its face in parallel, end included.
    soil, length, radius = beds(1.0, 16.0), 0.5, 0.1
    film = 1e4
    face = 2 * np.pi * radius * length + np.pi * radius**2
    found, _, _ = both(length, radius, soil=soil, contact=film)
    assert_allclose(found, film / face, rtol=1e-3)


def test_level_fill_must_be_long_for_its_width():
    wire = Conductors.bare([0.0, 0.0, -1.5], end=[2.0, 0.0, -1.5], radius=0.005)
    encased = replace(wire, sheath_radius=np.array([0.15]))
    with pytest.raises(CaseError, match=r"too short for its width: its ends leave 3\.8 % open"):
        twin_of(encased, soil=beds(100.0, 400.0))
