"""Bodies in the soil that are not layers: pads, ponds, blocks, trenches, rock, voids."""

from .ball import Ball
from .between import lies_in, reaches_into
from .body import Body, Shape
from .crossings import Crossings, touching
from .shapes import Cylinder, HalfSpace, Prism

__all__ = [
    "Ball",
    "Body",
    "Crossings",
    "Cylinder",
    "HalfSpace",
    "Prism",
    "Shape",
    "lies_in",
    "reaches_into",
    "touching",
]
