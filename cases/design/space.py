"""Choices, options and rules of a design block: which designs are possible, and how many."""

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ...solver.design import PriceList, Targets
from ..reading.documents import Step

Chosen = tuple[int, ...]
"""Number of the option of each choice, in their order."""

Partly = tuple[int | None, ...]
"""The same, with None for choices that are left as the case has them."""


@dataclass(frozen=True)
class Choice:
    """Something that may be chosen."""

    name: str
    options: tuple[str, ...]  # names of the options, values as they are written
    place: tuple[Step, ...]  # where the choice stands in the case file
    # Keys, names and numbers that lead to what takes the values; None for options that are
    # written like variants
    target: tuple[Step, ...] | None = None
    values: tuple[Any, ...] = ()  # as the case file would have them
    prices: tuple[float, ...] = ()  # what each option costs beside its metal

    def origin(self, option: int) -> tuple[Step, ...]:
        """Where an option stands in the case file."""
        if self.target is None:
            return (*self.place, "options", option)
        return (*self.place, "values", option)


@dataclass(frozen=True)
class Rule:
    """What may not be chosen together: numbers of options by that of their choice."""

    where: Mapping[int, frozenset[int]]
    required: Mapping[int, frozenset[int]]
    excluded: Mapping[int, frozenset[int]]

    def allows(self, chosen: Chosen) -> bool:
        """Whether a design keeps the rule."""
        if not all(chosen[choice] in options for choice, options in self.where.items()):
            return True
        return all(
            chosen[choice] in options for choice, options in self.required.items()
        ) and not any(chosen[choice] in options for choice, options in self.excluded.items())


@dataclass(frozen=True)
class DesignSpace:
    """All designs of a case."""

    choices: tuple[Choice, ...]
    rules: tuple[Rule, ...]
    targets: Targets
    prices: PriceList | None
    most_tried: int
    # For tables that the case names; None refuses them
    folder: Path | None = field(default=None, compare=False)

    def allows(self, chosen: Chosen) -> bool:
        """Whether a design keeps all rules."""
        return all(rule.allows(chosen) for rule in self.rules)

    def designs(self) -> Iterator[Chosen]:
        """All possible designs; options of the last choice change fastest."""
        every = itertools.product(*(range(len(item.options)) for item in self.choices))
        return filter(self.allows, every)

    def first_with(self, choice: int, option: int) -> Chosen | None:
        """The first possible design with an option; None where the rules leave none."""
        ranges = [range(len(item.options)) for item in self.choices]
        ranges[choice] = range(option, option + 1)
        return next(filter(self.allows, itertools.product(*ranges)), None)

    def extras(self, chosen: Partly) -> list[tuple[str, float]]:
        """Options of a design that have prices of their own, and those."""
        return [
            (f"{choice.name}: {choice.options[option]}", choice.prices[option])
            for choice, option in zip(self.choices, chosen, strict=True)
            if option is not None and choice.prices[option] > 0
        ]

    def words(self, chosen: Partly) -> str:
        """What a design is, in the words of the case file."""
        return "; ".join(
            f"{choice.name}: {choice.options[option]}"
            for choice, option in zip(self.choices, chosen, strict=True)
            if option is not None
        )
