"""What a case takes and costs, and which of its variants are options with a price."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from ..solver.design import (
    BillLine,
    PricedOption,
    PriceList,
    Quantities,
    bill,
    polygon_area,
)
from ..solver.errors import CaseError, Problem
from .case import Case
from .combining import joined_names
from .design.reading import price_list
from .reading.documents import Document
from .reading.problems import in_order
from .reading.raw_content import blocks, name_of
from .schema import CaseFile


def quantities_of(case: Case) -> Quantities:
    """What the metal and the surface layers of a case take."""
    metres: dict[float, float] = {}
    for part in case.parts:
        for section, length in part.sections:
            metres[section] = metres.get(section, 0.0) + length
    layers = () if case.safety is None else case.safety.layers
    return Quantities(
        conductors=tuple(sorted(metres.items())),
        rods=sum(part.rods for part in case.parts),
        driven=sum(part.rod_length for part in case.parts),
        joints=case.joints,
        surface=sum(polygon_area(layer.outline) * layer.thickness for layer in layers),
    )


def priced(
    case: Case,
    *,
    prices: PriceList | None,
    extras: Sequence[tuple[str, float]],
    document: Document,
) -> tuple[BillLine, ...]:
    """Bill of a case; `CaseError` at the prices of a document if a section has none."""
    try:
        return bill(quantities_of(case), prices=prices, extras=extras)
    except CaseError as error:
        own = "prices" in document.content
        path = ("prices", "conductors") if own else ("design", "prices", "conductors")
        raise CaseError([document.problem(str(error), path=path)]) from error


def with_prices(
    case: Case, given: CaseFile, *, numbers: Sequence[tuple[int, ...]], document: Document
) -> Case:
    """The case and its variants, each with the option that it is and its bill.

    Parameters
    ----------
    given : CaseFile
        The validated case, with a block of prices.
    numbers : sequence of tuple of int
        Of each variant: the numbers of those in the file that were laid over each other.

    Raises
    ------
    CaseError
        If a conductor has a section without a price, or an option is a season too.
    """
    assert given.prices is not None  # there is nothing to say without
    prices = price_list(given.prices)
    options = _options_among(document)
    problems = list(_seasons_too(document, options))
    found: list[Case] = []
    for each, laid in zip((case, *case.variants), ((), *numbers), strict=True):
        variants = [given.variants[number] for number in laid]
        chosen = [item for item in variants if item.name in options]
        others = [item.name for item in variants if item.name not in options]
        extras = [(item.name, item.price) for item in chosen]
        try:
            lines = priced(each, prices=prices, extras=extras, document=document)
        except CaseError as error:
            problems += [one for one in error.problems if one not in problems]
            continue
        names = (joined_names([item.name for item in chosen]), joined_names(others))
        found.append(replace(each, option=PricedOption(*names, lines, prices.currency)))
    if problems:
        raise CaseError(in_order(problems))
    return replace(found[0], variants=tuple(found[1:]))


def _seasons_too(document: Document, options: set[str]) -> Iterator[Problem]:
    """Options that are a season too: what is built and in what it is held must stay apart."""
    for path, item in blocks(document.content, "variants"):
        if name_of(item) in options and "soil" in item:
            msg = (
                "is an option, for it changes what is built or has a price, and another soil "
                "too: give the soil a variant of its own and name that in 'also_in' of this one"
            )
            yield document.problem(msg, path=(*path, "soil"))


def _options_among(document: Document) -> set[str]:
    """Names of the variants that are options: other metal or surface layers, or a price."""
    return {
        name_of(item)
        for _, item in blocks(document.content, "variants")
        if item.get("price") or _changes_what_is_built(item)
    }


def _changes_what_is_built(variant: dict[str, Any]) -> bool:
    """Whether a variant gives parts of electrodes or surface layers."""
    safety = variant.get("safety")
    given = variant.get("electrodes")
    metal = given if isinstance(given, list) else []
    return (isinstance(safety, dict) and "surface" in safety) or any(
        isinstance(item, dict) and ("parts" in item or "absent" in item) for item in metal
    )
