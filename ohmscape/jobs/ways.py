"""What may be built in place of what a case has: its priced options, or its designs."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import islice

from ..cases.case import Case
from ..solver.errors import CaseError
from .design_work import DesignWork, Outline
from .trying import trying_time


@dataclass(frozen=True)
class Way:
    """One thing that may be built.

    Attributes
    ----------
    name : str
        Of the option, or of the options that the design is made of.
    price, extra : float
        Of all of it, and over what the case has as it stands; the length of the metal of
        designs without prices. [m]
    conditions : tuple of Case
        It as it stands and in its seasons, each alone.
    fault : str
        Why it cannot be built or does not count; empty where it can and does.
    """

    name: str
    price: float
    extra: float
    conditions: tuple[Case, ...] = ()
    fault: str = ""


def as_it_stands(case: Case) -> Case:
    """A case with its conditions alone: what else may be built is not one of them."""
    if case.option is None:
        return case
    own = (each for each in case.variants if each.option is None or not each.option.name)
    return replace(case, variants=tuple(own))


def kind_of_ways(case: Case) -> str:
    """What a case offers to be built: "option", "design" or nothing."""
    if any(each.option is not None and each.option.name for each in case.variants):
        return "option"
    return "" if case.design is None else "design"


def currency_of(case: Case) -> str:
    """Currency of what may be built; empty where there are no prices."""
    if case.option is not None:
        return case.option.currency
    prices = None if case.design is None else case.design.prices
    return "" if prices is None else prices.currency


def remedy_costs(case: Case, *, pace: float, run: float) -> tuple[float, float]:
    """Time to try all ways of a case by thin conductors, and to solve one in full. [s]

    Parameters
    ----------
    pace : float
        Time that this machine takes, over that of the one it was measured on.
    run : float
        Time of a run of the case with its variants. [s]
    """
    own = as_it_stands(case)
    count = sum(each.option is not None and not each.option.condition for each in case.variants)
    solving = run / (1 + len(case.variants)) * (1 + len(own.variants))
    if case.design is not None and kind_of_ways(case) == "design":
        count = min(sum(1 for _ in case.design.designs()), case.design.most_tried)
    return pace * count * trying_time(own, designs=1), solving


def ways_of(case: Case) -> list[Way]:
    """All that may be built, the cheapest first, of equal ones the first of the case.

    Parameters
    ----------
    case : Case
        Fitted, with its variants and, where it offers designs, its choices.

    Raises
    ------
    CaseError
        If more designs are possible than the case lets anybody try.
    """
    found = _options(case) if kind_of_ways(case) == "option" else _designs(case)
    return sorted(found, key=lambda way: way.price)


def _options(case: Case) -> list[Way]:
    """Options, each held in all conditions that any is held in, as a run does."""
    priced = [(each.option, each) for each in (case, *case.variants) if each.option is not None]
    conditions = list(dict.fromkeys(option.condition for option, _ in priced))
    own = priced[0][0].price
    by_name: dict[str, list[Case]] = {}
    for option, each in priced:
        alone = replace(each, variant=option.condition, variants=())
        by_name.setdefault(option.name, []).append(alone)
    found = []
    for name, cases in by_name.items():
        if not name:
            continue
        held = {each.variant for each in cases}
        lacks = [name or "as it stands" for name in conditions if name not in held]
        fault = f"is not held in {', '.join(lacks)}" if lacks else ""
        price = next(option.price for option, _ in priced if option.name == name)
        found.append(Way(name, price, price - own, tuple(cases), fault))
    return found


def _designs(case: Case) -> list[Way]:
    space = case.design
    if space is None:
        return []
    every = list(islice(space.designs(), space.most_tried + 1))
    if len(every) > space.most_tried:
        msg = (
            f"more than {space.most_tried:,} designs are possible (most_tried), too many to "
            "try for each row; leave choices out, or size single rows"
        )
        raise CaseError([case.document.problem(msg, path=("design",))])
    work = DesignWork(case, None)
    own = work.outline_of(case, tuple(None for _ in space.choices)).cost
    return [_design(work, chosen, own) for chosen in every]


def _design(work: DesignWork, chosen: Sequence[int], own: float) -> Way:
    assert work.case.design is not None  # it has been asked for its designs
    chosen = tuple(chosen)
    outline: Outline = work.outline(chosen)
    name = work.case.design.words(chosen)
    if outline.fault:
        return Way(name, outline.cost, outline.cost, fault=outline.fault)
    conditions = tuple(
        work.condition(chosen, number) for number in range(len(outline.conditions))
    )
    return Way(name, outline.cost, outline.cost - own, conditions)
