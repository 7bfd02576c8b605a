"""All plan maps of a result, made once for pictures, paper and page."""

from ...solver.results.result import Result
from ..kept import kept
from .margins import margin_map
from .plans import PlanMap, potential_map, step_map, touch_maps


@kept
def seen_maps(result: Result) -> dict[str, PlanMap]:
    """Maps of voltages, which know no limit, by their key as in `surface_maps`."""
    touches = {f"touch{number}": plan for number, plan in touch_maps(result).items()}
    return {"potential": potential_map(result), **touches, "step": step_map(result)}


def share_seen(result: Result, other: Result) -> None:
    """Have the maps of voltages of another result hold for one too."""
    for maps in (touch_maps, seen_maps):
        maps.share(result, other)


@kept
def margin_maps(result: Result) -> dict[str, PlanMap]:
    """Maps of the share of the limit, by their key as in `surface_maps`."""
    found = {}
    for number, judgement in enumerate(result.verdict.judgements if result.verdict else ()):
        plan = margin_map(result, judgement=judgement)
        if plan is not None:
            found[f"share{number}"] = plan
    return found


def surface_maps(result: Result) -> dict[str, PlanMap]:
    """Maps in the order in which they are looked at, by a key that does not hold names.

    The key is ``potential``, ``step``, or ``touch`` or ``share`` with the number of the metal
    or of the judgement.
    """
    return seen_maps(result) | margin_maps(result)
