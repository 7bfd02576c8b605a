"""Second opinion: thin conductors in layered soil by an integral method."""

from .opinion import SecondOpinion, most_wires, second_opinion

__all__ = ["SecondOpinion", "most_wires", "second_opinion"]
