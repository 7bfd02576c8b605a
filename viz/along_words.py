"""The words of metal with voltages along it."""

import cmath
import math

from ..solver.results.along_metal import AlongTold
from .wording import place_in, significant
from .words.text import Text, in_units


def frequency_words(told: AlongTold) -> str:
    """With what current it was worked out, and what steel was taken as."""
    text = f"at {told.frequency:g} Hz" if told.frequency else "with direct current"
    if told.permeability > 1 and told.frequency:
        text += f", steel of relative permeability {told.permeability:g}"
    return text


def impedance_text(value: complex) -> str:
    """Size and angle of an impedance: 1.50 Ω ∠ 1.4°."""
    degrees = math.degrees(cmath.phase(value))
    text = f"{significant(abs(value))} Ω"
    return text if round(degrees, 1) == 0 else f"{text} ∠ {degrees:.1f}°".replace("-", "−")


def spot_text(spot: tuple[float, float, float]) -> Text:
    """A place on metal, in plan."""
    return in_units(lambda units: place_in(spot[:2], units))
