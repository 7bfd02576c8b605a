"""Which one sentence a verdict deserves, before anybody words it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from .findings import Verdict

Finding = Literal[
    "not judged", "unsafe", "metal fails", "rule broken", "unsafe in variants", "passes"
]


@dataclass(frozen=True)
class Headline:
    """What a reader must know first.

    Attributes
    ----------
    finding : Finding
        The first that applies, in this order: an exposure does not pass, be it only too close
        to its limit or met by nobody; metal or a joint is not shown to outlast the fault; a
        rule for choosing protection is not kept; a variant does not pass; no limit for people
        was declared; all passes.
    exposures, unsafe : int
        All of the case as it stands, and those that do not pass.
    longest : float
        Duration of the fault, `math.inf` where nothing is certain to clear it. [s]
    variants : int
        All beside the case; none where nothing was judged.
    unsafe_variants : tuple of str
        Those that do not pass, or were not judged though others were.
    conductors, failing : int
        All conductors of the case as it stands that are held against their temperature, and
        those that are not shown to hold.
    """

    finding: Finding
    exposures: int
    unsafe: int
    longest: float
    variants: int
    unsafe_variants: tuple[str, ...]
    conductors: int = 0
    failing: int = 0


def headline(
    verdict: Verdict | None, *, variants: Sequence[tuple[str, Verdict | None]] = ()
) -> Headline:
    """What a reader of a verdict must know first.

    Parameters
    ----------
    verdict : Verdict or None
        Of the case as it stands; None where it declares no limits.
    variants : sequence of (str, Verdict or None), optional
        Name and verdict of each.
    """
    judged = any(found is not None for found in (verdict, *(found for _, found in variants)))
    failing = tuple(
        name for name, found in variants if judged and (found is None or not found.passes)
    )
    count = len(variants) if judged else 0
    if verdict is None:
        known = any(found is not None and not found.passes for _, found in variants)
        without: Finding = "unsafe in variants" if known else "not judged"
        return Headline(without, 0, 0, math.nan, count, failing)
    unsafe = sum(item.outcome != "pass" for item in verdict.judgements)
    heating = verdict.heating
    melting = 0 if heating is None else len(heating.failing)
    finding: Finding = "passes" if verdict.judgements else "not judged"
    if unsafe:
        finding = "unsafe"
    elif melting:
        finding = "metal fails"
    elif not verdict.passes:
        finding = "rule broken"
    elif failing:
        finding = "unsafe in variants"
    return Headline(
        finding,
        len(verdict.judgements),
        unsafe,
        verdict.longest,
        count,
        failing,
        0 if heating is None else len(heating.conductors),
        melting,
    )
