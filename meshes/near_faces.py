"""Metal near faces of bodies: where it is cut, and how wide its source may be smeared there.

What a cloud of source reaches of another material the mesh must make up for (in the solver,
`field/across_faces.py`), which it can where the cloud is no wider than the face is far; towards
better ground, where the error is multiplied by the contrast, not as wide. Metal that crosses a
face is cut there and again at half the distance, until the cut is a few radii long.
"""

from dataclasses import dataclass, replace

import numpy as np

from ..solver.bodies import Body
from ..solver.errors import CaseError
from ..solver.field.media import conductivities, conductivity_beyond
from ..solver.model import Conductors, Flags, Floats, Integers, Soil
from .plates import alike, balls_apart, places_in, refuse_plates_in_faces

# Of a cloud beyond a face, times the contrast: what the mesh makes up for to 0.1 % of a
# resistance. A rod 0.3 m from ground 100 times better came out 0.4 % low with 1.7.
_most_beyond = 0.19
_most_when_wider = 3.0  # of the same; with 80 currents of the metal would gain power
_floor = 3.0  # radii of the narrowest cloud; 6 cost a rod through a block 0.1 %
# Less than this part of a mirror image is no face: (σ - σ') / (σ + σ').
_alike = 1e-3
# Balls of a cloud are no farther apart than the face is away, over this: in between it is as
# good as the wire itself.
_ball_gaps = 1.5
_samples = np.linspace(0.0, 1.0, 9)
_most_halvings = 40
# Wider than a stretch's narrowest cloud by more than this and it is halved.
_even = 2.5
_along_face = 60.0  # floors of metal so near to a face that it lies in it


@dataclass(frozen=True)
class Cut:
    """Stretches that pieces of metal are cut into, n of them, piece by piece.

    Attributes
    ----------
    piece : ndarray of int, shape (n,)
        That each is part of.
    begin, end : ndarray of float, shape (n,)
        As shares of the piece.
    widest : ndarray of float, shape (n,)
        Largest standard deviation of clouds there. [m]
    apart : ndarray of float, shape (n,)
        Most that balls may be apart in them. [m]
    elements : float
        In a standard deviation of the narrowest clouds, the same on a coarser mesh.
    """

    piece: Integers
    begin: Floats
    end: Floats
    widest: Floats
    apart: Floats
    elements: float = 1.0

    def wider(self, by: float) -> "Cut":
        """The same with wider clouds, less so towards much better ground."""
        near = np.isfinite(self.widest)  # nothing is near where all bodies are as the soil
        widest, apart = self.widest[near], self.apart[near]
        excess = (_ball_gaps * apart / widest) ** 2
        left = np.maximum(excess - np.log(_most_when_wider / _most_beyond), 1e-9 * excess)
        wider = self.widest.copy()
        wider[near] = np.minimum(by, np.sqrt(excess / left)) * widest
        return replace(self, widest=wider)


def laid_out(conductors: Conductors, *, cut: Cut | None) -> Conductors:
    """Metal with its stretches, where it is cut into such, as pieces."""
    if cut is None:
        return conductors
    return conductors.cut(cut.piece, begin=cut.begin, end=cut.end)


