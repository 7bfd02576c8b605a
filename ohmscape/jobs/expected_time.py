"""How long a run will take and how much memory, from what it has to do.

Each step takes some processor time for each thing it does. `expected_work` counts the things,
`step_costs` has the seconds of one machine (``python -m benchmarks.predictions --fit``). How
fast this machine is beside that one is measured whenever it is asked for, in some hundredths of
a second.
"""

import os
from dataclasses import dataclass, replace
from time import thread_time

import numpy as np
import scipy.sparse as sparse
from scipy.sparse.linalg import splu

from ..cases.case import Case
from ..meshes import MeshPlan
from ..solver.exposure.places import same_places
from .expected_course import course_of, sum_of
from .expected_work import CaseWork, case_work
from .run import alike_but_wiring, solved_alike
from .step_costs import bytes_for, yardstick
from .steps import raster_of, touchable_metals

_bytes_of_wires = 87.0  # for each of all pairs of wires of a second opinion
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
    proof : float
        Time to solve and judge one of two designs at once in all conditions. [s]
    pace : float
        Time here over that on the machine of the costs.
    """

    planned: MeshPlan
    drawn: Cost
    plain: Cost
    proof: float
    pace: float


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
    memory, more = (sum_of(bytes_for, amounts) for amounts in memory_amounts(works))
    # The second opinion is formed before there is a mesh.
    wires = max(work.wires for work, _ in works)
    memory = max(memory, bytes_for["computing"]["process"] + _bytes_of_wires * wires**2)
    costs = []
    for pictures in (True, False):
        course = course_of(works, drawn=pictures)
        bytes_ = max(memory, more) if pictures else memory
        costs.append(Cost(pace * course.wall(), pace * course.processor, bytes_))
    proof = pace * sum(first for first, _, _ in course.computed) / min(2, os.cpu_count() or 1)
    drawn, plain = costs
    return ExpectedRun(works[0][0].fine.planned, drawn, plain, proof, pace)


def memory_amounts(
    works: "list[tuple[CaseWork, bool]]",
) -> tuple[dict[str, dict[str, float]], dict[str, dict[str, float]]]:
    """Amounts of what memory goes to, while computing and while drawing."""
    elements = [work.fine.elements + work.coarse.elements for work, solved in works if solved]
    largest, kept = max(elements), sum(elements) - max(elements)
    shared = {"process": 1.0, "elements": largest, "elements kept": kept}
    both = [(work.fine, work.coarse) for work, _ in works]
    pairs = {
        "pairs as wires": max(fine.touching + coarse.touching for fine, coarse in both),
        "pairs of balls": max(fine.ball_pairs + coarse.ball_pairs for fine, coarse in both),
    }
    points = sum(work.plans * work.points for work, _ in works)
    return (
        {"computing": shared | pairs},
        {"drawing": shared | {"results": float(len(works)), "points": float(points)}},
    )


def works_of(case: Case, *, accuracy: str | None) -> list[tuple[CaseWork, bool]]:
    """Work of a case and of each variant, and whether that is solved on its own."""
    cases = (case, *case.variants)
    found: list[tuple[CaseWork, bool]] = []
    for number, each in enumerate(cases):
        alike = [k for k in range(number) if solved_alike(each, cases[k])]
        wired = [k for k in range(number) if alike_but_wiring(each, cases[k])]
        if not alike:
            work = case_work(each, accuracy=accuracy)
            found.append((replace(work, rewired=bool(wired)), True))
        else:
            seen = any(_looked_at_alike(each, cases[k]) for k in alike)
            found.append((replace(found[alike[0]][0], case=each, seen=seen), False))
    return found


def _looked_at_alike(one: Case, other: Case) -> bool:
    """Whether cases of one solution have the same voltages and look at the same places."""
    return (
        (one.drives, one.bonds, one.circuit) == (other.drives, other.bonds, other.circuit)
        and one.contact_resistance == other.contact_resistance
        and raster_of(one) == raster_of(other)
        and one.study.pace == other.study.pace
        and same_places(touchable_metals(one), touchable_metals(other))
    )


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
