"""The soil of a case file: layers, or a survey they are fitted to, and bodies in them."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from ...solver.errors import CaseError
from ..bodies.schema import AnyBody
from ..reading import fields as f
from ..reading.blocks import Block
from ..reading.size_limits import (
    LARGEST_ANISOTROPY,
    LARGEST_CONTRAST,
    MOST_BODIES,
    MOST_LAYERS,
)
from .schema import Survey


class Layer(Block):
    """Horizontal layer of soil."""

    resistivity: f.Resistivity
    """Resistivity of the soil in this layer; along the bedding where it is bedded."""
    vertical_resistivity: f.Resistivity | None = None
    """Resistivity up and down, across flat bedding, where it is not the same as sideways: 1.2
    to 5 times that of sand and clay in thin beds, of shale and slate (Keller & Frischknecht
    1966, from memory). A survey at the surface cannot tell it: it shows one resistivity, the
    root of the product of both, in a layer that seems thicker by the root of their ratio. Take
    it from cores, borehole logs or the beds themselves, or compare what both ends would do."""
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
        for number, layer in enumerate(self.layers, start=1):
            upright = layer.vertical_resistivity or layer.resistivity
            ratio = max(upright / layer.resistivity, layer.resistivity / upright)
            if ratio > LARGEST_ANISOTROPY * (1 + 1e-9):
                msg = (
                    f"layer {number} has {layer.resistivity:g} ohm*m sideways and {upright:g} "
                    f"ohm*m up and down, {ratio:.4g} to 1; at most {LARGEST_ANISOTROPY:g} to 1 "
                    "is allowed"
                )
                raise CaseError(msg)
        values = [layer.resistivity for layer in self.layers]
        values += [
            layer.vertical_resistivity for layer in self.layers if layer.vertical_resistivity
        ]
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
