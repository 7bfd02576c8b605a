"""The uncertainty block as the case file writes it: inputs, draws, readings to come."""

from typing import Annotated, Any, Self

from pydantic import Field, model_validator

from ...solver.errors import CaseError
from ..reading import fields as f
from ..reading.blocks import Block
from ..reading.naming import names_a
from ..reading.size_limits import DEEPEST_NESTING, MOST_DRAWS, MOST_INPUTS, MOST_OPTIONS

_Value = str | int | float
_kinds = ("lognormal", "normal", "uniform", "triangular", "one_of")


class Lognormal(Block):
    """Two thirds lie between median / factor and median · factor."""

    median: _Value
    """Half lies below."""
    factor: Annotated[float, f.ratio(least=1.0001, most=100.0)]
    """Of one standard deviation."""


class Normal(Block):
    """Normal, cut off at zero."""

    mean: _Value
    """Middle."""
    deviation: _Value
    """Standard deviation, in the same unit."""


class Uniform(Block):
    """Every value between two as probable."""

    first: Annotated[_Value, Field(alias="from")]
    """Lowest."""
    to: _Value
    """Highest, in the same unit."""


class Triangular(Block):
    """Most probable at one value."""

    first: Annotated[_Value, Field(alias="from")]
    """Lowest."""
    likely: _Value
    """Most probable, in the same unit."""
    to: _Value
    """Highest, in the same unit."""


class OneOf(Block):
    """One of a few values."""

    values: Annotated[tuple[Any, ...], Field(min_length=2, max_length=MOST_OPTIONS)]
    """The values, as the case would have them."""
    weights: (
        Annotated[
            tuple[Annotated[float, f.ratio(least=0.0, most=1e9)], ...],
            Field(min_length=2, max_length=MOST_OPTIONS),
        ]
        | None
    ) = None
    """How probable each is, in any measure; all alike when left out."""

    @model_validator(mode="after")
    def _as_many(self) -> Self:
        if self.weights is not None and len(self.weights) != len(self.values):
            msg = f"{len(self.values)} values and {len(self.weights)} weights: one for each"
            raise CaseError(msg)
        return self


class Input(Block):
    """Something of the case that is not known."""

    exactly_one = (_kinds,)

    name: Annotated[f.Name, names_a("input")]
    """Your own name: fault current, clearing time, split factor."""
    set: Annotated[tuple[Any, ...], Field(min_length=1, max_length=DEEPEST_NESTING)]
    """Place in the case that takes the values: its keys in order, entries of lists by their
    name or their number from 1, as in [electrodes, pad, drive, current]."""
    lognormal: Lognormal | None = None
    """Known to a factor."""
    normal: Normal | None = None
    """Known to a difference; cut off at zero."""
    uniform: Uniform | None = None
    """Known to lie between two values."""
    triangular: Triangular | None = None
    """Known to lie between two values and most likely at one."""
    one_of: OneOf | None = None
    """One of a few: seasons, a bond made or not."""


class Rod(Block):
    """A rod driven for a reading and pulled again."""

    length: f.Length
    """Driven length."""
    diameter: f.Diameter
    """Diameter."""


class NextReading(Block):
    """A reading that could be taken next; which one is worth it is worked out."""

    exactly_one = (("wenner", "rod", "resistance"),)

    name: Annotated[f.Name, names_a("next reading")]
    """Your own name: a longer traverse, fall of potential."""
    wenner: Annotated[tuple[f.Length, ...], Field(min_length=1, max_length=50)] | None = None
    """Four pins at equal distances, of these spacings."""
    rod: Rod | None = None
    """Resistance of a rod driven for it."""
    resistance: bool | None = None
    """Resistance of the driven electrode itself, once it is there (fall of potential)."""
    error: Annotated[float, f.ratio(least=0.001, most=1.0)] = 0.05
    """Relative standard deviation of each reading."""

    @model_validator(mode="after")
    def _something(self) -> Self:
        if self.resistance is False:
            msg = "'resistance: false' is no reading; leave it out or say true"
            raise CaseError(msg)
        return self


class Uncertainty(Block):
    """What is not known, how many draws to make of it, which readings could come next."""

    inputs: Annotated[tuple[Input, ...], Field(max_length=MOST_INPUTS)] = ()
    """What is not known beside the soil."""
    soil_from_survey: bool = True
    """Whether the soil is drawn as probable as the readings of its survey leave it; where it is
    not a survey, its layers are as given or drawn as inputs."""
    draws: Annotated[int, f.whole(least=50, most=MOST_DRAWS)] = 1000
    """About so many draws."""
    seed: Annotated[int, f.whole(least=0, most=10**9)] = 1
    """Of the draws: the same gives the same."""
    next_readings: Annotated[tuple[NextReading, ...], Field(max_length=MOST_INPUTS)] = ()
    """Readings that could be taken next."""