def cut_at_faces(
    conductors: Conductors, *, soil: Soil, usual: Floats, elements: float = 1.0
) -> Cut | None:
    """Stretches of metal, None where no piece comes near a face.

    Parameters
    ----------
    usual : ndarray of float, shape (number of pieces,)
        Standard deviation of clouds where nothing is near, at most. [m]
    elements : float, default 1
        In a standard deviation of clouds that faces keep narrow.

    Raises
    ------
    CaseError
        If metal lies in a face or in a void, or metal in fill or a coating comes too near to
        a face.
    """
    if not soil.bodies:
        return None
    refuse_plates_in_faces(conductors, bodies=soil.bodies)
    piece, begin, end = _at_crossings(conductors, soil=soil)
    faces = _Faces(conductors, soil=soil)
    _refuse_voids(conductors, soil=soil, piece=piece, middle=0.5 * (begin + end))
    bare = (conductors.sheath_radius <= conductors.radius) & ~conductors.flat
    for _ in range(_most_halvings):
        least, most, _ = faces.widest(piece, begin=begin, end=end)
        length = (end - begin) * conductors.length[piece]
        halved = (least < usual[piece]) & bare[piece]
        halved &= (np.minimum(most, usual[piece]) > _even * least) & (length > 2 * least)
        if not halved.any():
            break
        piece, begin, end = _halved(piece, begin, end, halved)
    least, _, gap = faces.widest(piece, begin=begin, end=end)
    least = alike(least, conductors=conductors, piece=piece)
    _refuse_in_faces(conductors, soil=soil, piece=piece, begin=begin, end=end, least=least)
    if len(piece) == len(usual) and (least >= usual[piece]).all():
        return None
    apart = np.where(
        conductors.flat[piece],
        balls_apart(gap, conductors=conductors, piece=piece),
        np.maximum(gap / _ball_gaps, 0.5 * _floor * conductors.sheath_radius[piece]),
    )
    return Cut(piece, begin, end, least, apart, elements)


def _at_crossings(conductors: Conductors, *, soil: Soil) -> tuple[Integers, Floats, Floats]:
    """Pieces cut where they cross faces."""
    start, end = conductors.start, conductors.end
    met = [body.shape.crossings(start, end=end) for body in soil.bodies]
    for body, crossing in zip(soil.bodies, met, strict=True):
        if crossing.in_face.any():
            raise CaseError(
                _in_face(conductors, int(np.flatnonzero(crossing.in_face)[0]), body)
            )
    pieces, begins, ends = [], [], []
    for k in range(len(start)):
        at = np.unique(np.concatenate([crossing.at[k] for crossing in met]))
        at = at[np.diff(at, prepend=-1.0) > 1e-9]
        stops = np.concatenate([[0.0], at, [1.0]])
        pieces.append(np.full(len(stops) - 1, k))
        begins.append(stops[:-1])
        ends.append(stops[1:])
    return np.concatenate(pieces), np.concatenate(begins), np.concatenate(ends)


def _halved(
    piece: Integers, begin: Floats, end: Floats, halved: Flags
) -> tuple[Integers, Floats, Floats]:
    """Stretches with some of them in two."""
    many = np.where(halved, 2, 1)
    row = np.repeat(np.arange(len(piece)), many)
    second = np.diff(row, prepend=-1) == 0
    first = np.append(second[1:], False)
    middle = (0.5 * (begin + end))[row]
    return (
        piece[row],
        np.where(second, middle, begin[row]),
        np.where(first, middle, end[row]),
    )


def _share_of_distance(contrast: Floats) -> Floats:
    r"""Widest spread over the distance of a face, by conductivity beyond it over that here.

    A cloud falls as :math:`e^{-d^2 / 2 s^2}`, its energy as the square of that; times the
    contrast it is to be below a constant. Poorer ground does not multiply it.
    """
    return np.asarray(1.0 / np.sqrt(np.log(np.maximum(contrast, 1.0) / _most_beyond)))


