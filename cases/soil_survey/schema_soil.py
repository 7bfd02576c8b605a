"""The soil of a case file: layers, or a survey they are fitted to, and bodies in them."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from ...solver.errors import CaseError
from ..bodies.schema import AnyBody
from ..reading import fields as f
from ..reading.blocks import Block
from ..reading.size_limits import LARGEST_CONTRAST, MOST_BODIES, MOST_LAYERS
from .schema import Survey


class Layer(Block):
    """Horizontal layer of soil."""

    resistivity: f.Resistivity
    """Resistivity of the soil in this layer."""
    thickness: f.Length | None = None
    """Thickness; the last layer has none and reaches down for ever."""


class Soil(Block):
    """Horizontal layers, given or fitted to a survey, and bodies in them."""

    exactly_one = (("layers", "survey"),)

    layers: Annotated[tuple[Layer, ...], Field(min_length=1, max_length=MOST_LAYERS)] | None = (
        None
    )
    """Layers from the surface down."""
    survey: Survey | None = None
    """Readings to which the layers are fitted."""
    bodies: Annotated[tuple[AnyBody, ...], Field(max_length=MOST_BODIES)] = ()
    """What in the soil is not layers: a pad, a pool, rock beyond an edge, a basement."""

    @model_validator(mode="after")
    def _stack(self) -> Self:
        if self.layers is None:
            return self
        *upper, last = self.layers
        without = [str(n) for n, layer in enumerate(upper, start=1) if layer.thickness is None]
        if without:
            msg = f"layer {', '.join(without)} needs a thickness; only the last one has none"
            raise CaseError(msg)
        if last.thickness is not None:
            msg = (
                "the last layer reaches down for ever: give it no thickness, "
                "or add the layer below"
            )
            raise CaseError(msg)
        values = [layer.resistivity for layer in self.layers]
        values += [body.resistivity for body in self.bodies if body.resistivity is not None]
        # One part in 1e9 of slack, so that 1000 written in two units stays 1000.
        if max(values) > LARGEST_CONTRAST * min(values) * (1 + 1e-9):
            msg = (
                f"resistivities from {min(values):g} to {max(values):g} ohm*m are "
                f"{max(values) / min(values):.4g} to 1; at most {LARGEST_CONTRAST:g} to 1 "
                "is allowed"
            )
            raise CaseError(msg)
        return self
