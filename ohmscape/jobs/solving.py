"""Solving a case: unit solutions on its mesh, on a coarser one, and by thin conductors."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from ..cases.case import Case
from ..cases.circuit.operating import operating_of
from ..meshes import MeshPlan, build_mesh, mesh_plan
from ..meshes.counting import default_element_limit
from ..meshes.near_faces import Cut
from ..meshes.plan import fastest_growth
from ..solver.axisymmetric import is_one_rod, solve_rod
from ..solver.contact import behind_contact
from ..solver.distances import places_to_mesh
from ..solver.drives import OperatingPoint
from ..solver.errors import BudgetError, CaseError, MeshError, TrustError
from ..solver.exposure.raster import Area
from ..solver.exposure.worst import WorstVoltage
from ..solver.field.along_metal import AlongMetal, solve_along
from ..solver.field.solution import Solution, solve
from ..solver.memory import usable_memory
from ..solver.metal.wiring import Wiring
from ..solver.model import Floats
from ..solver.progress import Laps, Progress, unwatched
from ..solver.results.result import Accuracy, Result
from ..solver.thin_wire import (
    Agreement,
    SecondOpinion,
    WiredOpinion,
    agreement,
    most_wires,
    second_opinion,
    third_opinion,
    wired_opinion,
)
from ..solver.threads import own_threads_only

# The second mesh, which shows how good the first one is, has elements this much larger; where
# it cannot be had so coarse, this much.
coarsenings = (1.5, 1.25)
# Elements of the result grow no faster than this, so that those of the check can.
result_growth = 0.4
_fineness = {"coarse": 0.6, "normal": 0.8, "fine": 1.4}
# Largest estimated error of the worst voltages, as a share of the rise.
_tolerance = {"coarse": 0.03, "normal": 0.01, "fine": 0.005}
_comfortable, _finer_at_most = 15_000, 2.0  # elements; times finer
_raster_points = 140  # along the longer side, where the case gives no spacing
_quick_wires = 1500  # take a second opinion about two seconds
_quick_panels = 2500  # and wires, where there are plates: about four

# What the steps cost, as shares of them all.
_solving = {
    "mesh": 0.2,
    "second opinion": 0.1,
    "solution": 0.7,
}
_ALONG = "solution along the metal"


@dataclass(frozen=True)
class Solved:
    """Unit solutions of one case: all that does not depend on drives, limits and maps.

    Attributes
    ----------
    fine, coarse : Solution
        On the mesh of the result, and on the one that shows how good it is.
    growth : tuple of float, length 2
        Increase of the element size per distance from the metal, of the two meshes.
    seconds : dict of str to float
        Time of each step; empty when taken from a result. [s]
    second : SecondOpinion or None
        Thin conductors without a mesh, where the case asks for them or they are quick.
    planned : MeshPlan or None
        Of the mesh of the result; None when taken from a result.
    along, along_coarse : AlongMetal or None
        Metal with voltages along it, on both meshes; None where it is at one potential.
    along_second : WiredOpinion or None
        The same by thin conductors, where there is a second opinion.
    """

    fine: Solution
    coarse: Solution
    growth: tuple[float, float]
    seconds: dict[str, float]
    second: SecondOpinion | None = None
    planned: MeshPlan | None = None
    along: AlongMetal | None = None
    along_coarse: AlongMetal | None = None
    along_second: WiredOpinion | None = None

    @classmethod
    def of(cls, result: Result) -> "Solved":
        """The unit solutions that a result holds."""
        accuracy = result.accuracy
        growth = (accuracy.growth, accuracy.coarse_growth)
        return cls(
            result.solution,
            result.coarse,
            growth,
            {},
            result.second_opinion,
            along=result.along,
            along_coarse=result.along_coarse,
            along_second=result.along_second,
        )


def plan(case: Case, *, accuracy: str | None = None, coarser: float = 1.0) -> MeshPlan:
    """Mesh that a run of the case would make.

    Parameters
    ----------
    accuracy : {"coarse", "normal", "fine"}, optional
        In place of the case's own.
    coarser : float, default 1
        Multiplies all element sizes.

    Raises
    ------
    BudgetError
        If the mesh would be larger than the case allows.
    """
    numerics = case.numerics
    preset = accuracy or numerics.accuracy
    size, limit = numerics.element_size, numerics.element_limit or default_element_limit

    def planned(fineness: float, ratio: float = 1.0, *, cut: Cut | None = None) -> MeshPlan:
        return mesh_plan(
            case.conductors,
            soil=case.soil,
            fineness=fineness / ratio,
            size=None if size is None else size * ratio,
            element_limit=limit,
            memory_limit=usable_memory(),
            growth_limit=fastest_growth if ratio > 1 else result_growth,
            farthest=studied_places(case),
            cut=cut,
        )

    if size is None:
        fineness = fineness_of(preset, planned=lambda value: planned(numerics.fineness * value))
    else:
        fineness = _fineness[preset]
    fine = planned(numerics.fineness * fineness)
    if coarser == 1.0:
        return fine
    # Smeared by as many elements as in the finer mesh, or the two would not compare; so metal
    # near bodies is cut alike, and smeared wider too.
    cut = None if fine.cut is None else fine.cut.wider(coarser)
    rough = planned(numerics.fineness * fineness, coarser, cut=cut)
    return replace(rough, spread=rough.element_size * fine.spread / fine.element_size)


def fineness_of(preset: str, *, planned: Callable[[float], MeshPlan]) -> float:
    """How fine a mesh a preset stands for, in terms of the planned sizes.

    Small electrodes get a finer mesh than large ones, for nothing that anyone would notice.

    Parameters
    ----------
    preset : {"coarse", "normal", "fine"}
        The preset.
    planned : callable
        Plan of the mesh at a fineness.
    """
    fineness = _fineness[preset]
    if preset == "coarse":
        return fineness
    few = planned(fineness).asked
    return fineness * float(np.clip((_comfortable / few) ** (1 / 3), 1.0, _finer_at_most))


def tolerance_of(case: Case, *, accuracy: str | None = None) -> float:
    """Largest estimated error of the worst voltages that a run returns, share of the rise.

    The case's own, else that of the preset; resistances are held to half of it.
    """
    if case.numerics.tolerance is not None:
        return case.numerics.tolerance
    return _tolerance[accuracy or case.numerics.accuracy]


@own_threads_only()
def solve_case(
    case: Case, *, accuracy: str | None = None, progress: Progress = unwatched
) -> Solved:
    """Unit solutions of a case on two meshes, and by thin conductors without one.

    Parameters
    ----------
    accuracy : {"coarse", "normal", "fine"}, optional
        In place of the case's own.
    progress : callable, optional
        Told the name of each step as it begins, and the share of the work done by then.

    Raises
    ------
    BudgetError
        If the mesh would be larger than the case allows.
    MeshError, MissingLibraryError
        If the mesh cannot be made.
    TrustError
        If a solution misses its own limits.
    """
    steps = _solving | ({_ALONG: 1.0} if case.wiring is not None else {})
    laps = Laps(progress, steps)
    with ThreadPoolExecutor(1) as beside:
        laps.begin("mesh")
        planned = plan(case, accuracy=accuracy)
        # The generator leaves a core free to work on.
        opinion = beside.submit(_second_opinion, case)
        mesh = build_mesh(planned)
        laps.begin("second opinion")
        second = opinion.result()
        laps.begin("solution")
        order = case.numerics.order
        # Half as long as the solution itself; numpy, SuperLU and gmsh let both run at once.
        checking = beside.submit(_coarse_solution, case, accuracy=accuracy)
        fine = solve(
            mesh,
            soil=case.soil,
            conductors=case.conductors,
            order=order,
            keep=case.wiring is not None,
        )
        rough, coarse = checking.result()
    growth = (planned.growth, rough.growth)
    solved = Solved(fine, coarse, growth, {}, second, planned)
    if case.wiring is not None:
        laps.begin(_ALONG)
        solved = with_along(case, solved)
    laps.end()
    seconds = laps.seconds | {f"solution: {step}": time for step, time in fine.seconds.items()}
    return replace(solved, seconds=seconds)


def with_along(case: Case, solved: Solved, *, coarse: AlongMetal | None = None) -> Solved:
    """The unit solutions with those of metal with voltages along it, as the case is wired.

    Those on the coarser mesh may be there already.
    """
    if case.wiring is None:
        return replace(solved, along=None, along_coarse=None, along_second=None)
    wiring = case.wiring
    fine = _along(case, solved.fine, wiring=wiring)
    solved.fine.let_go()
    if coarse is None:
        coarse = _along(case, solved.coarse, wiring=wiring)
    if not feet_asked(case):
        solved.coarse.let_go()
    second = None
    if solved.second is not None and not case.soil.bodies:
        try:
            second = wired_opinion(case.conductors, soil=case.soil, wiring=wiring)
        except (BudgetError, TrustError):
            if case.numerics.second_opinion == "always":
                raise
    return replace(solved, along=fine, along_coarse=coarse, along_second=second)


def _along(case: Case, solution: Solution, *, wiring: Wiring) -> AlongMetal:
    """Unit solutions with voltages along metal, on the mesh of those without."""
    return solve_along(
        solution.mesh,
        soil=case.soil,
        conductors=case.conductors,
        wiring=wiring,
        order=case.numerics.order,
        like=solution,
    )


def _second_opinion(case: Case) -> SecondOpinion | None:
    """Thin conductors in the layers of the case, where it asks for them or they are quick."""
    most = most_wires_of(case)
    if most == 0:
        return None
    try:
        return second_opinion(case.conductors, soil=case.soil.layers_alone, most=most)
    except (BudgetError, TrustError):
        if case.numerics.second_opinion == "always":
            raise
        return None  # nobody asked; the summary says that there is none


def most_wires_of(case: Case) -> int:
    """Wires and panels that a second opinion may take; 0 where the case wants none."""
    quick = _quick_panels if case.conductors.flat.any() else _quick_wires
    return {"never": 0, "always": most_wires}.get(case.numerics.second_opinion, quick)


def agreement_of(
    case: Case,
    solved: Solved,
    *,
    operating: OperatingPoint,
    worst: Sequence[WorstVoltage],
    accuracy: Accuracy,
) -> Agreement | None:
    """What the second opinion says of a result; None without one, or with bodies in the soil.

    Where it lies outside what the result states and the metal is one rod, that is solved by the
    axisymmetric method too, which shows which of the two is right.

    Parameters
    ----------
    case : Case
        Drives, bonds, circuit and touchable metal.
    solved : Solved
        With the second opinion, or without.
    operating : OperatingPoint
        Voltages and currents of the result.
    worst : sequence of WorstVoltage
        Its worst touch and step voltages.
    accuracy : Accuracy
        What the result states of its errors.
    """
    if solved.second is None or case.soil.bodies:
        return None
    found = _beside(case, solved.second, operating=operating, worst=worst)
    groups, contact = _metal_groups(case), case.contact_resistance
    estimates = accuracy.estimates
    stated = {"resistance_error": estimates[0], "voltage_error": max(estimates)}
    if found.standing(**stated) == "agree" or not is_one_rod(case.conductors):
        return found
    try:
        third = behind_contact(solve_rod(case.conductors, soil=case.soil), contact)
    except (CaseError, TrustError):
        return found  # fill or film that the method does not take; the summary shows no third
    other, _ = operating_of(case, third.current_matrix)
    judge = third_opinion(operating, worst=worst, metal_groups=groups, third=third, other=other)
    return replace(found, third=judge)


def without_bodies_of(
    case: Case, solved: Solved, *, operating: OperatingPoint, worst: Sequence[WorstVoltage]
) -> Agreement | None:
    """What the layers without the bodies give; None where there are none, or it was not made.

    It holds nothing against the result: the gap is what the bodies change, and the errors of
    both methods.
    """
    if solved.second is None or not case.soil.bodies:
        return None
    return _beside(case, solved.second, operating=operating, worst=worst)


def _beside(
    case: Case,
    opinion: SecondOpinion,
    *,
    operating: OperatingPoint,
    worst: Sequence[WorstVoltage],
) -> Agreement:
    """A result beside thin conductors in operation of their own."""
    second = behind_contact(opinion, case.contact_resistance)
    other, _ = operating_of(case, second.current_matrix)
    return agreement(
        operating,
        worst=worst,
        metal_groups=_metal_groups(case),
        opinion=opinion,
        other=other,
        contact_resistance=case.contact_resistance,
    )


def _metal_groups(case: Case) -> dict[str, int]:
    """Group of each touchable metal by its name."""
    return {item.name: item.group for item in case.study.touchables}


def feet_asked(case: Case) -> bool:
    """Whether a case wants feet solved, on the coarser mesh."""
    return case.safety is not None and case.safety.solved_feet is not None


def _coarse_solution(case: Case, *, accuracy: str | None) -> tuple[MeshPlan, Solution]:
    """The same case on a coarser mesh; on a less coarse one if that cannot hold the metal."""

    def coarser_by(ratio: float) -> tuple[MeshPlan, Solution]:
        rough = plan(case, accuracy=accuracy, coarser=ratio)
        mesh, order = build_mesh(rough), case.numerics.order
        solution = solve(
            mesh,
            soil=case.soil,
            conductors=case.conductors,
            order=order,
            keep=feet_asked(case) or case.wiring is not None,
        )
        return rough, solution

    usual, less = coarsenings
    try:
        return coarser_by(usual)
    except (MeshError, TrustError):
        return coarser_by(less)


def mapped_area(case: Case) -> Area:
    """Rectangle and raster of the maps."""
    given = case.study.area
    low = given.corner
    high = (low[0] + given.size[0], low[1] + given.size[1])
    spacing = given.spacing or max(given.size) / _raster_points
    return Area(low, high, spacing)


def studied_places(case: Case) -> Floats:
    """Corners of the mapped area with a pace round it, ends of profiles, judged places.

    With distances among bodies as far out as these are followed on the mesh.
    """
    exposures = () if case.safety is None else case.safety.exposures
    area = mapped_area(case)
    pace = max(case.study.pace, *(item.limit.pace or 0.0 for item in exposures), 0.0)
    low, high = np.subtract(area.low, pace), np.add(area.high, pace)
    corners = [(x, y, 0.0) for x in (low[0], high[0]) for y in (low[1], high[1])]
    ends = [
        (*end, -line.depth) for line in case.study.profiles for end in (line.start, line.end)
    ]
    judged = [
        (x, y, 0.0) for item in exposures if item.places is not None for x, y in item.places
    ]
    found = np.array([*corners, *ends, *judged])
    if case.distances is None:
        return found
    return np.concatenate([found, places_to_mesh(case.conductors, soil=case.soil)])
