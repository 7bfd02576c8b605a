"""Sources of the isotropic twin of layers where they are, on the real metal."""

from dataclasses import replace

from ..anisotropy import Twin, unstretched
from ..model import Floats, Soil
from .elements import LineElements


def in_place(sources: LineElements, *, twin: Twin, soil: Soil) -> LineElements:
    """Sources of the isotropic twin where they are, each on its piece of the real metal."""
    if soil.isotropic:
        return sources
    return replace(
        sources,
        start=unstretched(sources.start, soil=soil),
        end=unstretched(sources.end, soil=soil),
        piece=twin.piece[sources.piece],
    )


def longer(twin: Twin) -> Floats | float:
    """Length of each piece of the twin over that of the real metal."""
    by = twin.conductors.stretched_by
    return 1.0 if by is None else by[:, 0]
