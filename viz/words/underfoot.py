"""Bodies under the feet at judged places, where limits took the native top of the soil."""

from collections.abc import Iterator

import numpy as np

from ...solver.bodies import Body
from ...solver.model import Soil
from ...solver.results.result import Result
from ...solver.verdict import Judgement
from .amounts import resistivity

_differs = 0.05  # of the resistivity


def better_underfoot(result: Result) -> list[str]:
    """Judged places on a body that conducts better than its limit took: it permits too much."""
    return [
        f"'{name}' is judged on the native soil, {resistivity(native)}, where feet stand on "
        f"'{body.name}', {resistivity(body.resistivity)}: its limit permits MORE THAN IS SAFE "
        "there. State what is under the feet: a layer of safety.surface over the body, or "
        "safety.under_feet"
        for name, body, native in _bodies_underfoot(result)
        if body.resistivity < native
    ]


def poorer_underfoot(result: Result) -> list[str]:
    """Judged places on a body that conducts worse than its limit took: the safe side."""
    return [
        f"'{name}' is judged on the native soil, {resistivity(native)}, though feet stand on "
        f"'{body.name}', {resistivity(body.resistivity)}: its limit takes no credit for that; "
        "a layer of safety.surface would, when wet"
        for name, body, native in _bodies_underfoot(result)
        if body.resistivity > native
    ]


def _bodies_underfoot(result: Result) -> Iterator[tuple[str, Body, float]]:
    """Exposure, body at its judged places, and what the limit took, each once."""
    soil = result.solution.soil
    for item in result.verdict.judgements if result.verdict and soil.bodies else ():
        native = item.grounds[0].resistivity if item.grounds else None
        if native is None:
            continue
        for body in _at_places(item, soil):
            if abs(body.resistivity / native - 1) > _differs:
                yield item.name, body, native


def _at_places(item: Judgement, soil: Soil) -> list[Body]:
    """Bodies on which feet stand at the judged places on native soil."""
    feet = [
        foot
        for place in item.places
        if place.ground == item.grounds[0].name
        for foot in (place.foot, place.other_foot)
        if foot is not None
    ]
    if not feet:
        return []
    points = np.column_stack([np.array(feet), np.zeros(len(feet))])
    numbers = np.unique(soil.material_at(points)) - len(soil.resistivity)
    return [soil.bodies[k] for k in numbers.tolist() if k >= 0 and not soil.bodies[k].void]
