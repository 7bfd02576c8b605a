"""Handbook formulas beside the field result, where the layout is one they were made for."""

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull, cKDTree

from ..anisotropy import twin_of
from ..drives import OperatingPoint
from ..errors import CaseError
from ..model import Conductors, Floats, Integers, Soil
from . import (
    buried_wire_resistance,
    driven_rod_resistance,
    laurent_niemann_resistance,
    ring_resistance,
    rod_in_upper_layer_resistance,
    sverak_resistance,
)
from .plate_check import plate_formulas

_dwight = "H. B. Dwight, AIEE Trans. 55, 1936 (in IEEE Std 142)"
_flat = 0.02  # heights and radii that differ by this share still count as equal


@dataclass(frozen=True)
class OrderCheck:
    """A handbook formula beside the field result; the formula is the rougher of the two.

    Attributes
    ----------
    electrode, formula, source : str
        Which electrode, which formula and where it is from.
    formula_resistance, field_resistance : float
        [Ω]
    """

    electrode: str
    formula: str
    source: str
    formula_resistance: float
    field_resistance: float


def order_checks(
    conductors: Conductors,
    *,
    soil: Soil,
    operating: OperatingPoint,
    contact_resistance: Sequence[float] = (),
) -> tuple[OrderCheck, ...]:
    """Formulas that fit an electrode group which is not bonded to another.

    Empty where no formula applies: several layers (but for a rod in the upper one), bodies in
    the soil, contact films or resistances in series [Ω], backfill, mixed layouts. Of layers
    that conduct otherwise upright it is the formula in their isotropic twin.
    """
    checks: list[OrderCheck] = []
    if soil.bodies:
        return ()
    stretched = "" if soil.isotropic else ", depths stretched for the vertical resistivity"
    twin = twin_of(conductors, soil=soil)
    conductors, soil = twin.conductors, twin.soil
    for group, name in enumerate(conductors.group_names):
        number = operating.bonded_set[group]
        alone = (operating.bonded_set == number).sum() == 1
        pieces = np.flatnonzero(conductors.group == group)
        plain = (conductors.contact[pieces] == 0).all() and (
            conductors.sheath_radius[pieces] == conductors.radius[pieces]
        ).all()
        if not (alone and plain) or any(contact_resistance[group : group + 1]):
            continue
        field = float(operating.resistance[number, number])
        for formula, source, value in _fitting(conductors, pieces=pieces, soil=soil):
            checks.append(OrderCheck(name, formula + stretched, source, value, field))
    return tuple(checks)


def _fitting(
    conductors: Conductors, *, pieces: Integers, soil: Soil
) -> Iterator[tuple[str, str, float]]:
    """Formulas that fit some pieces: name, source, resistance."""
    if conductors.flat[pieces].any():
        with suppress(CaseError):
            yield from plate_formulas(conductors, pieces=pieces, soil=soil)
        return
    for candidate in (_rod, _wire, _ring, _grid):
        try:
            yield from candidate(conductors, pieces, soil)
        except CaseError:
            continue  # the formula refuses these proportions: it does not apply


def _rod(
    conductors: Conductors, pieces: Integers, soil: Soil
) -> Iterator[tuple[str, str, float]]:
    """One vertical rod from the surface."""
    if len(pieces) != 1:
        return
    k = pieces[0]
    top = max(conductors.start[k, 2], conductors.end[k, 2])
    length = float(conductors.length[k])
    radius = float(conductors.radius[k])
    if abs(conductors.direction[k, 2]) < 1 - 1e-9 or -top > _flat * length:
        return
    if len(soil.resistivity) == 1:
        yield (
            "driven rod",
            _dwight,
            driven_rod_resistance(
                resistivity=soil.resistivity[0], length=length, radius=radius
            ),
        )
    elif len(soil.resistivity) == 2 and length < soil.thickness[0]:
        yield (
            "rod in the upper of two layers",
            "E. D. Sunde, Earth Conduction Effects, 1949; G. F. Tagg, Earth Resistances, 1964",
            rod_in_upper_layer_resistance(
                upper_resistivity=soil.resistivity[0],
                lower_resistivity=soil.resistivity[1],
                thickness=soil.thickness[0],
                length=length,
                radius=radius,
            ),
        )


def _level(conductors: Conductors, pieces: Integers) -> tuple[Floats, Floats] | None:
    """Plan ends of the pieces if all lie at one depth, else None."""
    heights = np.concatenate([conductors.start[pieces, 2], conductors.end[pieces, 2]])
    if np.ptp(heights) > _flat * abs(heights.mean()):
        return None
    return conductors.start[pieces, :2], conductors.end[pieces, :2]


def _wire(
    conductors: Conductors, pieces: Integers, soil: Soil
) -> Iterator[tuple[str, str, float]]:
    """One straight horizontal wire."""
    level = _level(conductors, pieces)
    if len(soil.resistivity) > 1 or len(pieces) != 1 or level is None:
        return
    k = pieces[0]
    yield (
        "buried horizontal wire",
        _dwight,
        buried_wire_resistance(
            resistivity=soil.resistivity[0],
            length=float(conductors.length[k]),
            radius=float(conductors.radius[k]),
            depth=float(-conductors.start[k, 2]),
        ),
    )


def _ring(
    conductors: Conductors, pieces: Integers, soil: Soil
) -> Iterator[tuple[str, str, float]]:
    """A closed horizontal ring drawn as a polygon of at least 12 sides."""
    level = _level(conductors, pieces)
    if len(soil.resistivity) > 1 or len(pieces) < 12 or level is None:
        return
    start, end = level
    centre = start.mean(axis=0)
    distance = np.linalg.norm(start - centre, axis=1)
    closed = np.max(cKDTree(start).query(end)[0]) < 1e-6 * distance.max()
    if not closed or np.ptp(distance) > _flat * distance.mean():
        return
    yield (
        "ring of wire",
        _dwight,
        ring_resistance(
            resistivity=soil.resistivity[0],
            diameter=float(conductors.length[pieces].sum() / np.pi),
            radius=float(conductors.radius[pieces].mean()),
            depth=float(-conductors.start[pieces, 2].mean()),
        ),
    )


def _grid(
    conductors: Conductors, pieces: Integers, soil: Soil
) -> Iterator[tuple[str, str, float]]:
    """A meshed level grid, with or without vertical rods below it."""
    upright = np.abs(conductors.direction[pieces, 2]) > 1 - 1e-9
    flat = pieces[~upright]
    level = _level(conductors, flat) if len(flat) else None
    if len(soil.resistivity) > 1 or level is None:
        return
    nodes = np.unique(np.round(np.concatenate(level), 6), axis=0)
    meshes = len(flat) - len(nodes) + 1
    if meshes < 4:
        return
    area = float(ConvexHull(nodes).volume)
    total = float(conductors.length[pieces].sum())
    depth = float(-conductors.start[flat, 2].mean())
    resistivity = soil.resistivity[0]
    yield (
        "grid (Laurent, Niemann)",
        "IEEE Std 80-2000, clause 14, from memory",
        laurent_niemann_resistance(resistivity=resistivity, area=area, conductor_length=total),
    )
    yield (
        "grid (Sverak)",
        "IEEE Std 80-2000, clause 14, from memory",
        sverak_resistance(
            resistivity=resistivity, area=area, conductor_length=total, depth=depth
        ),
    )
