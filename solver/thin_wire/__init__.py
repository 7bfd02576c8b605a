"""Second opinion: thin conductors in layered soil by an integral method."""

from .agreement import Agreement, agreement
from .opinion import SecondOpinion, most_wires, second_opinion

__all__ = ["Agreement", "SecondOpinion", "agreement", "most_wires", "second_opinion"]
