"""What cannot be where bodies are: metal in a void or lying in a face, places over a void."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from ..solver.bodies import Body, Crossings, touching
from ..solver.errors import CaseError, Problem
from ..solver.model import Conductors, Flags, Floats, Soil
from ..solver.verdict import Exposure
from .case import Case
from .reading.documents import Document, Step
from .reading.problems import in_order
from .soil_survey.planning import problems_of_pins
from .study.study import Profile

# Where a piece ends at or crosses a face it is near it: so many outer radii are not looked at.
_crossing = 10.0
_looked_at = 33  # places along a stretch
_along_a_line = 2001


def refuse_among_bodies(
    case: Case, *, part_paths: Sequence[tuple[Step, ...]], document: Document
) -> None:
    """`CaseError` with metal and places that cannot be where the bodies in the soil are."""
    soil = case.layers
    if soil is None:  # bodies are known before the layers are
        soil = Soil((1.0,), bodies=() if case.survey is None else case.survey.bodies)
    if not soil.bodies:
        return
    problems = [
        *_problems_of_metal(
            soil, conductors=case.conductors, part_paths=part_paths, document=document
        ),
        *_problems_of_places(
            soil,
            profiles=case.study.profiles,
            exposures=() if case.safety is None else case.safety.exposures,
            document=document,
        ),
        *problems_of_pins(case.survey_plan, soil=soil, document=document),
    ]
    if problems:
        raise CaseError(in_order(problems))


def _problems_of_metal(
    soil: Soil,
    *,
    conductors: Conductors,
    part_paths: Sequence[tuple[Step, ...]],
    document: Document,
) -> Iterator[Problem]:
    """Metal in a void, and metal that runs along a face, once for each part and body."""
    start, end, part = conductors.start, conductors.end, conductors.part
    crossings = [body.shape.crossings(start, end=end) for body in soil.bodies]
    in_void = _bodies_met(soil, conductors, crossings)
    for number, (body, met) in enumerate(zip(soil.bodies, crossings, strict=True)):
        if body.void:
            for k, place in _first_of_each(part, in_void[number]):
                msg = (
                    f"stands at {_at(place)} in {body.name!r}, a void, where nothing leads "
                    "current from it; keep it in the ground, or give the body a resistivity"
                )
                yield document.problem(msg, path=part_paths[k])
        along = _along_a_face(body, conductors, met)
        for k, place in _first_of_each(part, along):
            # As far as the mesh can tell metal from a face by.
            away = 20 * float(conductors.sheath_radius[part == k].max())
            msg = (
                f"runs along a face of {body.name!r} at {_at(place)}, in two materials at "
                f"once; move it {away:.3g} m or more to one side (it may cross a face)"
            )
            yield document.problem(msg, path=part_paths[k])


def _problems_of_places(
    soil: Soil,
    *,
    profiles: Sequence[Profile],
    exposures: Sequence[Exposure],
    document: Document,
) -> Iterator[Problem]:
    """Lines and places asked for by name that lie in a void, where no soil has a voltage."""
    voids = [body for body in soil.bodies if body.void]
    if not voids:
        return
    for number, line in enumerate(profiles):
        share = np.linspace(0, 1, _along_a_line)[:, None]
        plan = np.array(line.start) + share * np.subtract(line.end, line.start)
        if message := _in_a_void(soil, plan, depth=line.depth):
            msg = f"runs through {message}; end it there, and begin another beyond"
            yield document.problem(msg, path=("study", "profiles", number))
    for number, exposure in enumerate(exposures):
        if exposure.places is None:
            continue
        if message := _in_a_void(soil, exposure.places, depth=0.0):
            msg = f"a foot stands in {message}; name places on the ground"
            yield document.problem(msg, path=("safety", "exposures", number, "at"))


def _in_a_void(soil: Soil, plan: Floats, *, depth: float) -> str:
    """The void that holds a place, and that place, in words; empty where none does."""
    points = np.column_stack([plan, np.full(len(plan), -depth)])
    held = np.flatnonzero(np.isinf(soil.resistivity_at(points)))
    # On a wall one stands on the ground.
    held = held[
        [
            all(b.shape.distance(points[[k]])[0] > 2 * touching for b in soil.bodies)
            for k in held
        ]
    ]
    if not held.size:
        return ""
    first = int(held[0])
    number = int(soil.material_at(points[[first]])[0]) - len(soil.resistivity)
    return f"{soil.bodies[number].name!r}, a void, at {_at(points[first])}"


_Places = list[tuple[int, Floats]]  # number of a piece, and a place on it


def _bodies_met(
    soil: Soil, conductors: Conductors, crossings: Sequence[Crossings]
) -> list[_Places]:
    """Places of pieces in each body, one for each stretch that runs in it."""
    pieces, places = [], []
    for k, (a, b) in enumerate(zip(conductors.start, conductors.end, strict=True)):
        stops = np.unique(np.concatenate([[0.0, 1.0], *(met.at[k] for met in crossings)]))
        middles = (stops[:-1] + stops[1:]) / 2
        pieces += [k] * len(middles)
        places.append(a + middles[:, None] * (b - a))
    where = np.vstack(places)
    found = soil.material_at(where) - len(soil.resistivity)
    return [
        [(pieces[row], where[row]) for row in np.flatnonzero(found == number)]
        for number in range(len(soil.bodies))
    ]


def _along_a_face(body: Body, conductors: Conductors, met: Crossings) -> _Places:
    """Places at which pieces lie in a face, or are cut by one along their length."""
    found: _Places = []
    near = _near(body, conductors)
    for k in np.flatnonzero(near):
        a, along = conductors.start[k], conductors.end[k] - conductors.start[k]
        radius = float(conductors.sheath_radius[k])
        margin = _crossing * radius / float(np.linalg.norm(along))
        stops = np.array([0.0, *met.at[k], 1.0])
        inner = [
            np.linspace(low + margin, high - margin, _looked_at)
            for low, high in pairwise(stops)
            if high - low > 2 * margin
        ]
        if met.in_face[k]:  # however short
            inner.append(np.linspace(0.0, 1.0, 10 * _looked_at))
        if not inner:
            continue
        places = a + np.concatenate(inner)[:, None] * along
        gaps = body.shape.distance(places)
        if met.in_face[k] or float(gaps.min()) < radius:
            found.append((int(k), places[int(np.argmin(gaps))]))
    return found


def _near(body: Body, conductors: Conductors) -> Flags:
    """Pieces whose boxes meet that of a body."""
    reach = conductors.sheath_radius[:, None] + touching
    low, high = body.shape.bounds()
    start, end = conductors.start, conductors.end
    return np.asarray(
        (
            (np.maximum(start, end) + reach >= low) & (np.minimum(start, end) - reach <= high)
        ).all(axis=1)
    )


def _first_of_each(part: np.ndarray, places: _Places) -> Iterator[tuple[int, Floats]]:
    """The first place of each part."""
    seen = set()
    for piece, place in places:
        if (number := int(part[piece])) not in seen:
            seen.add(number)
            yield number, place


def _at(place: Floats) -> str:
    x, y, z = place + 0.0
    return f"({x:.4g}, {y:.4g}) m, {abs(z):.4g} m deep"
