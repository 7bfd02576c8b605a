"""Bodies in the soil as the case file writes them: prisms, boxes, cylinders, balls …"""

from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from ...solver.errors import CaseError
from ..reading import fields as f
from ..reading import quantities as q
from ..reading.blocks import Block
from ..reading.naming import names_a, refers_to
from ..reading.size_limits import MOST_OUTLINE_POINTS, THICKEST_FILM

_Outline = Annotated[
    tuple[f.Point, ...],
    Field(min_length=3, max_length=MOST_OUTLINE_POINTS),
    f.simple_outline,
    f.or_drawn,
]


class Film(Block):
    """Thin poor layer on faces of a body: a vapour barrier, a liner, a shell."""

    exactly_one: ClassVar[tuple[tuple[str, ...], ...]] = (("resistance", "resistivity"),)

    resistance: (
        Annotated[float, f.quantity(q.FILM_RESISTIVITY, above=0.0, most=1e12)] | None
    ) = None
    """Resistivity times thickness, with what laps, holes and seams let pass."""
    resistivity: f.Resistivity | None = None
    """Resistivity of what it is made of."""
    thickness: f.Length | None = None
    """Its thickness, to go with its resistivity."""
    faces: (
        Annotated[tuple[Literal["top", "walls", "bottom"], ...], Field(min_length=1)] | None
    ) = None
    """Faces of the body that it is on; all where left out."""

    @model_validator(mode="after")
    def _thin(self) -> Self:
        if (self.resistivity is None) != (self.thickness is None):
            msg = "give its resistance alone, or both its resistivity and its thickness"
            raise CaseError(msg)
        if self.thickness is not None and self.thickness >= THICKEST_FILM:
            msg = (
                f"is {self.thickness:g} m thick; a film is thinner than {THICKEST_FILM:g} m: "
                "make it a body of its own"
            )
            raise CaseError(msg)
        if self.faces is not None and len(set(self.faces)) < len(self.faces):
            msg = f"names a face twice: {', '.join(self.faces)}; name each once"
            raise CaseError(msg)
        return self


class Body(Block):
    """Part of the ground that is not layers, with one resistivity, or a void."""

    exactly_one: ClassVar[tuple[tuple[str, ...], ...]] = (("resistivity", "void"),)

    name: Annotated[f.Name, names_a("body")]
    """Your own name: pool, foundation, rock."""
    resistivity: f.Resistivity | None = None
    """Resistivity of what it is made of."""
    void: Literal[True] | None = None
    """It carries no current: a basement, a vault, a cut."""
    within: Annotated[f.Name, refers_to("body")] | None = None
    """Name of the body that it lies in and takes a part of."""
    film: Film | None = None
    """Thin poor layer on its faces."""

    @model_validator(mode="after")
    def _film_on_something(self) -> Self:
        if self.void and self.film is not None:
            msg = "is a void and has a film; no current crosses a void's faces: leave one out"
            raise CaseError(msg)
        return self


class _Upright(Body):
    exactly_one: ClassVar[tuple[tuple[str, ...], ...]] = (
        *Body.exactly_one,
        ("bottom", "bottomless"),
    )

    top: f.Depth = 0.0
    """Depth of its top; at the surface when left out."""
    bottom: f.Length | None = None
    """Depth of its bottom."""
    bottomless: Literal[True] | None = None
    """It reaches down for ever."""

    @model_validator(mode="after")
    def _bottom_below_top(self) -> Self:
        if self.bottom is not None and self.bottom <= self.top:
            msg = (
                f"its bottom, {self.bottom:g} m deep, must be below its top, {self.top:g} m "
                "deep: both are depths from the surface"
            )
            raise CaseError(msg)
        return self


class Prism(_Upright):
    """A polygon in plan with vertical walls."""

    kind: Literal["prism"]
    outline: _Outline
    """Its corners in plan, in order."""


class Box(_Upright):
    """A rectangle in plan with vertical walls."""

    exactly_one = (*_Upright.exactly_one, ("corner", "centre"))

    kind: Literal["box"]
    corner: f.Point | None = None
    """Corner of the rectangle from which its x and y run."""
    centre: f.Point | None = None
    """Centre of the rectangle, in place of its corner."""
    size: tuple[f.Length, f.Length]
    """Size of the rectangle along its x and y."""
    rotation: f.Angle = 0.0
    """Angle from the x axis to the x direction of the box, about its corner or centre."""


class Slab(Body):
    """A flat plate: a pad, a deck, a road."""

    kind: Literal["slab"]
    outline: _Outline
    """Its corners in plan, in order."""
    thickness: f.Length
    """Its thickness."""
    top: f.Depth = 0.0
    """Depth of its top; at the surface when left out."""


class Cylinder(_Upright):
    """A circle in plan with a vertical wall."""

    kind: Literal["cylinder"]
    centre: f.Point
    """Centre, [x, y]."""
    radius: f.Length
    """Radius."""


class Ball(Body):
    """A ball, or what of it lies below the surface."""

    kind: Literal["ball"]
    centre: f.Point
    """Centre, [x, y]."""
    depth: f.Coordinate
    """Depth of the centre: 0 makes a half ball, below 0 (above the surface) a bowl."""
    radius: f.Length
    """Radius."""


class Beyond(_Upright):
    """All beyond a vertical plane: another ground, rock, a cut."""

    kind: Literal["beyond"]
    line: tuple[f.Point, f.Point]
    """Two places on the plane, seen from above."""
    side: Literal["left", "right"]
    """Side of the line it is on, seen from its first place to the second."""

    @model_validator(mode="after")
    def _has_direction(self) -> Self:
        if self.line[0] == self.line[1]:
            msg = "its line has the same place twice; give two places of the plane"
            raise CaseError(msg)
        return self


AnyBody = Annotated[Prism | Box | Slab | Cylinder | Ball | Beyond, Field(discriminator="kind")]
