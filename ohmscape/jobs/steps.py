"""The steps from a solved soil to a verdict, each to be taken alone, for any method.

A run takes them all (`evaluating`); whoever wants only worst voltages and a verdict, from thin
conductors alone and without a fine map, takes those (`assessing`).
"""

from dataclasses import dataclass, replace

import numpy as np

from ..cases.case import Case
from ..cases.circuit.operating import operating_of
from ..cases.study.study import Profile as ProfileLine
from ..solver.circuit import Operation
from ..solver.contact import behind_contact
from ..solver.drives import OperatingPoint
from ..solver.exposure.places import TouchableMetal
from ..solver.exposure.raster import Area
from ..solver.exposure.surface import SurfaceMap, surface_map
from ..solver.exposure.worst import WorstVoltage, worst_step, worst_touch
from ..solver.results.result import Profile
from ..solver.solved_soil import Field, SolvedSoil
from .layers_only import refuse_along_metal
from .solving import mapped_area


@dataclass(frozen=True)
class Operated:
    """A case in operation on a solved soil.

    Attributes
    ----------
    field : Field
        Potential anywhere, current by element.
    point : OperatingPoint
        Voltages, currents and resistances of the electrodes.
    operation : Operation or None
        The fault circuit, where the case has one.
    """

    field: Field
    point: OperatingPoint
    operation: Operation | None


@dataclass(frozen=True)
class View:
    """What a look at the surface of the soil gives.

    Attributes
    ----------
    area : Area
        What was mapped.
    metals : tuple of TouchableMetal
        What can be touched, one for each row of `surface.touch`.
    surface : SurfaceMap
        The map.
    """

    area: Area
    metals: tuple[TouchableMetal, ...]
    surface: SurfaceMap


def operate(case: Case, solution: SolvedSoil) -> Operated:
    """The case in operation behind its contacts: voltages, currents, resistances.

    Raises
    ------
    CaseError
        If bonds and drives contradict, nothing is driven, or voltages along the metal are
        asked for (along_metal), which a solution of metal at one potential does not have.
    """
    refuse_along_metal(case, what="here metal is at one potential")
    solution = behind_contact(solution, case.contact_resistance)
    point, operation = operating_of(case, solution.current_matrix)
    return Operated(Field(solution, point.voltage), point, operation)


def look(case: Case, field: Field, *, coarser: float = 1.0) -> View:
    """Map of the surface of the soil.

    Parameters
    ----------
    coarser : float, default 1
        Multiplies the raster, for a map that serves only to begin searches from.
    """
    area = raster_of(case, coarser=coarser)
    metals = touchable_metals(case)
    surface = surface_map(area, field=field, metals=metals, pace=case.study.pace)
    return View(area, metals, surface)


def raster_of(case: Case, *, coarser: float = 1.0) -> Area:
    """Rectangle of the maps, its raster multiplied as for `look`."""
    area = mapped_area(case)
    return replace(area, spacing=coarser * area.spacing)


def touchable_metals(case: Case) -> tuple[TouchableMetal, ...]:
    """Touchable metal of the case as the solver takes it."""
    reach = case.study.reach
    return tuple(
        TouchableMetal(item.name, item.group, item.shape, item.points, reach)
        for item in case.study.touchables
    )


def profiles_of(case: Case, field: Field) -> tuple[Profile, ...]:
    """Potential along the case's lines."""
    spacing = mapped_area(case).spacing
    return tuple(_profile(item, spacing=spacing, field=field) for item in case.study.profiles)


def _profile(item: ProfileLine, *, spacing: float, field: Field) -> Profile:
    start, end = np.array(item.start), np.array(item.end)
    length = float(np.linalg.norm(end - start))
    spacing = item.spacing or min(spacing, length / 200)
    share = np.linspace(0, 1, max(2, round(length / spacing) + 1))[:, None]
    plan_points = start + share * (end - start)
    points = np.column_stack([plan_points, np.full(len(share), -item.depth)])
    return Profile(item.name, points, field.potential(points))


def find_worst(view: View, *, field: Field) -> tuple[WorstVoltage, ...]:
    """Worst touch on each metal that can be reached, then the worst step."""
    found: list[WorstVoltage] = []
    for k, metal in enumerate(view.metals):
        found += worst_touch(view.surface, index=k, metal=metal, field=field, area=view.area)
    return (*found, *worst_step(view.surface, field=field, area=view.area))
