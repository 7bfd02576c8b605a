"""The words of metal that is not at one potential: how far, what is too low, what to do."""

from collections.abc import Sequence

from ..solver.metal import TOUCH_OF_DROP, MetalDrop, OnePotential
from ..solver.results.result import Result
from .wording import place_in, significant, with_unit

_most_named = 6


def uneven_texts(results: Sequence[Result]) -> list[str]:
    """What to mind where metal is far from one potential: of the worst of all conditions."""
    found = [(result, result.one_potential) for result in results if _uneven(result)]
    if not found:
        return []
    result, worst = max(found, key=lambda item: _share(item[1]))
    assert worst is not None
    of = f" of variant '{result.variant}'" if result.variant else ""
    many = f" (the worst of {len(found)} conditions that are)" if len(found) > 1 else ""
    perhaps = "" if worst.standing(worst.least) == "uneven" else "PERHAPS "
    what = f"{drop_text(worst, units=result.units)}. {_too_low(worst)}. {_open(worst)}"
    said = f"{perhaps}NOT AT ONE POTENTIAL{many}: the metal{of} {what}{_remedy(worst)}"
    judged = result.verdict.judgements if result.verdict is not None else ()
    if judged:
        margin = with_unit(judged[0].drop, symbol="V")
        said += f"; exposures with less margin than {margin} are IN DOUBT"
    return [said]


def drop_text(found: OnePotential, *, units: str) -> str:
    """How far metal is from one potential, as a share of rise and touch voltage."""
    largest, least = found.largest, found.least
    text = (
        f"differs from one potential by up to {_size(largest, found)}, {_how(largest, units)}"
    )
    if least is not largest and least.drop < 0.9 * largest.drop:
        text += f"; by {_size(least, found)}, {_how(least, units)}"
    said = f"at {found.frequency:g} Hz" if found.frequency else "with direct current"
    if not found.frequency_given:
        said += ", taken as nobody says it (system.frequency)"
    if found.permeability > 1:
        said += f", steel of relative permeability {found.permeability:g}, which its current "
        said += "moves from 50 to 1000"
    return f"{text} (first order, {said})"


def _uneven(result: Result) -> bool:
    found = result.one_potential
    return found is not None and found.standing(found.largest) == "uneven"


def _share(found: OnePotential | None) -> float:
    return 0.0 if found is None else found.largest.drop / found.rise


def _size(drop: MetalDrop, found: OnePotential) -> str:
    """A drop beside the rise and the worst touch voltage."""
    text = f"{with_unit(drop.drop, symbol='V')}, {_percent(drop.drop / found.rise)} of the rise"
    if found.touch:
        text += f" and {_percent(drop.drop / found.touch)} of the worst touch voltage"
    return text


def _percent(share: float) -> str:
    return f"{significant(100 * share, figures=2)} %"


def _how(drop: MetalDrop, units: str) -> str:
    """Where metal is fed, and what it is taken as."""
    which = {
        "given": "",
        "best": " (the best place tried)",
        "worst": " (the worst place tried)",
    }
    text = f"'{drop.electrode}', which no net current enters"
    if drop.place is not None:
        text = f"'{drop.electrode}' fed at {place_in(drop.place[:2], units)}{which[drop.feed]}"
    return text + (f", if of {drop.metal}" if drop.metal else "")


def _too_low(found: OnePotential) -> str:
    """What of the result is too low, and by about how much."""
    largest = found.largest
    text = f"What is told is too low: impedance about {_times(largest.impedance)}"
    if found.touch:
        touch = 1 + TOUCH_OF_DROP * largest.drop / found.touch
        text += f", touch voltage beside the feed up to about {_times(touch)}"
    if not found.is_estimate:
        text += "; so large a drop is an alarm and no estimate"
    return text


def _times(factor: float) -> str:
    return f"{significant(factor, figures=3)} times"


def _open(found: OnePotential) -> str:
    """What nobody said, and what was taken as joined."""
    text = ""
    if found.without_material:
        text += f"No material is stated of {_named(found.without_material)}. "
    if found.without_feed:
        text += f"Where current enters {_named(found.without_feed)} is not stated (fed_at). "
    for name, count in found.apart:
        text += (
            f"'{name}' is {count} pieces that no metal of the case joins: each is taken by "
            "itself, leads between them without impedance. "
        )
    return text


def _named(names: Sequence[str]) -> str:
    shown = ", ".join(f"'{name}'" for name in names[:_most_named])
    more = len(names) - _most_named
    return f"{shown} and {more} more" if more > 0 else shown


def _remedy(found: OnePotential) -> str:
    """What to do about it."""
    state = []
    if found.without_material:
        state.append("the material")
    if found.without_feed:
        state.append("the place of the feed")
    first = f"state {' and '.join(state)}; " if state else ""
    text = (
        f"{first}feed in the middle, take more copper or several down-leads, or have the "
        "voltage along the metal solved (along_metal)"
    )
    return text[0].upper() + text[1:]
