"""What parts of electrodes are made of, as current along them meets it."""

from ...solver.heating import Material
from ...solver.metal import Bar
from ..case import PartSummary


def bar_of(part: PartSummary, metal: Material, *, permeability: float) -> Bar:
    """A part of some metal, its steel of a relative permeability."""
    return Bar(
        metal,
        permeability=permeability,
        temperature=part.temperature,
        area=part.stranded,
        strip=part.strip,
    )
