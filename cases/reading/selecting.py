"""What of a drawing is meant, as the case file says it."""

from typing import Annotated

from pydantic import Field

from . import fields as f
from .blocks import Block
from .size_limits import MOST_SELECTED

_names = Annotated[tuple[f.Name, ...], Field(min_length=1, max_length=MOST_SELECTED)]


class Selection(Block):
    """What of the drawing is meant: it has to meet all that is given."""

    layers: _names | None = None
    """Names of layers."""
    colours: (
        Annotated[
            tuple[Annotated[int, f.whole(least=1, most=255)], ...],
            Field(min_length=1, max_length=255),
        ]
        | None
    ) = None
    """Indices of colours, from 1 to 255; that of the layer where an entity has none."""
    blocks: _names | None = None
    """Names of blocks."""
