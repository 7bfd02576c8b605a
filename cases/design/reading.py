"""From a validated design block to its designs, or all that is wrong with it."""

import re
from collections.abc import Iterator, Mapping
from fractions import Fraction
from math import isfinite, prod
from pathlib import Path
from typing import Any

from ...solver.design import PriceList, Targets
from ...solver.errors import CaseError, Problem
from ..changes import A_BLOCK, CHANGEABLE
from ..reading.documents import Document, Step
from ..reading.messages import not_among, shown
from ..reading.problems import in_order
from ..reading.size_limits import MOST_DESIGNS, MOST_OPTIONS
from ..reading.steps import overlap, path_in
from . import schema
from .space import Choice, DesignSpace, Rule

_longest = 60  # characters of an end of a range
_number_and_unit = re.compile(r"(?P<number>[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)) *(?P<unit>\D.*)")


def space_of(
    given: schema.Design,
    *,
    document: Document,
    prices: PriceList | None = None,
    folder: Path | None = None,
) -> DesignSpace:
    """Designs of a case; `CaseError` with all that is broken, endless or contradictory.

    Prices of the case serve where the block has none of its own.
    """
    problems: list[Problem] = []
    if given.prices is not None and prices is not None:
        msg = "stands beside the block 'prices' of the case; keep one of them"
        problems.append(document.problem(msg, path=("design", "prices")))
    choices = []
    for number, item in enumerate(given.choices):
        place: tuple[Step, ...] = ("design", "choices", number)
        try:
            choices.append(_choice(item, place=place, document=document))
        except CaseError as error:
            problems += [
                one if one.line or one.path else document.problem(one.message, path=place)
                for one in error.problems
            ]
    problems += _set_twice(choices, document)
    if problems:
        raise CaseError(in_order(problems))
    rules = []
    for number, rule in enumerate(given.rules):
        path = ("design", "rules", number)
        try:
            rules.append(_rule(rule, choices))
        except CaseError as error:
            problems.append(document.problem(str(error), path=path))
    space = DesignSpace(
        choices=tuple(choices),
        rules=tuple(rules),
        targets=Targets(**dict(given.targets)),
        prices=prices if given.prices is None else price_list(given.prices),
        most_tried=given.most_tried,
        folder=folder,
    )
    problems += _of_number(space, document) if not problems else []
    if problems:
        raise CaseError(in_order(problems))
    return space


def price_list(given: schema.Prices) -> PriceList:
    """Prices in SI units."""
    rods, surface = given.rods, given.surface
    return PriceList(
        currency=given.currency,
        conductors=tuple((item.section, item.price / item.per) for item in given.conductors),
        rod=rods.each,
        driven=rods.driven / rods.per,
        joint=given.joint,
        surface=0.0 if surface is None else surface.price / surface.per,
        fixed=given.fixed,
    )


def _choice(given: schema.Choice, *, place: tuple[Step, ...], document: Document) -> Choice:
    if given.options is not None:
        names = tuple(option.name for option in given.options)
        return Choice(given.name, names, place, prices=tuple(o.price for o in given.options))
    assert given.set is not None  # the schema asks for one of the two
    target = resolved(document.content, given.set)
    if given.values is not None:
        content = document.content["design"]["choices"][place[-1]]
        values = tuple(content["values"])  # as they stand, before any type is made of them
    else:
        values = _stepped(given.first, to=given.to, step=given.step)
    names = tuple(map(words_of, values))
    if repeated := [name for k, name in enumerate(names) if name in names[:k]]:
        msg = f"the value {shown(repeated[0])} stands twice; give each once"
        raise CaseError(msg)
    return Choice(given.name, names, place, target, values, (0.0,) * len(values))


def words_of(value: Any) -> str:
    """A value of the case file as one writes it.

    Examples
    --------
    >>> words_of([4, 3]), words_of(True), words_of("3 m")
    ('[4, 3]', 'true', '3 m')
    """
    if isinstance(value, list):
        return "[" + ", ".join(map(words_of, value)) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {words_of(item)}" for key, item in value.items()) + "}"
    if isinstance(value, bool):
        return str(value).lower()
    return f"{value:g}" if isinstance(value, float) else str(value)


def resolved(content: Any, given: tuple[Any, ...]) -> tuple[Step, ...]:
    """Path in a document of what the steps of `set` lead to; the last key may be missing.

    `CaseError` if they lead nowhere.
    """
    try:
        if given[0] not in CHANGEABLE:
            raise CaseError(not_among(str(given[0]), CHANGEABLE, what=A_BLOCK))
        return path_in(content, given)
    except CaseError as error:
        msg = f"set: {error}"
        raise CaseError(msg) from error


