"""What a case took from its drawing, and what it did not, in words."""

from collections import Counter
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from ..solver.model import Floats
from ..solver.plan_place import PlanPlace

RemarkKind = Literal[
    "joined", "moved", "crossing", "taken once", "left out", "height", "not followed"
]


@dataclass(frozen=True)
class Remark:
    """What was done to something drawn, or not."""

    kind: RemarkKind
    words: str  # what it is, with handle, layer and place


@dataclass(frozen=True)
class DrawnPlan:
    """What became of the drawing of a case.

    Attributes
    ----------
    file, sha256 : str
        Name as the case gives it, and hash of its bytes.
    unit : str
        What one unit of it is.
    placed : PlanPlace
        How the case lies in it.
    size : tuple of float, length 2
        Width and height of all that it shows. [m]
    taken : tuple of (str, str)
        Name of each part or outline, and what of the drawing it is.
    remarks : tuple of Remark
        What was joined, dropped or not followed, one by one.
    untaken : tuple of (str, str)
        Layer, and what of it nothing in the case took.
    hidden : tuple of str
        Layers that are off or frozen in the drawing.
    under_maps : ndarray of float, shape (n, 2, 2)
        Straight pieces of what is no metal, to be drawn under maps. [m]
    """

    file: str
    sha256: str
    unit: str
    placed: PlanPlace
    size: tuple[float, float]
    taken: tuple[tuple[str, str], ...]
    remarks: tuple[Remark, ...]
    untaken: tuple[tuple[str, str], ...]
    hidden: tuple[str, ...]
    under_maps: Floats = field(default_factory=lambda: np.zeros((0, 2, 2)), compare=False)

    @property
    def counts(self) -> tuple[tuple[RemarkKind, int], ...]:
        """Number of remarks of each kind, in the order in which they first occur."""
        return tuple(Counter(remark.kind for remark in self.remarks).items())

    @property
    def rows(self) -> tuple[tuple[str, str], ...]:
        """What became of it, a row each: what kind of thing, and the words."""
        return (
            ("file", f"{self.file} (SHA-256 {self.sha256[:16]}…)"),
            ("overall", _size(self)),
            *(("taken", f"{name}: {what}") for name, what in self.taken),
            *((remark.kind, remark.words) for remark in self.remarks),
            *(("not taken", f"{what} on layer {layer!r}") for layer, what in self.untaken),
            *(("off or frozen", f"layer {layer!r}") for layer in self.hidden),
        )


def _size(plan: DrawnPlan) -> str:
    """Overall size in the drawing's own unit and in metres, for the eye to catch a slip."""
    wide, high = plan.size
    metres = f"{wide:,.1f} m by {high:,.1f} m"
    if plan.unit == "m":
        return metres
    own = plan.placed.metres
    return f"{wide / own:,.0f} by {high / own:,.0f} units of 1 {plan.unit}: {metres}"
