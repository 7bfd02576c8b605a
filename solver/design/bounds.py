"""What may be ruled out unsolved: metal added never raises a resistance.

Rayleigh's law, as J. C. Maxwell has it (*A Treatise on Electricity and Magnetism*, 1873, from
memory): where a conductor is put in the place of soil, no resistance between electrodes rises.
So a design whose metal is part of that of another has no lower resistance than that one. Touch
and step voltages have no such law: a rod more may raise them. None is used for them.
"""

import numpy as np

from ..model import Conductors, Flags, Floats

_same = 1e-6  # distance within which axes coincide [m]


def metal_within(one: Conductors, other: Conductors) -> bool:
    """Whether all metal of one is metal of another too, and what that has more is bare.

    A film, a coating or fill may conduct worse than the soil it takes the place of. Where any
    metal has one, the two must be alike in all of it.

    Parameters
    ----------
    one, other : Conductors
        Metal in the same soil; groups are told by their names.
    """
    if one.group_names != other.group_names or not (_bare(one).all() and _bare(other).all()):
        return False
    return all(_covered(one, piece, other) for piece in range(len(one.radius)))


def _bare(metal: Conductors) -> Flags:
    return np.asarray((metal.contact == 0) & (metal.sheath_radius == metal.radius))


def _covered(one: Conductors, piece: int, other: Conductors) -> bool:
    """Whether pieces of another metal, no thinner, cover all of one piece."""
    begin, length = one.start[piece], one.length[piece]
    unit = one.direction[piece]
    able = (other.group == one.group[piece]) & (other.radius >= one.radius[piece] * (1 - 1e-9))
    spans = np.sort(
        np.stack([_along(other.start, begin, unit)[0], _along(other.end, begin, unit)[0]]),
        axis=0,
    )
    beside = np.maximum(_along(other.start, begin, unit)[1], _along(other.end, begin, unit)[1])
    able &= (beside <= _same) & (spans[1] > -_same) & (spans[0] < length + _same)
    reached = 0.0
    for low, high in sorted(map(tuple, spans[:, able].T.tolist())):
        if low > reached + _same:
            return False
        reached = max(reached, high)
    return bool(reached >= length - _same)


def _along(points: Floats, begin: Floats, unit: Floats) -> tuple[Floats, Floats]:
    """How far points lie along a line, and beside it. [m]"""
    offset = points - begin
    along = offset @ unit
    return along, np.linalg.norm(offset - along[:, None] * unit, axis=1)
