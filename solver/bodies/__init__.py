"""Bodies in the soil that are not layers: pads, ponds, blocks, trenches, rock, voids."""

from .ball import Ball
from .body import Body, Shape
from .crossings import Crossings
from .shapes import Cylinder, HalfSpace, Prism

__all__ = ["Ball", "Body", "Crossings", "Cylinder", "HalfSpace", "Prism", "Shape"]
