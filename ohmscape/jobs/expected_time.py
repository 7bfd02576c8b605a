"""How long a run will take and how much memory, from what it has to do.

Each step takes some processor time for each thing it does. `expected_work` counts the things,
`step_costs` has the seconds of one machine (``python benchmarks/predictions.py --fit``). How
fast this machine is beside that one is measured whenever it is asked for, in some hundredths of
a second.
"""

import os
from collections.abc import Iterable
from dataclasses import dataclass, replace
from time import thread_time

import numpy as np
import scipy.sparse as sparse
from scipy.sparse.linalg import splu

from ..cases.case import Case
from ..meshes import MeshPlan
from .expected_work import Amounts, CaseWork, case_work
from .run import solved_alike
from .step_costs import bytes_for, seconds_for, yardstick

_rounds = 5  # of the measurement, the quickest of which counts


@dataclass(frozen=True)
class Cost:
    """What a run takes on this machine.

    Attributes
    ----------
    seconds : float
        From start to end, where nothing else runs. [s]
    processor : float
        Of all cores together. [s]
    memory : float
        At its peak. [byte]
    """

    seconds: float
    processor: float
    memory: float


@dataclass(frozen=True)
class ExpectedRun:
    """What the command ``run`` takes with a case and its variants.

    Attributes
    ----------
    planned : MeshPlan
        Mesh of the case itself.
    drawn, plain : Cost
        With pictures and report, and without.
    """

    planned: MeshPlan
    drawn: Cost
    plain: Cost


def expected_run(case: Case, *, accuracy: str | None = None) -> ExpectedRun:
    """What a run of a case and its variants takes on this machine.

    Parameters
    ----------
    accuracy : {"coarse", "normal", "fine"}, optional
        In place of the case's own.

    Raises
    ------
    BudgetError
        If the mesh would be larger than the case allows.
    MeshError
        If layers are so thin beside the elements that a run would be refused.
    """
    pace = time_of_yardstick() / yardstick
    works = works_of(case, accuracy=accuracy)
    own = [work for work, solved in works if solved]
    several = (os.cpu_count() or 1) > 1
    beside = sum(_beside(work) for work in own) if several else 0.0
    plain = seconds_of(plain_amounts(case, works), once=True)
    drawing = seconds_of(drawn_amounts(case, works), once=True)
    memory, more = (sum_of(bytes_for, amounts) for amounts in memory_amounts(works))
    return ExpectedRun(
        planned=works[0][0].fine.planned,
        plain=Cost(pace * (plain - beside), pace * plain, memory),
        # Two processes share what is drawn, see `viz/studio/`.
        drawn=Cost(
            pace * (plain - beside + (drawing / 2 if several else drawing)),
            pace * (plain + drawing),
            max(memory, more),
        ),
    )


def plain_amounts(case: Case, works: "list[tuple[CaseWork, bool]]") -> list[Amounts]:
    """Amounts of a run without pictures."""
    start: Amounts = {"start": {"run": 1.0, "survey": float(case.survey is not None)}}
    return [
        start,
        *(work.solving() for work, solved in works if solved),
        *(work.evaluating() | work.saving() for work, _ in works),
    ]


def drawn_amounts(case: Case, works: "list[tuple[CaseWork, bool]]") -> list[Amounts]:
    """Amounts of the pictures and the report of a run."""
    compared: Amounts = {"comparison": {"variants": float(len(case.variants))}}
    return [compared, *(work.drawing() for work, _ in works)]


def memory_amounts(
    works: "list[tuple[CaseWork, bool]]",
) -> tuple[dict[str, dict[str, float]], dict[str, dict[str, float]]]:
    """Amounts of what memory goes to, while computing and while drawing."""
    elements = [work.fine.elements + work.coarse.elements for work, solved in works if solved]
    largest, kept = max(elements), sum(elements) - max(elements)
    shared = {"process": 1.0, "elements": largest, "elements kept": kept}
    pairs = max(work.fine.pairs + work.coarse.pairs for work, _ in works)
    as_wires = max(work.fine.touching + work.coarse.touching for work, _ in works)
    wires = max(work.wires**2 for work, _ in works)
    return (
        {
            "computing": shared
            | {"pairs": pairs, "pairs as wires": as_wires, "wires squared": wires}
        },
        {"drawing": shared | {"points": max(work.points for work, _ in works)}},
    )


def seconds_of(amounts: Iterable[Amounts], *, once: bool = False) -> float:
    """Processor time of steps; with what each takes once in a run, if asked for. [s]"""
    steps = list(amounts)
    seconds = sum(sum_of(seconds_for, each) for each in steps)
    if once:
        named = {
            name for each in steps for name, amount in each.items() if any(amount.values())
        }
        seconds += sum(seconds_for.get(name, {}).get("once", 0.0) for name in named)
    return seconds


def sum_of(costs: dict[str, dict[str, float]], amounts: Amounts) -> float:
    """Costs of amounts."""
    return sum(
        costs.get(step, {}).get(what, 0.0) * amount
        for step, each in amounts.items()
        for what, amount in each.items()
    )


def works_of(case: Case, *, accuracy: str | None) -> list[tuple[CaseWork, bool]]:
    """Work of a case and of each variant, and whether that is solved on its own."""
    cases = (case, *case.variants)
    found: list[tuple[CaseWork, bool]] = []
    for number, each in enumerate(cases):
        alike = (k for k in range(number) if solved_alike(each, cases[k]))
        first = next(alike, None)
        if first is None:
            found.append((case_work(each, accuracy=accuracy), True))
        else:
            found.append((replace(found[first][0], case=each), False))
    return found


def _beside(work: CaseWork) -> float:
    """Processor time of what runs beside something longer. [s]

    The coarser solution beside the finer one, the second opinion beside the mesh.
    """
    steps = work.solving()
    solution = sum_of(seconds_for, {"solution": steps["solution"]})
    share = work.coarse.elements / (work.fine.elements + work.coarse.elements)
    mesh = {what: amount for what, amount in steps["mesh"].items() if "wires" not in what}
    meshing = sum_of(seconds_for, {"mesh": mesh})
    opinion = sum_of(seconds_for, {"mesh": steps["mesh"]}) - meshing
    return solution * share + min(meshing, opinion)


def time_of_yardstick() -> float:
    """Processor time of a small factorisation, array work and Python, as runs have them. [s]

    All small enough for the first cache and to be handed no fresh memory by the system, which
    would make it depend on what the process did before.
    """
    line = sparse.diags_array([-1.0, 2.0, -1.0], offsets=[-1, 0, 1], shape=(16, 16))
    plane = sparse.kronsum(line, line, format="csc")
    values = np.linspace(0.0, 5.0, 4_000)
    times = []
    for _ in range(_rounds):
        began = thread_time()
        for _ in range(6):
            splu(plane, permc_spec="MMD_AT_PLUS_A")
            np.exp(-values).cumsum().sort()
            sum(k % 7 for k in range(3_000))
        times.append(thread_time() - began)
    return min(times)
