r"""The isotropic twin of layers that lead better sideways than upright, and of metal in them.

With :math:`\lambda = \sqrt{\rho_v / \rho_h}` of each layer, div (σ grad φ) = 0 in z is the
equation of Laplace in z' where dz' = λ dz, with the resistivity :math:`\sqrt{\rho_h \rho_v}`:
current through a plane per area of it stays what it is, and so do all potentials and currents,
in any layers (R. Maillet, Geophysics 12, 1947; G. V. Keller & F. C. Frischknecht, *Electrical
Methods in Geophysical Prospecting*, 1966; both from memory).

Metal of radius a becomes an elliptic cylinder. A length ℓ becomes s ℓ, with :math:`s^2 = \cos^2
\alpha + \lambda^2 \sin^2 \alpha` at an inclination α; the volume becomes λ times as much, so
the half-axes across are a, level, and λ a / s. An ellipse and the circle of its mean half-axis
have the same field some radii away (z + c²/z maps one on the other; nearer, potentials beside
level and inclined metal are those round the circle), and an ellipse at one
potential leaks evenly per angle of the circle that it was: current leaves the round metal, and
passes films and round fill, evenly all round. They keep the ratio of their radii, and per
length their drop. What spreads in fill beyond the end of metal is solved as it really is
(`Conductors.stretched_by`); flat ends of vertical metal stay what they are.
"""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from .errors import CaseError
from .model import Conductors, Flags, Floats, Integers, Soil

# In the larger half-axis: how near level metal may come to the surface and to planes. Against
# charges round an ellipse under the surface, a long wire is 0.04 % of a usual rise off there,
# the surface over it 0.13 %; at 3 half-axes 0.13 and 0.51 % (λ from 0.1 to 10).
_nearest = 6.0
# Ends of level and inclined fill are no flat ones: their share of the leaking face times how
# much it is stretched.
_of_ends = 0.01
_no_plates = (
    "is a plate, and plates are not solved in soil with a vertical resistivity of its own; "
    "give each layer one resistivity, or leave the plates out"
)


@dataclass(frozen=True)
class Twin:
    """Isotropic soil and metal with the same potentials and currents.

    Attributes
    ----------
    soil : Soil
        Layers alike in all directions, λ times as thick.
    conductors : Conductors
        The metal in it, in n pieces.
    piece : ndarray of int, shape (n,)
        Piece of the real conductors that each one is, or is a part of.
    """

    soil: Soil
    conductors: Conductors
    piece: Integers


def isotropic(soil: Soil) -> Soil:
    """Soil of the twin: √(ρ_h ρ_v), and λ times as thick; the same where λ is 1 everywhere."""
    if soil.isotropic:
        return soil
    return replace(
        soil,
        resistivity=tuple(np.sqrt(np.multiply(soil.resistivity, soil.upright)).tolist()),
        thickness=tuple((np.array(soil.thickness) * soil.anisotropy[:-1]).tolist()),
        vertical_resistivity=None,
    )


def stretched(points: Floats, *, soil: Soil) -> Floats:
    """Places in the twin of points of shape (n, 3), z up. [m]"""
    if soil.isotropic:
        return points
    twin = isotropic(soil)
    return _moved(points, into=twin, layer=soil.layer_at(-points[:, 2]), soil=soil)


def unstretched(points: Floats, *, soil: Soil) -> Floats:
    """Places in the soil of points of its twin, of shape (n, 3), z up. [m]"""
    if soil.isotropic:
        return points
    twin = isotropic(soil)
    return _moved(points, into=soil, layer=twin.layer_at(-points[:, 2]), soil=twin)


def _moved(points: Floats, *, into: Soil, layer: Integers, soil: Soil) -> Floats:
    """Points of one soil at the same shares of the layers of the other."""
    before, after = (np.append(0.0, one.interface_depth) for one in (soil, into))
    stretch = soil.anisotropy if into.isotropic else 1.0 / into.anisotropy
    moved = points.copy()
    moved[:, 2] = -(after[layer] + (-points[:, 2] - before[layer]) * stretch[layer])
    return moved


def round_metal(direction: Floats, *, stretch: Floats) -> Floats:
    r"""How much harder current gets round metal than sideways: √(ρ_n / ρ_h), shape (n,).

    With :math:`\rho_n` upright across the metal, which is :math:`\rho_v` where it is level and
    :math:`\rho_h` where it is vertical.

    Parameters
    ----------
    direction : ndarray of float, shape (n, 3)
        Unit vectors along the metal.
    stretch : ndarray of float, shape (n,)
        λ of the layer of each.
    """
    upright = direction[:, 2] ** 2
    return np.asarray(stretch / np.sqrt(1 - upright + stretch**2 * upright))


