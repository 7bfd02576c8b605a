"""Plates beside round metal: what holds for one of their patches holds for all of them."""

import numpy as np

from ..solver.bodies import Body
from ..solver.errors import CaseError
from ..solver.model import Conductors, Floats, Integers, Soil
from ..solver.patches import gauss_points

# Balls of source of a plate are no farther apart than a face is away, over this: its field
# beyond the face is theirs, whatever the contrast.
_ball_gaps = 2.0
_flat = 1e-9  # a plate no higher is level [m]
# Nearest to a face, in diagonals of the plate: from there on its patches are cut too small.
_nearest = 0.05
# A plate that slopes down to soil so many times better and ends in its plane has no certain
# resistance: ended 3e-5 of its height before it, it had a quarter more than that far beyond.
_much_better, _in_plane = 10.5, 1e-5


def alike(values: Floats, *, conductors: Conductors, piece: Integers | None = None) -> Floats:
    """Values of pieces, those of a plate the least of its patches; `piece` if of stretches."""
    if conductors.plate is None:
        return values
    plate = conductors.plate if piece is None else conductors.plate[piece]
    least = np.full(int(plate.max()) + 2, np.inf)
    np.minimum.at(least, plate, values)
    return np.where(plate >= 0, least[plate], values)


def places_in(corners: Floats) -> Floats:
    """Nine places in each patch: its corners, its middle, and four between, (n, 9, 3). [m]"""
    inner, _ = gauss_points(corners, 2)
    return np.concatenate([corners, corners.mean(axis=1)[:, None], inner], axis=1)


def balls_apart(gap: Floats, *, conductors: Conductors, piece: Integers) -> Floats:
    """Most that balls of patches may be apart at these distances of a face. [m]"""
    return alike(gap / _ball_gaps, conductors=conductors, piece=piece)


def refuse_plates_in_faces(conductors: Conductors, *, bodies: tuple[Body, ...]) -> None:
    """Raise CaseError where a plate goes through a face of a body or comes too near to one."""
    if conductors.plate is None or conductors.corners is None:
        return
    for one in np.unique(conductors.plate[conductors.flat]).tolist():
        own = np.flatnonzero(conductors.plate == one)
        corners = conductors.corners[own]
        extent = float(np.linalg.norm(np.ptp(corners, axis=(0, 1))))
        least = _nearest * extent
        for body in bodies:
            sides = [
                body.shape.crossings(corners[:, k], end=corners[:, (k + 1) % 4])
                for k in range(4)
            ]
            if any(side.in_face.any() or any(len(at) for at in side.at) for side in sides):
                _refuse(conductors, int(own[0]), "goes through", body)
            if body.shape.distance(places_in(corners).reshape(-1, 3)).min() < least:
                what = f"is nearer than {least:.2g} m to"
                _refuse(conductors, int(own[0]), what, body)


def refuse_plates_ending_in_planes(conductors: Conductors, *, soil: Soil) -> None:
    """Raise CaseError where the edge of a plate just reaches much better soil."""
    if conductors.plate is None or conductors.corners is None:
        return
    for one in np.unique(conductors.plate[conductors.flat]).tolist():
        own = np.flatnonzero(conductors.plate == one)
        z = conductors.corners[own][..., 2]
        for number, depth in enumerate(soil.interface_depth):
            upper, lower = soil.conductivity[number : number + 2]
            times = max(upper, lower) / min(upper, lower)
            gap = np.sign(lower - upper) * (z + depth)  # above 0 in the poorer soil
            reached = abs(float(gap.min())) <= _in_plane * float(np.ptp(gap))
            if reached and np.ptp(gap) > _flat and times > _much_better:
                name = conductors.part_names[int(conductors.part[own[0]])]
                msg = (
                    f"plate {name!r} ends in the plane {depth:g} m deep, where soil "
                    f"{times:.3g} times better begins; whether it touches "
                    "that decides its resistance: let it end 1 mm or more to one side"
                )
                raise CaseError(msg)


def _refuse(conductors: Conductors, piece: int, what: str, body: Body) -> None:
    name = conductors.part_names[int(conductors.part[piece])]
    msg = (
        f"plate {name!r} {what} a face of body {body.name!r}; a plate must lie within one body "
        "or outside of all, away from their faces: move it, or give two plates in one electrode"
    )
    raise CaseError(msg)
