"""Bodies in the soil that are not layers: pads, ponds, blocks, trenches, rock, voids."""

from .ball import Ball
from .between import lies_in, reaches_into
from .body import Body, Shape
from .crossings import Crossings, touching
from .film import Film, every_face
from .shapes import Cylinder, HalfSpace, Prism

__all__ = [
    "Ball",
    "Body",
    "Crossings",
    "Cylinder",
    "Film",
    "HalfSpace",
    "Prism",
    "Shape",
    "every_face",
    "lies_in",
    "reaches_into",
    "touching",
]
