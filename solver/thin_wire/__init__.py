"""Second opinion: thin conductors in layered soil by an integral method."""

from .agreement import Agreement, Standing, ThirdOpinion, agreement, third_opinion
from .opinion import SecondOpinion, most_wires, second_opinion, wires_of
from .tabled import TabledImages

__all__ = [
    "Agreement",
    "SecondOpinion",
    "Standing",
    "TabledImages",
    "ThirdOpinion",
    "agreement",
    "most_wires",
    "second_opinion",
    "third_opinion",
    "wires_of",
]
