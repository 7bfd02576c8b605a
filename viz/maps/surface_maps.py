"""All plan maps of a result, made once for pictures, paper and page."""

from ...solver.results.result import Result
from ..kept import kept
from .margins import margin_map
from .plans import PlanMap, potential_map, step_map, touch_map


@kept
def surface_maps(result: Result) -> dict[str, PlanMap]:
    """Maps in the order in which they are looked at, by a key that does not hold names.

    The key is ``potential``, ``step``, or ``touch`` or ``share`` with the number of the metal
    or of the judgement.
    """
    return {key: plan for key, plan in _maps(result) if plan is not None}


def _maps(result: Result) -> list[tuple[str, PlanMap | None]]:
    found: list[tuple[str, PlanMap | None]] = [("potential", potential_map(result))]
    touched = [touch_map(result, metal=metal) for metal in result.metals]
    found += [(f"touch{number}", plan) for number, plan in enumerate(touched)]
    found.append(("step", step_map(result)))
    for number, judgement in enumerate(result.verdict.judgements if result.verdict else ()):
        plan = margin_map(result, judgement=judgement, touched=touched)
        found.append((f"share{number}", plan))
    return found
