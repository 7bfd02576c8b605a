"""Upright rectangles of a page."""

from dataclasses import dataclass

import numpy as np

from ...solver.model import Floats


@dataclass(frozen=True)
class Box:
    """Upright rectangle. [pixel]"""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """[pixel]"""
        return self.right - self.left

    @property
    def height(self) -> float:
        """[pixel]"""
        return self.top - self.bottom

    def grown(self, margin: float) -> "Box":
        """Box with a margin all round."""
        return Box(
            self.left - margin, self.bottom - margin, self.right + margin, self.top + margin
        )

    def overlaps(self, other: "Box") -> bool:
        """Whether two boxes share any area."""
        across = self.left < other.right and other.left < self.right
        return across and self.bottom < other.top and other.bottom < self.top

    def holds(self, other: "Box") -> bool:
        """Whether the other box is inside this one."""
        across = self.left <= other.left and other.right <= self.right
        return across and self.bottom <= other.bottom and other.top <= self.top

    def corners(self) -> Floats:
        """Closed outline, shape (5, 2)."""
        x = [self.left, self.right, self.right, self.left, self.left]
        y = [self.bottom, self.bottom, self.top, self.top, self.bottom]
        return np.column_stack([x, y])
