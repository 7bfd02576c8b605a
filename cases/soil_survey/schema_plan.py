"""Soil surveys to be simulated: the survey_plan block of a case file."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from ...solver.errors import CaseError
from ..reading import fields as f
from ..reading.blocks import Block
from ..reading.naming import names_a
from .schema import Deviation

MOST_PLANNED = 20
_most_spacings, _most_middles = 60, 60
MOST_PLANNED_READINGS = 400
Spacings = Annotated[tuple[f.Length, ...], Field(min_length=1, max_length=_most_spacings)]


class _Planned(Block):
    """Pins in line that are moved apart."""

    exactly_one = (("midpoint", "midpoints"),)

    name: Annotated[f.Name, names_a("planned traverse")]
    """Your own name."""
    midpoint: f.Point | None = None
    """Middle of the pins, [x, y]."""
    midpoints: Annotated[tuple[f.Point, ...], Field(max_length=_most_middles)] | None = None
    """Several middles, each with all spacings, for a section along the line."""
    azimuth: f.Angle = 0.0
    """Direction of the line, from the x axis towards the y axis; 0 when left out."""
    deviation: Deviation = 0.03
    """Standard deviation that is written beside each reading; 3 % when left out."""

    @property
    def middles(self) -> tuple[tuple[float, float], ...]:
        """All middles. [m]"""
        return self.midpoints or (() if self.midpoint is None else (self.midpoint,))


class WennerPlan(_Planned):
    """Pins at equal distances."""

    array: Literal["wenner"]
    """Pins at equal distances."""
    spacings: Spacings
    """Distances a between neighbouring pins."""


class SchlumbergerPlan(_Planned):
    """Potential pins about the middle of the current pins."""

    array: Literal["schlumberger"]
    """Potential pins about the middle of the current pins."""
    half_current_spacings: Spacings
    """Half the distances between the current pins."""
    half_potential_spacing: f.Length
    """Half the distance between the potential pins."""

    @model_validator(mode="after")
    def _inside(self) -> Self:
        inner, least = self.half_potential_spacing, min(self.half_current_spacings)
        if inner >= least:
            msg = (
                f"potential pins {inner:g} m from the middle stand beyond current pins "
                f"{least:g} m from it; give a half_potential_spacing below {least:g} m"
            )
            raise CaseError(msg)
        return self


SurveyPlan = Annotated[
    tuple[
        Annotated[WennerPlan | SchlumbergerPlan, Field(discriminator="array")],
        ...,
    ],
    Field(max_length=MOST_PLANNED),
]
