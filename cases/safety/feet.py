"""What is held to lie under the feet in every condition of a case."""

from collections.abc import Sequence
from dataclasses import replace

from ...solver.anisotropy import isotropic
from ...solver.verdict import UnderFeet, native_feet
from ...solver.wording import plain
from ..case import Case


def with_feet(case: Case) -> Case:
    """The case and its variants, judged on the best conducting native top among them.

    A dry or frozen top under the shoes would permit more the less current it lets pass, but
    rain and melt water lie on it. What a case states itself stays. Soils still to be fitted
    leave the case as it is.
    """
    every = (case, *case.variants)
    if any(item.layers is None for item in every):
        return case
    least = min(every, key=lambda item: native_feet(item.soil))
    top = f"{plain(isotropic(least.soil).resistivity[0])} Ω·m"
    if least.soil.anisotropy[0] != 1.0:
        top += " (the root of horizontal times vertical)"
    whose = f"of variant '{least.variant}'" if least.variant else "of the case as it stands"
    found = UnderFeet(least.soil, f"the soil {whose}, {top} at the top" + _among(every))
    base, *variants = (_on(item, found) for item in every)
    return replace(base, variants=tuple(variants))


def _among(every: Sequence[Case]) -> str:
    if all(item.soil.layers_alone == every[0].soil.layers_alone for item in every):
        return ""
    return (
        ", which conducts best among the case and its variants (water lies on dry or frozen "
        "ground; safety.under_feet states another)"
    )


def _on(case: Case, feet: UnderFeet) -> Case:
    if case.safety is None or case.safety.under_feet is not None:
        return case
    return replace(case, safety=replace(case.safety, under_feet=feet))