def twin_of(conductors: Conductors, *, soil: Soil) -> Twin:
    """Isotropic twin of soil and metal; both as they are where the soil is isotropic.

    Raises
    ------
    CaseError
        If bodies or metal lie so that the twin is none: `problems_of_twin`.
    """
    if soil.isotropic:
        return Twin(soil, conductors, np.arange(len(conductors.radius)))
    problems = [
        f"piece {k + 1}, of part {conductors.part_names[int(conductors.part[k])]!r}, {words}"
        for k, words in problems_of_pieces(conductors, soil=soil)
    ]
    problems += [words for _, words in problems_of_bodies(soil)]
    if problems:
        raise CaseError("; ".join(problems))
    cut, piece = _cut_at_planes(conductors, soil=soil)
    start, end = (stretched(ends, soil=soil) for ends in (cut.start, cut.end))
    longer = np.linalg.norm(end - start, axis=1) / cut.length
    wider = 0.5 * (1 + round_metal(cut.direction, stretch=_stretch(cut, soil=soil)))
    wider[_vertical(cut)] = 1.0
    twin = replace(
        cut,
        start=start,
        end=end,
        radius=wider * cut.radius,
        contact=longer * wider * cut.contact,
        sheath_radius=wider * cut.sheath_radius,
        sheath_resistivity=longer * cut.sheath_resistivity,
        sheath_cover=longer * cut.sheath_cover,
        stretched_by=np.stack([longer, wider], axis=1),
    )
    return Twin(isotropic(soil), twin, piece)


def problems_of_bodies(soil: Soil) -> list[tuple[int, str]]:
    """Number of each body that reaches an anisotropic layer, and what is wrong with it."""
    if soil.isotropic:
        return []
    first = int(np.flatnonzero(soil.anisotropy != 1.0)[0])
    top = float(np.append(0.0, soil.interface_depth)[first])
    return [
        (
            number,
            f"body {body.name!r} goes down to layer {first + 1} of the soil, which has a "
            "vertical resistivity of its own: a body there is not solved; end it above "
            f"{top:g} m, or give the layer one resistivity",
        )
        for number, body in enumerate(soil.bodies)
        if body.shape.bottom > top + 1e-9
    ]


def problems_of_pieces(conductors: Conductors, *, soil: Soil) -> list[tuple[int, str]]:
    """Number of each piece of metal that is not thin enough, and what is wrong with it."""
    if soil.isotropic:
        return []
    planes, beside = np.append(0.0, soil.interface_depth), np.append(1.0, soil.anisotropy)
    planes = planes[(beside[:-1] != 1.0) | (beside[1:] != 1.0)]
    stretch, outer = _stretch(conductors, soil=soil), conductors.sheath_radius
    room = np.where(stretch == 1, outer, _nearest * outer * np.maximum(1, 1 / stretch))
    # Of the end that is farther away: what runs through a plane, or up to it, may.
    ends = -np.stack([conductors.start[:, 2], conductors.end[:, 2]])
    gap = np.abs(ends[:, :, None] - planes).max(axis=0)
    found = [(int(k), _no_plates) for k in np.flatnonzero(conductors.flat)[:1]]
    for k in np.flatnonzero(
        ~_vertical(conductors) & ~conductors.flat & (gap.min(axis=1) < room)
    ).tolist():
        plane = planes[gap[k].argmin()]
        where = "the surface" if plane == 0 else f"the layer plane {plane:g} m deep"
        words = (
            f"lies {gap[k].min():.3g} m from {where}, beside soil with a vertical resistivity "
            f"of its own: it is taken as thin there and must be {room[k]:.3g} m away; move it, "
            "or give the layer one resistivity"
        )
        found.append((k, words))
    if not conductors.flat.any():
        found += _thick_ends(conductors, stretch=stretch)
    return sorted(found)


def _thick_ends(conductors: Conductors, *, stretch: Floats) -> list[tuple[int, str]]:
    """Level and inclined pieces with fill of which the end faces are not small."""
    covered = ~_vertical(conductors) & (conductors.sheath_radius > conductors.radius)
    length = np.bincount(conductors.group, weights=conductors.length)[conductors.group]
    off = np.maximum(stretch, 1 / stretch) - 1
    share = conductors.sheath_radius / (2 * length) * off
    return [
        (
            k,
            "has a coating or fill in a layer with a vertical resistivity of its own, is not "
            f"vertical, and too short for its width: its ends leave {100 * share[k]:.1f} % "
            "open; give the layer one resistivity, or leave the fill out",
        )
        for k in np.flatnonzero(covered & (share > _of_ends)).tolist()
    ]


def _vertical(conductors: Conductors) -> Flags:
    return np.asarray((conductors.start[:, :2] == conductors.end[:, :2]).all(axis=1))


def _stretch(conductors: Conductors, *, soil: Soil) -> Floats:
    """λ of the layer in which the middle of each piece lies, shape (n,)."""
    middle = 0.5 * (conductors.start[:, 2] + conductors.end[:, 2])
    return np.asarray(soil.anisotropy[soil.layer_at(-middle)])


def _cut_at_planes(conductors: Conductors, *, soil: Soil) -> tuple[Conductors, Integers]:
    """Pieces that bend or change their film where λ changes, cut there; and what they were."""
    stretch = soil.anisotropy
    planes = soil.interface_depth[stretch[1:] != stretch[:-1]]
    straight = _vertical(conductors) & (conductors.contact == 0)
    straight &= conductors.sheath_radius == conductors.radius
    piece, begin, end = [], [], []
    for k in range(len(conductors.radius)):
        first, last = -conductors.start[k, 2], -conductors.end[k, 2]
        shares = np.zeros(0)
        if first != last and not straight[k]:
            shares = (planes - first) / (last - first)
        inside = np.sort(shares[(shares > 1e-9) & (shares < 1 - 1e-9)])
        for low, high in pairwise([0.0, *inside.tolist(), 1.0]):
            piece.append(k)
            begin.append(low)
            end.append(high)
    if len(piece) == len(conductors.radius):
        return conductors, np.arange(len(piece))
    number = np.array(piece)
    return conductors.cut(number, begin=np.array(begin), end=np.array(end)), number
