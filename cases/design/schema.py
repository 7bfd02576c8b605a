"""The design block as the case file writes it: choices, rules, targets, prices."""

from typing import Annotated, Any, Self

from pydantic import Field, model_validator

from ...solver.errors import CaseError
from ..changes import Change
from ..reading import fields as f
from ..reading import quantities as q
from ..reading.blocks import Block
from ..reading.naming import names_a
from ..reading.size_limits import (
    DEEPEST_NESTING,
    MOST_CHOICES,
    MOST_DESIGNS,
    MOST_OPTIONS,
    MOST_RULES,
)

_Volume = Annotated[float, f.quantity(q.VOLUME, above=0.0, most=1e6)]


class Option(Change):
    """One way to go in a choice, written like a variant; without changes, the case as it is."""

    name: Annotated[f.Name, names_a("option", in_its_list=True)]
    """Your own name: none, ring, four rods."""
    price: f.Money = 0.0
    """What it costs beside its metal, joints and rock."""


class Choice(Block):
    """Something that may be chosen: values for one place of the case, or named options."""

    exactly_one = (("options", "values", "from"),)

    name: Annotated[f.Name, names_a("choice")]
    """Your own name: rod length, meshes, ring."""
    set: Annotated[tuple[Any, ...], Field(min_length=1, max_length=DEEPEST_NESTING)] | None = (
        None
    )
    """Place in the case that takes the values: its keys in order, entries of lists by their
    name or their number from 1, as in [electrodes, grid, parts, rods, length]."""
    values: Annotated[tuple[Any, ...], Field(min_length=2, max_length=MOST_OPTIONS)] | None = (
        None
    )
    """Values to choose from, least metal first."""
    first: Annotated[str | int | float | None, Field(alias="from")] = None
    """First value of a range: a whole number, a number or a quantity."""
    to: str | int | float | None = None
    """Last value of the range."""
    step: str | int | float | None = None
    """From one value of the range to the next."""
    options: (
        Annotated[tuple[Option, ...], Field(min_length=2, max_length=MOST_OPTIONS)] | None
    ) = None
    """Named options, each with what it changes in the case."""

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if (self.options is None) == (self.set is None):
            msg = "'values' or a range need the place to 'set'; 'options' have none"
            raise CaseError(msg)
        given = [value is not None for value in (self.first, self.to, self.step)]
        if any(given) and not all(given):
            msg = "a range needs 'from', 'to' and 'step'"
            raise CaseError(msg)
        return self


_Chosen = Annotated[dict[str, Any], Field(min_length=1, max_length=MOST_CHOICES)]


class Rule(Block):
    """What may not be chosen together."""

    exactly_one = (("requires", "excludes"),)

    where: _Chosen
    """Choices and the options of theirs for which the rule holds: {ring: [none, inner]}."""
    requires: _Chosen | None = None
    """Choices and options of which each must be chosen then."""
    excludes: _Chosen | None = None
    """Choices and options of which none may be chosen then."""


class Targets(Block):
    """What a design has to reach beside the limits of the exposures."""

    reserve: Annotated[float, f.ratio(least=0.0, most=0.9)] = 0.0
    """Share of each limit that is kept free, over the numerical error."""
    resistance: f.Resistance | None = None
    """Largest resistance of each driven electrode to remote earth."""
    rise: f.Voltage | None = None
    """Largest rise over remote earth."""

    @model_validator(mode="after")
    def _possible(self) -> Self:
        for key in ("resistance", "rise"):
            value = getattr(self, key)
            if value is not None and value <= 0:
                msg = f"{key}: nothing buried reaches 0; give a value above it"
                raise CaseError(msg)
        return self


class ConductorPrice(Block):
    """Price of conductor of one section, laid."""

    section: f.Area
    """Area of its metal; round metal and strips are taken by theirs."""
    price: f.Money
    """Price of so much of it as `per` says."""
    per: f.Length
    """Length the price is for: 1 m, 100 ft."""


class RodPrice(Block):
    """Price of rods."""

    each: f.Money = 0.0
    """Of each rod, whatever its length: set up, couple, clamp."""
    driven: f.Money = 0.0
    """Of so much driven rod as `per` says."""
    per: f.Length = 1.0
    """Length the price is for: 1 m, 1 ft; 1 m when left out."""


class SurfacePrice(Block):
    """Price of surface layers, laid."""

    price: f.Money
    """Price of so much of it as `per` says."""
    per: _Volume
    """Volume the price is for: 1 m^3, 1 yd^3."""


class Prices(Block):
    """What a design costs, in any currency."""

    currency: Annotated[str, f.words(most=12)]
    """Currency, as text: EUR, kUSD."""
    conductors: Annotated[tuple[ConductorPrice, ...], Field(max_length=MOST_OPTIONS)] = ()
    """Of conductors by section."""
    rods: RodPrice = RodPrice()
    """Of rods."""
    joint: f.Money = 0.0
    """Of each place where metal meets metal."""
    surface: SurfacePrice | None = None
    """Of surface layers; left out, they cost nothing."""
    fixed: f.Money = 0.0
    """What every design costs."""


class Design(Block):
    """What may be chosen, what has to be reached, and what it costs."""

    choices: Annotated[tuple[Choice, ...], Field(min_length=1, max_length=MOST_CHOICES)]
    """Choices; a design takes one option of each. They are laid over the case in this order."""
    rules: Annotated[tuple[Rule, ...], Field(max_length=MOST_RULES)] = ()
    """What goes together and what does not."""
    targets: Targets = Targets()
    """What has to be reached."""
    prices: Prices | None = None
    """What metal, joints and rock cost; left out, designs are ranked by metres of metal."""
    most_tried: Annotated[int, f.whole(least=1, most=MOST_DESIGNS)] = 1000
    """So many possible designs are tried one and all; of more, as many are searched for."""
