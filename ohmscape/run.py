"""One run: from a case to a result, through mesh, solution, maps and checks."""

import os
import platform
import resource
import sys
from collections.abc import Callable, Sequence
from importlib.metadata import version
from time import perf_counter

import numpy as np

from . import __version__
from .cases.case import Case
from .cases.case import Profile as ProfileLine
from .errors import MeshError
from .meshes import MeshPlan, build_mesh, mesh_plan
from .meshes.plan import default_element_limit, fastest_growth
from .solver.accuracy import compare
from .solver.drives import operating_point
from .solver.field import Field
from .solver.model import Floats
from .solver.order_check import order_checks
from .solver.places import TouchableMetal
from .solver.result import Profile, Result
from .solver.solution import Solution, solve
from .solver.surface import Area, SurfaceMap, surface_map
from .solver.worst import WorstVoltage, worst_step, worst_touch

# The second mesh, which shows how good the first one is, has elements this much larger.
coarsening = 1.5
# Elements of the result grow no faster than this, so that those of the check can.
result_growth = 0.4
_fineness = {"coarse": 0.75, "normal": 1.0, "fine": 1.6}
_comfortable, _finer_at_most = 15_000, 1.6  # elements; times finer
_raster_points = 140  # along the longer side, where the case gives no spacing

Progress = Callable[[str], None]


def plan(case: Case, *, accuracy: str | None = None, coarser: float = 1.0) -> MeshPlan:
    """Mesh that a run of the case would make.

    Parameters
    ----------
    case : Case
        The case.
    accuracy : {"coarse", "normal", "fine"}, optional
        In place of the case's own.
    coarser : float, default 1
        Multiplies all element sizes.

    Returns
    -------
    plan : MeshPlan

    Raises
    ------
    BudgetError
        If the mesh would be larger than the case allows.
    """
    numerics = case.numerics
    preset = accuracy or numerics.accuracy
    size, limit = numerics.element_size, numerics.element_limit or default_element_limit

    def planned(fineness: float) -> MeshPlan:
        return mesh_plan(
            case.conductors,
            soil=case.soil,
            fineness=fineness,
            size=None if size is None else size * coarser,
            element_limit=limit,
            memory_limit=_usable_memory(),
            growth_limit=fastest_growth if coarser > 1 else result_growth,
            farthest=_studied_places(case),
        )

    fineness = numerics.fineness * _fineness[preset]
    if size is None and preset != "coarse":
        # Small electrodes get a finer mesh for nothing that anyone would notice.
        few = planned(fineness).elements
        fineness *= float(np.clip((_comfortable / few) ** (1 / 3), 1.0, _finer_at_most))
    return planned(fineness / coarser)


def run_case(
    case: Case, *, accuracy: str | None = None, progress: Progress = lambda step: None
) -> Result:
    """Result of a case.

    Parameters
    ----------
    case : Case
        What `load_case` gave.
    accuracy : {"coarse", "normal", "fine"}, optional
        In place of the case's own.
    progress : callable, optional
        Told the name of each step as it begins.

    Returns
    -------
    result : Result

    Raises
    ------
    CaseError
        If bonds and drives contradict, or nothing is driven.
    BudgetError
        If the mesh would be larger than the case allows.
    MeshError, MissingLibraryError
        If the mesh cannot be made.
    TrustError
        If the result misses its own limits.
    """
    laps = _Laps(progress)
    bonds = tuple(bond.groups for bond in case.bonds if bond.closed)
    # Contradicting drives must not wait for the mesh to be found.
    groups = len(case.conductors.group_names)
    operating_point(
        np.eye(groups), drives=case.drives, bonds=bonds, names=case.conductors.group_names
    )
    area, metals = mapped_area(case), touchable_metals(case)
    laps.begin("mesh")
    planned = plan(case, accuracy=accuracy)
    mesh = build_mesh(planned)
    laps.begin("solution")
    order = case.numerics.order
    solution = solve(mesh, soil=case.soil, conductors=case.conductors, order=order)
    operating = operating_point(solution.current_matrix, drives=case.drives, bonds=bonds)
    field = Field(solution, operating.voltage)
    laps.begin("maps")
    surface = surface_map(area, field=field, metals=metals, pace=case.study.pace)
    profiles = tuple(_profile(item, area=area, field=field) for item in case.study.profiles)
    laps.begin("worst places")
    worst = _worst(surface, metals=metals, field=field, area=area)
    laps.begin("accuracy")
    rough, coarse = _coarse_solution(case, accuracy=accuracy)
    accuracy_found = compare(
        operating,
        worst=worst,
        metal_groups={metal.name: metal.group for metal in metals},
        coarse=coarse,
        drives=case.drives,
        bonds=bonds,
        growth=(planned.growth, rough.growth),
    )
    laps.end()
    return Result(
        title=case.title,
        units=case.units,
        case_file=case.source.file,
        case_text=case.source.text,
        case_hash=case.source.sha256,
        solution=solution,
        drives=case.drives,
        bonds=bonds,
        operating=operating,
        area=area,
        surface=surface,
        metals=metals,
        worst=worst,
        profiles=profiles,
        order_checks=order_checks(case.conductors, soil=case.soil, operating=operating),
        accuracy=accuracy_found,
        seconds=laps.seconds | {f"solution: {k}": v for k, v in solution.seconds.items()},
        peak_memory=_peak_memory(),
        versions=versions(),
    )


