"""Metal that does not touch the soil, in plan: rails of fences, bonds of rails, leads."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from ..solver.metal import Feed
from ..solver.model import Floats
from ..solver.results.result import Result
from .kept import kept


@dataclass(frozen=True)
class RaisedPlan:
    """Metal above ground, or insulated in it, from above.

    Attributes
    ----------
    segments : ndarray of float, shape (n, 2, 2)
        [m]
    joins : ndarray of float, shape (k, 2)
        Where it is joined to metal in the soil. [m]
    """

    segments: Floats
    joins: Floats


@kept
def raised_plan(result: Result) -> RaisedPlan:
    """What of a result is above ground or insulated, empty where nothing is."""
    segments, joins = [], []
    if result.raised is not None:
        segments.append(result.raised)
        joins.append(result.raised.reshape(-1, 2))
    if result.along is not None:
        metal, wiring = result.along.conductors, result.along.wiring
        for lead, route in zip(wiring.leads, result.along.wired.routes, strict=True):
            if lead.told_as:
                continue  # of a part, whose metal is drawn as it is
            if route is not None:
                segments.append(np.stack([route[:-1, :2], route[1:, :2]], axis=1))
            joins += [
                (metal.start[end.piece] + end.along * metal.direction[end.piece])[None, :2]
                for end in lead.ends
                if isinstance(end, Feed)
            ]
    return RaisedPlan(
        np.concatenate([np.zeros((0, 2, 2)), *segments]),
        np.unique(np.round(np.concatenate([np.zeros((0, 2)), *joins]), 6), axis=0),
    )


def draw_raised(axes: Any, result: Result, factor: float, *, named: bool) -> None:
    """Draw it into axes: dots in a line, rings where it is joined; in their key if named.

    Parameters
    ----------
    factor : float
        From metres to the unit of the axes.
    """
    plan = raised_plan(result)
    if len(plan.segments):
        gap = np.full((len(plan.segments), 1, 2), np.nan)
        line = np.concatenate([plan.segments * factor, gap], axis=1).reshape(-1, 2).T
        axes.plot(
            *line, color="black", linewidth=1.2, linestyle=":",
            label="above ground or insulated" if named else None,
        )  # fmt: skip
    if len(plan.joins):
        axes.plot(
            *(plan.joins * factor).T, "o", color="black", markersize=5.5,
            markerfacecolor="white",
            label="joined to metal in the soil" if named else None,
        )  # fmt: skip