def _stepped(first: Any, *, to: Any, step: Any) -> tuple[Any, ...]:
    """Values of a range in one unit, both ends included."""
    ends = [_number(value) for value in (first, to, step)]
    units = {unit for _, unit in ends}
    if len(units) > 1:
        msg = f"from {first}, to {to}, step {step}: write all three in one unit"
        raise CaseError(msg)
    begin, end, stride = (number for number, _ in ends)
    if stride <= 0 or end <= begin:
        msg = f"from {first} to {to} in steps of {step} never ends; go up in steps above 0"
        raise CaseError(msg)
    count = (end - begin) / stride
    if count > MOST_OPTIONS - 1:
        msg = f"has {int(count) + 1:,} values; at most {MOST_OPTIONS} are allowed: step wider"
        raise CaseError(msg)
    if count.denominator != 1:
        last = begin + int(count) * stride
        msg = (
            f"steps of {step} from {first} do not meet {to}; write 'to: "
            f"{_written(last, units.pop())}', or another step"
        )
        raise CaseError(msg)
    unit = units.pop()
    return tuple(_written(begin + k * stride, unit) for k in range(int(count) + 1))


def _number(value: Any) -> tuple[Fraction, str]:
    """Number and unit of an end of a range, the unit empty for a bare number."""
    if isinstance(value, int | float) and not isinstance(value, bool) and isfinite(value):
        return Fraction(str(value)), ""
    words = value.strip() if isinstance(value, str) else ""
    match = _number_and_unit.fullmatch(words) if len(words) <= _longest else None
    if match is None:
        msg = f"{shown(value)} is no end of a range: write a number, or a number and a unit"
        raise CaseError(msg)
    return Fraction(match["number"]), match["unit"]


def _written(value: Fraction, unit: str) -> Any:
    number = int(value) if value.denominator == 1 else float(value)
    return f"{number} {unit}" if unit else number


def _set_twice(choices: list[Choice], document: Document) -> Iterator[Problem]:
    """Choices that set what another sets, or a part of it."""
    for k, choice in enumerate(choices):
        for other in choices[:k]:
            one, two = choice.target, other.target
            if one is not None and two is not None and overlap(one, two):
                msg = f"sets what choice {other.name!r} sets; make one choice of the two"
                yield document.problem(msg, path=(*choice.place, "set"))


def _rule(given: schema.Rule, choices: list[Choice]) -> Rule:
    where = _options(given.where, choices)
    required = _options(given.requires or {}, choices)
    excluded = _options(given.excludes or {}, choices)
    if both := set(where) & (set(required) | set(excluded)):
        name = choices[min(both)].name
        msg = f"speaks of choice {name!r} on both sides; a design takes one option of it"
        raise CaseError(msg)
    return Rule(where, required, excluded)


def _options(given: Mapping[str, Any], choices: list[Choice]) -> dict[int, frozenset[int]]:
    """Numbers of choices and of the options of theirs that a rule names."""
    names = [choice.name for choice in choices]
    found = {}
    for name, options in given.items():
        if name not in names:
            raise CaseError(not_among(name, names, what="choice"))
        choice = choices[names.index(name)]
        whole = words_of(options)
        listed = (
            [whole]
            if whole in choice.options or not isinstance(options, list)
            else [words_of(option) for option in options]
        )
        for option in listed:
            if option not in choice.options:
                raise CaseError(
                    not_among(option, choice.options, what=f"option of choice {name!r}")
                )
        found[names.index(name)] = frozenset(map(choice.options.index, listed))
    return found


def _of_number(space: DesignSpace, document: Document) -> Iterator[Problem]:
    """Too many designs, none at all, and options that are in none."""
    total = prod(len(choice.options) for choice in space.choices)
    if total > MOST_DESIGNS:
        msg = (
            f"the choices make {total:,} designs; at most {MOST_DESIGNS:,} are allowed: give "
            "fewer options, or wider steps"
        )
        yield document.problem(msg, path=("design", "choices"))
        return
    if not any(True for _ in space.designs()):
        msg = "the rules contradict: they leave no design; take one of them out"
        yield document.problem(msg, path=("design", "rules"))
        return
    for number, choice in enumerate(space.choices):
        for option, name in enumerate(choice.options):
            if space.first_with(number, option) is None:
                msg = f"the rules leave no design with {name!r}; take it out, or a rule"
                yield document.problem(msg, path=choice.origin(option))