def _coarse_solution(case: Case, *, accuracy: str | None) -> tuple[MeshPlan, Solution]:
    """The same case on a coarser mesh; on a less coarse one if gmsh loses metal in it."""

    def coarser_by(ratio: float) -> tuple[MeshPlan, Solution]:
        rough = plan(case, accuracy=accuracy, coarser=ratio)
        mesh, order = build_mesh(rough), case.numerics.order
        return rough, solve(mesh, soil=case.soil, conductors=case.conductors, order=order)

    try:
        return coarser_by(coarsening)
    except MeshError:
        return coarser_by(1.0 + 0.5 * (coarsening - 1.0))


class _Laps:
    """Time of each step; tells progress where the run is."""

    def __init__(self, progress: Progress) -> None:
        self._progress = progress
        self._name = ""
        self._clock = perf_counter()
        self.seconds: dict[str, float] = {}

    def begin(self, name: str) -> None:
        self.end()
        self._progress(name)
        self._name = name

    def end(self) -> None:
        now = perf_counter()
        if self._name:
            self.seconds[self._name] = now - self._clock
        self._clock = now


def _studied_places(case: Case) -> Floats:
    """Corners of the mapped area with a pace round it, and the ends of all profiles."""
    area, pace = mapped_area(case), case.study.pace
    low, high = np.subtract(area.low, pace), np.add(area.high, pace)
    corners = [(x, y, 0.0) for x in (low[0], high[0]) for y in (low[1], high[1])]
    ends = [
        (*end, -line.depth) for line in case.study.profiles for end in (line.start, line.end)
    ]
    return np.array([*corners, *ends])


def touchable_metals(case: Case) -> tuple[TouchableMetal, ...]:
    """Touchable metal of the case as the solver takes it."""
    reach = case.study.reach
    return tuple(
        TouchableMetal(item.name, item.group, item.shape, item.points, reach)
        for item in case.study.touchables
    )


def mapped_area(case: Case) -> Area:
    """Rectangle and raster of the maps."""
    given = case.study.area
    low = given.corner
    high = (low[0] + given.size[0], low[1] + given.size[1])
    spacing = given.spacing or max(given.size) / _raster_points
    return Area(low, high, spacing)


def _profile(item: ProfileLine, *, area: Area, field: Field) -> Profile:
    """Potential along one of the case's lines."""
    start, end = np.array(item.start), np.array(item.end)
    length = float(np.linalg.norm(end - start))
    spacing = item.spacing or min(area.spacing, length / 200)
    share = np.linspace(0, 1, max(2, round(length / spacing) + 1))[:, None]
    plan_points = start + share * (end - start)
    points = np.column_stack([plan_points, np.full(len(share), -item.depth)])
    return Profile(item.name, points, field.potential(points))


def _worst(
    surface: SurfaceMap, *, metals: Sequence[TouchableMetal], field: Field, area: Area
) -> tuple[WorstVoltage, ...]:
    """Worst touch on each metal that can be reached, then the worst step."""
    found = [
        worst_touch(surface, index=k, metal=metal, field=field, area=area)
        for k, metal in enumerate(metals)
    ]
    reached = [item for item in found if item is not None]
    return (*reached, worst_step(surface, field=field, area=area))


def _usable_memory() -> float:
    """Nine tenths of the machine's memory; no limit where it cannot be told. [byte]"""
    try:
        return 0.9 * os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")
    except (AttributeError, ValueError, OSError):
        return float("inf")


def _peak_memory() -> float:
    """Largest resident memory of the process so far. [byte]"""
    unit = 1 if sys.platform == "darwin" else 1024
    return float(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit)


def versions() -> dict[str, str]:
    """Versions of Python, ohmscape and the libraries that make the numbers."""
    libraries = ("numpy", "scipy", "scikit-fem", "gmsh", "pyamg")
    found = {name: version(name) for name in libraries}
    return {"python": platform.python_version(), "ohmscape": __version__, **found}
