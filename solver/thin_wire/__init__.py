"""Second opinion: thin conductors and plates in layered soil by an integral method."""

from .agreement import (
    Agreement,
    Standing,
    ThirdOpinion,
    agreement,
    agreement_along,
    third_opinion,
)
from .kept import KeptWires
from .kept_surface import KeptSurface, QuicklyRead
from .opinion import SecondOpinion, most_wires, second_opinion, usual_length, wires_of
from .tabled import TabledImages
from .wired import WiredOpinion, wired_opinion

__all__ = [
    "Agreement",
    "KeptSurface",
    "KeptWires",
    "QuicklyRead",
    "SecondOpinion",
    "Standing",
    "TabledImages",
    "ThirdOpinion",
    "WiredOpinion",
    "agreement",
    "agreement_along",
    "most_wires",
    "second_opinion",
    "third_opinion",
    "usual_length",
    "wired_opinion",
    "wires_of",
]
