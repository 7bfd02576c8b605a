"""Designs ruled out unsolved: by the resistance of one that has all their metal and more."""

from ..cases.case import Case
from ..solver.design import Evaluation, metal_within


def cap_of(case: Case) -> tuple[float, str] | None:
    """Resistance that no design may exceed, and by which target; None where no bound holds.

    A rise follows from the resistance where one electrode is driven by a given current.
    """
    assert case.design is not None
    targets = case.design.targets
    caps = []
    if targets.resistance is not None:
        caps.append((targets.resistance, "resistance"))
    alone = case.circuit is None and len(case.drives) == 1 and case.drives[0].kind == "current"
    if targets.rise is not None and alone:
        currents = [abs(each.drives[0].value) for each in (case, *case.variants)]
        caps.append((targets.rise / min(currents), "rise"))
    return min(caps, default=None)


def reaches_not(found: Evaluation, cap: float) -> bool:
    """Whether a resistance is above a cap by more than its estimated error."""
    return any(each.resistance * (1 - each.resistance_error) > cap for each in found.conditions)


def part_of(one: Case, other: Case) -> bool:
    """Whether a design has no metal that another lacks, in the same soils and bonds."""
    pairs = list(zip((one, *one.variants), (other, *other.variants), strict=True))
    return all(
        mine.soil == theirs.soil
        and mine.drives == theirs.drives
        and mine.contact_resistance == theirs.contact_resistance
        and {b.groups for b in mine.bonds if b.closed}
        == {b.groups for b in theirs.bonds if b.closed}
        and metal_within(mine.conductors, theirs.conductors)
        for mine, theirs in pairs
    )
