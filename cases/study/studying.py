"""The study of a case in SI units, with what was left out filled in from the electrodes."""

from typing import Literal

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from ...solver.drives import Drive
from ...solver.errors import BudgetError
from ...solver.model import Conductors, Floats, some_of
from ...solver.patches import places_of
from ..reading.documents import Document
from ..reading.problems import in_order
from . import schema as schema_study
from .counts import refuse_elements, refuse_map, refuse_profile
from .study import Area, Numerics, Profile, Study, Touchable

_LEAST_MARGIN = 5.0  # of the automatic area; step voltage is worst just outside the metal


def study_of(
    given: schema_study.Study,
    *,
    conductors: Conductors,
    outlines: dict[int, Floats],
    fences: dict[int, Floats],
    drives: tuple[Drive, ...],
    document: Document,
) -> Study:
    """Study of a case; outlines are those in plan of the groups that have one, fences lines.

    `BudgetError` if maps or profiles would have more points than the limits allow.

    Notes
    -----
    Left out, the area is the plan of all metal with a margin of a fifth of its diagonal,
    5 m at least; what can be touched is the footprint of each driven group: the outline
    of its grid, loop or ring when that holds all its metal, else the convex hull.
    """
    area = _area(given.area, conductors)
    problems = []
    if message := refuse_map(area.size, spacing=area.spacing):
        problems.append(document.problem(message, path=("study", "area")))
    for number, line in enumerate(given.profiles):
        length = float(np.hypot(line.end[0] - line.start[0], line.end[1] - line.start[1]))
        if message := refuse_profile(length, spacing=line.spacing):
            problems.append(document.problem(message, path=("study", "profiles", number)))
    if problems:
        raise BudgetError(in_order(problems))
    return Study(
        area=area,
        profiles=tuple(
            Profile(p.name, p.start, p.end, p.depth, p.spacing) for p in given.profiles
        ),
        pace=given.pace,
        reach=given.reach,
        touchables=_touchables(given.touch, conductors, outlines, fences, drives),
        soil_shares=given.soil_shares,
    )


def numerics_of(
    given: schema_study.Numerics, *, conductors: Conductors, document: Document
) -> Numerics:
    """Numerics of a case; `BudgetError` if the element size asks for too many elements."""
    message = refuse_elements(
        float(conductors.length.sum()), size=given.element_size, limit=given.element_limit
    )
    if message:
        raise BudgetError([document.problem(message, path=("numerics", "element_size"))])
    return Numerics(
        accuracy=given.accuracy,
        order=given.order,
        fineness=1.0 if given.fineness is None else given.fineness,
        element_size=given.element_size,
        element_limit=given.element_limit,
        second_opinion=given.second_opinion,
        tolerance=given.tolerance,
    )


def footprint(
    plan: Floats, *, outline: Floats | None
) -> tuple[Literal["polygon", "line", "points"], Floats]:
    """Area covered by an electrode seen from above: its shape and corners.

    The outline counts if there is one that holds all of its pieces.
    """
    if outline is not None:
        return "polygon", outline
    # A micrometre: tops and tips of vertical rods fall on one another.
    places = np.unique(np.round(plan, 6), axis=0)
    if len(places) == 1:
        return "points", places
    try:
        return "polygon", places[ConvexHull(places).vertices]
    except QhullError:  # all on one line
        along = places @ (places[-1] - places[0])
        return "line", places[[int(np.argmin(along)), int(np.argmax(along))]]


def _area(given: schema_study.Area | None, conductors: Conductors) -> Area:
    spacing = None if given is None else given.spacing
    if given is not None and given.corner is not None and given.size is not None:
        return Area(given.corner, given.size, spacing)
    ends = places_of(conductors)[:, :2]
    low, high = ends.min(axis=0), ends.max(axis=0)
    if given is not None and given.margin is not None:
        margin = given.margin
    else:
        margin = max(_LEAST_MARGIN, 0.2 * float(np.hypot(*(high - low))))
    x, y = (float(v) for v in low - margin)
    width, height = (float(v) for v in high - low + 2 * margin)
    return Area((x, y), (width, height), spacing)


def _touchables(
    given: tuple[schema_study.Touch, ...] | None,
    conductors: Conductors,
    outlines: dict[int, Floats],
    fences: dict[int, Floats],
    drives: tuple[Drive, ...],
) -> tuple[Touchable, ...]:
    def of_group(name: str, group: int) -> Touchable:
        mine = conductors.group == group
        plan = places_of(some_of(conductors, piece=mine))[:, :2]
        if group in fences:
            return Touchable(name, group, "line", fences[group], footprint=True)
        shape, points = footprint(plan, outline=outlines.get(group))
        return Touchable(name, group, shape, points, footprint=True)

    names = conductors.group_names
    if given is None:
        return tuple(
            of_group(names[group], group)
            for group, drive in enumerate(drives)
            if drive.kind != "floating"
        )
    found = []
    for touch in given:
        group = names.index(touch.electrode)
        if touch.footprint:
            found.append(of_group(touch.name, group))
            continue
        shapes = {
            "polygon": touch.polygon,
            "body": touch.body,
            "line": touch.line,
            "points": touch.points,
        }
        shape, points = next((key, value) for key, value in shapes.items() if value is not None)
        found.append(Touchable(touch.name, group, shape, np.array(points), footprint=False))  # type: ignore[arg-type]
    return tuple(found)
