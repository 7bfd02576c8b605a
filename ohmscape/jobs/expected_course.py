"""The course of a run: how long its parts take, and which of them go on at once."""

import os
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from .expected_drawing import drawing, serial, telling
from .expected_work import Amounts, CaseWork
from .step_costs import seconds_for

Solved = Sequence[tuple[CaseWork, bool]]
"""Work of a case and of each variant, and whether that is solved on its own."""


@dataclass(frozen=True)
class Course:
    """Processor time of the parts of a run, in the order in which they come. [s]

    Attributes
    ----------
    start : float
        Until the first mesh is begun.
    computed : tuple of (float, float, float)
        Of each result: until it can be drawn, how much of that ran beside something longer, and
        what is written after it.
    told : float
        What is told and written of all results.
    second : float
        Until the second process can draw; with the first result.
    apart : tuple of float
        What can be drawn of each result while others are computed.
    drawn, serial : float
        What two processes share in the end, and what comes after it all.
    """

    start: float
    computed: tuple[tuple[float, float, float], ...]
    told: float
    second: float
    apart: tuple[float, ...]
    drawn: float
    serial: float

    @property
    def processor(self) -> float:
        """Of all processes and cores. [s]"""
        computed = sum(first + then for first, _, then in self.computed)
        drawn = self.second + sum(self.apart) + self.drawn
        return self.start + computed + self.told + drawn + self.serial

    def wall(self, *, cores: int | None = None) -> float:
        """From start to end, where nothing else runs. [s]"""
        if (cores or os.cpu_count() or 1) < 2:
            return self.processor
        # The second process loads what it needs, then draws what there is.
        here, there = self.start, self.second
        for (first, beside, then), apart in zip(self.computed, self.apart, strict=True):
            here += first - beside
            there = max(there, here) + apart
            here += then
        here += self.told
        late = max(0.0, there - here)
        done = here + sum(beside for _, beside, _ in self.computed)
        done += self.second + sum(self.apart) - late
        # Two cores do no more than two can; what is not drawn by then they share.
        return max(here, 0.5 * done) + 0.5 * (late + self.drawn) + self.serial


def course_of(works: Solved, *, drawn: bool) -> Course:
    """The parts of a run, with pictures and report or without, on the machine of the costs."""
    cases = [work for work, _ in works]
    once = once_amounts(works, drawn=drawn)
    parts = {name: seconds_of([{name: amounts}]) for name, amounts in once.items()}
    computed = tuple(
        (seconds_of([own]), _beside(own, work=work), seconds_of([saved]))
        for work, own, saved in result_amounts(works)
    )
    start, told = parts.pop("start"), parts.pop("summary")
    second, paper = parts.pop("second process", 0.0), parts.pop("maps on paper", 0.0)
    share = (parts.pop("map pictures", 0.0) + parts.pop("3-D view", 0.0)) / len(cases)
    last = sum(parts.pop(name, 0.0) for name in serial)
    return Course(
        start=start,
        computed=computed,
        told=told,
        second=second,
        apart=(paper + share, *(share for _ in cases[1:])),
        drawn=sum(parts.values()),
        serial=last,
    )


def once_amounts(works: Solved, *, drawn: bool) -> Amounts:
    """Amounts of the steps that a run has once, however many results it has."""
    cases = [work for work, _ in works]
    return {
        "start": {"run": 1.0, "survey": float(cases[0].case.survey is not None)},
        **telling(cases, drawn=drawn),
        **(drawing(cases) if drawn else {}),
    }


def result_amounts(works: Solved) -> Iterator[tuple[CaseWork, Amounts, Amounts]]:
    """Of each result the amounts of its steps until it can be drawn, and of writing it."""
    for number, (work, solved) in enumerate(works):
        # What is loaded and found out at the first result is kept for the others.
        once = {"once": float(number == 0)}
        own = (work.solving() if solved else {}) | work.evaluating()
        yield (
            work,
            {name: amounts | once for name, amounts in own.items()},
            {name: amounts | once for name, amounts in work.saving().items()},
        )


def seconds_of(amounts: Iterable[Amounts]) -> float:
    """Processor time of steps. [s]"""
    return sum(sum_of(seconds_for, each) for each in amounts)


def sum_of(costs: dict[str, dict[str, float]], amounts: Amounts) -> float:
    """Costs of amounts."""
    return sum(
        costs.get(step, {}).get(what, 0.0) * amount
        for step, each in amounts.items()
        for what, amount in each.items()
    )


def _beside(steps: Amounts, *, work: CaseWork) -> float:
    """Processor time of what runs beside something longer. [s]

    The coarser solution beside the finer one, the second opinion beside the mesh.
    """
    if "solution" not in steps:
        return 0.0
    share = work.coarse.elements / (work.fine.elements + work.coarse.elements)
    mesh = {what: amount for what, amount in steps["mesh"].items() if "wires" not in what}
    meshing = seconds_of([{"mesh": mesh}])
    opinion = seconds_of([{"mesh": steps["mesh"]}]) - meshing
    return seconds_of([{"solution": steps["solution"]}]) * share + min(meshing, opinion)
