"""Solves the layouts of the field references once and measures what each one asks for.

The error band of a value is what a run would state: from the change on a coarser mesh.
"""

from dataclasses import replace
from functools import lru_cache

import numpy as np
from field_references import FieldReference, Layout

from ohmscape.jobs.solving import coarsenings, fineness_of, result_growth
from ohmscape.meshes import MeshPlan, build_mesh, mesh_plan
from ohmscape.meshes.plan import fastest_growth
from ohmscape.solver.exposure.places import TouchableMetal
from ohmscape.solver.exposure.surface import Area, surface_map
from ohmscape.solver.exposure.worst import worst_touch
from ohmscape.solver.field.solution import Solution, solve
from ohmscape.solver.results.result import Accuracy
from ohmscape.solver.solved_soil import Field


def solved(conductors, *, soil, fineness=1.0, order=2, size=None, spread=None) -> Solution:
    """Solution at default settings unless told otherwise."""
    plan = mesh_plan(conductors, soil=soil, fineness=fineness, size=size)
    if spread is not None:
        plan = replace(plan, spread=np.full(len(conductors.start), spread))
    return solve(build_mesh(plan), soil=soil, conductors=conductors, order=order)


def _plan(layout: Layout, *, coarser: float) -> MeshPlan:
    """Mesh of a run at default settings, or the coarser one that shows how good it is."""

    def planned(fineness: float, ratio: float = 1.0) -> MeshPlan:
        return mesh_plan(
            layout.conductors(),
            soil=layout.soil,
            fineness=fineness / ratio,
            growth_limit=fastest_growth if ratio > 1 else result_growth,
        )

    fineness = fineness_of("normal", planned=planned)
    fine, rough = planned(fineness), planned(fineness, coarser)
    return replace(rough, spread=rough.element_size * fine.spread / fine.element_size)


# Keeps few, since each holds its mesh: references of one layout stand side by side.
@lru_cache(maxsize=6)
def solution_of(layout: Layout, *, coarser: float = 1.0) -> Solution:
    conductors, soil = layout.conductors(), layout.soil
    mesh = build_mesh(_plan(layout, coarser=coarser))
    return solve(mesh, soil=soil, conductors=conductors)


def resistance(solution: Solution) -> float:
    """Resistance to remote earth of all groups bonded together. [Ω]"""
    return float(1.0 / solution.current_matrix.sum())


def band(reference: FieldReference) -> float:
    """Error that a run on this mesh would state, in the terms of `reference.error`."""
    layout = reference.layout
    change = measured(reference) - measured(reference, coarser=coarsenings[0])
    # Resistances relative to themselves, voltages to the rise.
    scale = measured(reference)
    if reference.kind != "resistance":
        scale = 1.0
        if reference.current is not None:
            scale = reference.current * resistance(solution_of(layout))
    growth = [_plan(layout, coarser=ratio).growth for ratio in (1.0, coarsenings[0])]
    stated = Accuracy(*growth, 0, 0.0, 0.0, 0.0, tolerance=1.0).estimate(abs(change) / scale)
    return stated * scale if reference.absolute else stated * scale / reference.reference


def measured(reference: FieldReference, *, coarser: float = 1.0) -> float:
    """What the solver finds for a reference."""
    solution = solution_of(reference.layout, coarser=coarser)
    ohms = resistance(solution)
    if reference.kind == "resistance":
        return ohms
    rise = 1.0 if reference.current is None else ohms * reference.current
    field = Field(solution, np.array([rise]))
    if reference.kind == "worst touch":
        return _worst_touch(field, *reference.places)
    potential = field.surface_potential(np.array(reference.places))
    if reference.kind == "potential":
        return float(potential[0])
    if reference.kind == "touch":
        return float(rise - potential[0])
    return float(abs(potential[0] - potential[1]))


def _worst_touch(field: Field, low, high) -> float:
    """Largest touch voltage in a rectangle, all of it within reach of metal. [V]"""
    corners = np.array([low, (high[0], low[1]), high, (low[0], high[1])])
    metal = TouchableMetal("all of it", 0, "polygon", corners, 1.0)
    area = Area(low, high, 0.5)
    surface = surface_map(area, field=field, metals=[metal], pace=1.0)
    (worst,) = worst_touch(surface, index=0, metal=metal, field=field, area=area)
    return worst.voltage
