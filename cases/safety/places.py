"""Whether the mapped area holds all places at which an exposure of the safety block is met."""

from collections.abc import Sequence

import numpy as np

from ...solver.errors import Problem
from ...solver.model import Conductors, Floats
from ...solver.verdict import Exposure
from ..reading.documents import Document
from ..study.study import Study

_Box = tuple[Floats, Floats]
_touching = 1e-6  # m, round-off of lengths in other units


def problems_of_places(
    exposures: Sequence[Exposure], *, conductors: Conductors, study: Study, document: Document
) -> list[Problem]:
    """Exposures that would pass because the place where they fail is not looked at.

    Notes
    -----
    What lies outside as a whole is not refused: the verdict calls it not judged. Boxes are
    compared, so that an outline across a corner of the area may be refused that
    just fits; a larger area does no harm.
    """
    found = []
    for number, exposure in enumerate(exposures):
        if message := _fault(exposure, conductors=conductors, study=study):
            path = ("safety", "exposures", number)
            found.append(document.problem(message, path=path))
    return found


def _fault(exposure: Exposure, *, conductors: Conductors, study: Study) -> str:
    if exposure.kind == "hands":
        return _one_potential(exposure)
    if exposure.kind == "touch":
        metal = next(item for item in study.touchables if item.name == exposure.metals[0])
        low, high = _box(metal.points)
        met = (low - study.reach, high + study.reach)
        what = f"{metal.name!r} can be reached"
        if exposure.outline is not None:
            met = _common(met, _box(exposure.outline))
        if not _overlap(met, _area(study)):  # the verdict calls it not judged
            return ""
    elif exposure.kind == "step" and exposure.outline is not None:
        met, what = _box(exposure.outline), "its outline 'inside' reaches"
        if not _overlap(met, _area(study)):
            return ""
    elif exposure.kind == "step":
        ends = np.concatenate([conductors.start[:, :2], conductors.end[:, :2]])
        met, what = _box(ends), "steps are worst over the metal, which reaches"
    else:
        return ""
    return _beyond(met, study=study, what=what)


def _one_potential(exposure: Exposure) -> str:
    """Two metals of one electrode: no voltage in any variant, which would always pass."""
    one, other = exposure.groups
    if one != other:
        return ""
    names = " and ".join(map(repr, dict.fromkeys(exposure.metals)))
    return (
        f"{names} have the potential of one electrode, so that nothing is between the hands; "
        "name metal of two electrodes"
    )


def _beyond(met: _Box, *, study: Study, what: str) -> str:
    """What lies outside the mapped area, in words; empty when nothing does."""
    low, high = _area(study)
    if (met[0] >= low - _touching).all() and (met[1] <= high + _touching).all():
        return ""
    return (
        f"{what} from {_corners(met)}, the mapped area is {_corners((low, high))}: beyond it "
        "nothing is judged; make study.area larger, or say by 'inside' where people stand"
    )


def _area(study: Study) -> _Box:
    low = np.array(study.area.corner)
    return low, low + np.array(study.area.size)


def _overlap(one: _Box, other: _Box) -> bool:
    low, high = _common(one, other)
    return bool((low <= high).all())


def _corners(box: _Box) -> str:
    low, high = (f"({x:g}, {y:g}) m" for x, y in box)
    return f"{low} to {high}"


def _box(points: Floats) -> _Box:
    return points.min(axis=0), points.max(axis=0)


def _common(one: _Box, other: _Box) -> _Box:
    return np.maximum(one[0], other[0]), np.minimum(one[1], other[1])
