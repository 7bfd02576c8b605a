"""The words of feet that were solved: beside the verdict, never in its place."""

from collections.abc import Iterator, Sequence

from ..solver.results.result import Result
from ..solver.verdict import PersonThere
from .words.amounts import amperes, ohms, place, volts
from .words.text import Text, say

GOES_BY = (
    "The verdict goes by what its limits themselves say of feet (1.5 ρ, 6 ρ, Cs), not by "
    "solved feet"
)


def feet_texts(results: Sequence[Result]) -> list[Text]:
    """Where solved feet say something else than the verdict, or could not be had."""
    found = [text for result in results for text in _of(result)]
    asked = any(result.verdict is not None and result.verdict.people for result in results)
    return [say("{}", GOES_BY), *found] if asked else []


def _of(result: Result) -> Iterator[Text]:
    variant = f" of variant '{result.variant}'" if result.variant else ""
    told: set[str] = set()
    for person in () if result.verdict is None else result.verdict.people:
        name, where = f"'{person.exposure}'{variant}", place(person.place)
        feet = _feet(person)
        if person.unsolved:
            yield say("{} at {}: {}", name, where, person.unsolved)
        elif person.worse:
            words = (
                "UNSAFE BY SOLVED FEET, though {} keeps its limit at {}: {}. Look at what is "
                "stated to lie under the feet"
            )
            yield say(words, name, where, feet)
        elif person.better and person.exposure not in told:
            told.add(person.exposure)  # of its worst place; there may be ten
            words = "{} fails its limit at {} and would keep it by solved feet: {}. It stands"
            yield say(words, name, where, feet)


def _feet(person: PersonThere) -> str:
    """What solved feet have, and what that does."""
    if person.solved is None or person.limit is None:
        return ""
    told = (
        f"they have {ohms(person.solved)} on {person.stands_on}, {ohms(person.by_formula)} by "
        "the formula, and "
    )
    if person.effect is None or person.most_current is None:
        return told + f"{volts(person.voltage)} of {volts(person.limit.voltage)} stand there"
    current, most = person.effect.body_current, person.most_current
    return told + f"{amperes(current)} of {amperes(most)} permitted flow through the body"
