"""A finer solution where the error of one that missed its tolerance comes from."""

from dataclasses import replace

import numpy as np

from ..cases.case import Case
from ..meshes import build_mesh, refined_plan
from ..meshes.counting import default_element_limit
from ..solver.errors import BudgetError, ToleranceError
from ..solver.field.indicator import energy_errors, potential_errors, size_ratios
from ..solver.field.solution import Solution, solve
from ..solver.memory import usable_memory
from ..solver.model import Floats, Phasors
from ..solver.progress import Laps, Progress, unwatched
from .along_metal import operate_solved
from .solving import Solved, with_along

# An error is to shrink to its tolerance and some more, and by no more than this in one round,
# since what is far off is hardly known.
_spare, _most = 1.3, 8.0
# A mesh that is hardly better says nothing of itself by the difference to the one before.
_least_gain = 0.9
_steps = {"error indicator": 0.05, "finer mesh": 0.25, "finer solution": 0.7}


def refined(
    case: Case, solved: Solved, *, miss: ToleranceError, progress: Progress = unwatched
) -> Solved:
    """Unit solutions on a finer mesh, with those that missed the tolerance as the coarser ones.

    Parameters
    ----------
    miss : ToleranceError
        By how much and where; raised again where the mesh cannot be made finer.
    progress : callable, optional
        As for `solve_case`.

    Raises
    ------
    ToleranceError
        If the miss is no number, or the finer mesh would be larger than the case or the
        machine allows.
    MeshError, TrustError
        As `solve_case`.
    """
    planned = solved.planned
    if planned is None or not np.isfinite(list(miss.excess.values())).all():
        raise miss
    laps = Laps(progress, _steps)
    laps.begin("error indicator")
    contact = case.contact_resistance
    point = operate_solved(case, solved).point
    voltage = point.voltage - np.array(contact) * point.current
    before = error_shares(solved.fine, voltage=voltage, places=miss.places)
    ratio = size_ratios(
        list(before.values()),
        excess=[min(_spare * miss.excess[name], _most) for name in before],
        solution=solved.fine,
    )
    laps.begin("finer mesh")
    try:
        finer = refined_plan(
            planned,
            space=solved.fine.space,
            ratio=ratio,
            element_limit=case.numerics.element_limit or default_element_limit,
            memory_limit=usable_memory(),
        )
    except BudgetError as error:
        msg = f"{miss}. A finer mesh to meet it was refused: {error}"
        raise ToleranceError(msg, excess=miss.excess, places=miss.places) from error
    mesh = build_mesh(finer)
    laps.begin("finer solution")
    fine = solve(
        mesh,
        soil=case.soil,
        conductors=case.conductors,
        order=case.numerics.order,
        keep=case.wiring is not None,
    )
    after = error_shares(fine, voltage=voltage, places=miss.places)
    left = max(after[name].sum() / before[name].sum() for name in before)
    laps.end()
    # Stated errors go as the square of the growth: this is the growth of an even mesh as good.
    growth = solved.growth[0] * np.sqrt(min(left, _least_gain))
    found = replace(
        solved,
        fine=fine,
        coarse=solved.fine,
        growth=(float(growth), solved.growth[0]),
        seconds=solved.seconds | laps.seconds,
        planned=finer,
    )
    return with_along(case, found, coarse=solved.along)


def error_shares(
    solution: Solution, *, voltage: Phasors, places: dict[str, Floats]
) -> dict[str, Floats]:
    """How much each element has to do with the error of resistance, touch and step.

    Parameters
    ----------
    voltage : ndarray of float or complex, shape (g,)
        Rise of each group at the operating point. [V]
    places : dict of str to ndarray of float, shape (n, 2)
        Where touch and step were looked at; what has none is left out. [m]

    Returns
    -------
    shares : dict of str to ndarray of float, shape (m,)
    """
    own = solution.current_matrix.diagonal()
    units = np.eye(len(own))
    shares = {
        "resistance": np.sum(
            [
                energy_errors(solution, voltage=unit) / watts
                for unit, watts in zip(units, own, strict=True)
            ],
            axis=0,
        )
    }
    errors = energy_errors(solution, voltage=voltage)
    for name, feet in places.items():
        if len(feet):
            shares[name] = potential_errors(solution, errors=errors, places=feet)
    return shares
