"""Layers of the soil in words: their resistivity, both ways where it is not the same."""

from collections.abc import Callable

from ...solver.model import Soil
from ..wording import about
from .amounts import resistivity


def made_of_layer(
    soil: Soil, number: int, *, words: Callable[[float], str] = resistivity
) -> str:
    """36.0 Ω·m, vertically 110 Ω·m, with other words for an amount if wanted."""
    found = words(soil.resistivity[number])
    if _alike(soil, number):
        return found
    return f"{found}, vertically {words(soil.upright[number])}"


def layer_label(soil: Soil, number: int) -> str:
    """The same beside a picture: ↔36 ↕110 Ω·m."""
    return f"{' '.join(layer_values(soil, number))} Ω·m"


def layer_values(soil: Soil, number: int) -> list[str]:
    """The numbers of it: one, or two with arrows for their direction."""
    sideways, upright = about(soil.resistivity[number]), about(soil.upright[number])
    return [sideways] if _alike(soil, number) else [f"↔{sideways}", f"↕{upright}"]


def _alike(soil: Soil, number: int) -> bool:
    return soil.upright[number] == soil.resistivity[number]