class _Faces:
    """Faces of the bodies of a soil as metal is near them."""

    def __init__(self, conductors: Conductors, *, soil: Soil) -> None:
        self._conductors, self._soil = conductors, soil
        self._sigma = conductivities(soil)

    def widest(
        self, piece: Integers, *, begin: Floats, end: Floats
    ) -> tuple[Floats, Floats, Floats]:
        """Least and most of the widest clouds along stretches, and how near a face is. [m]"""
        start = self._conductors.start[piece]
        whole = self._conductors.end[piece] - start
        share = begin[:, None] + (end - begin)[:, None] * _samples
        places = start[:, None] + share[:, :, None] * whole[:, None]
        flat = self._conductors.flat[piece]
        if self._conductors.corners is not None:
            places[flat] = places_in(self._conductors.corners[piece[flat]])
        places = places.reshape(-1, 3)
        middle = start + (0.5 * (begin + end))[:, None] * whole
        here = np.repeat(self._soil.material_at(middle), len(_samples))
        widest, nearest = np.full(len(places), np.inf), np.full(len(places), np.inf)
        for k, body in enumerate(self._soil.bodies):
            beyond = conductivity_beyond(self._soil, body=k, here=here)
            own = self._sigma[here]
            face = np.abs(beyond - own) > _alike * (beyond + own)
            face |= body.film is not None
            gap = np.where(face, body.shape.distance(places), np.inf)
            factor = _share_of_distance(beyond / own)
            widest, nearest = np.minimum(widest, factor * gap), np.minimum(nearest, gap)
        shape = share.shape
        least = np.where(flat, 0.0, _floor * self._conductors.sheath_radius[piece])
        found = np.maximum(widest.reshape(shape), least[:, None])
        return found.min(axis=1), found.max(axis=1), nearest.reshape(shape).min(axis=1)


def _name(conductors: Conductors, piece: int) -> str:
    return conductors.part_names[int(conductors.part[piece])]


def _in_face(conductors: Conductors, piece: int, body: Body) -> str:
    a, b = (
        ", ".join(f"{x:.4g}" for x in ends[piece])
        for ends in (conductors.start, conductors.end)
    )
    return (
        f"{_name(conductors, piece)!r} lies in a face of body {body.name!r}, from ({a}) to "
        f"({b}) m; metal may cross a face or lie beside it: move one of the two by "
        f"{20 * conductors.radius[piece]:.2g} m or more"
    )


def _refuse_in_faces(
    conductors: Conductors,
    *,
    soil: Soil,
    piece: Integers,
    begin: Floats,
    end: Floats,
    least: Floats,
) -> None:
    """Raise CaseError where much metal is as near to a face as it can be told from it."""
    outer = conductors.sheath_radius
    touching = (least <= 1.001 * _floor * outer[piece]) & ~conductors.flat[piece]
    length = np.where(touching, (end - begin) * conductors.length[piece], 0.0)
    near = np.bincount(piece, length, len(outer))
    sheathed = (outer > conductors.radius) & (near > 0)
    wrong = np.flatnonzero((near > _along_face * _floor * outer) | sheathed)
    if not len(wrong):
        return
    k = int(wrong[0])
    middle = 0.5 * (begin + end)[(piece == k) & touching][:1, None]
    place = conductors.start[k] + middle * (conductors.end - conductors.start)[k]
    body = min(soil.bodies, key=lambda one: float(one.shape.distance(place)[0]))
    if sheathed[k]:
        msg = (
            f"{_name(conductors, k)!r} is in fill, concrete or a coating and touches or nearly "
            f"touches a face of body {body.name!r}; such metal must be "
            f"{4 * _floor * outer[k]:.2g} m or more from all faces: end the "
            "fill before the body, or leave the fill out"
        )
        raise CaseError(msg)
    raise CaseError(_in_face(conductors, k, body))


def _refuse_voids(
    conductors: Conductors, *, soil: Soil, piece: Integers, middle: Floats
) -> None:
    """Raise CaseError where metal is in a void."""
    whole = conductors.end - conductors.start
    places = conductors.start[piece] + middle[:, None] * whole[piece]
    inside = np.flatnonzero(np.isinf(soil.resistivity_at(places)))
    if len(inside):
        k = int(piece[inside[0]])
        body = soil.bodies[int(soil.material_at(places[inside[:1]])[0]) - len(soil.resistivity)]
        msg = (
            f"{_name(conductors, k)!r} lies in {body.name!r}, which is a void; metal must "
            "lie in the soil: move it, or give the body a resistivity"
        )
        raise CaseError(msg)
