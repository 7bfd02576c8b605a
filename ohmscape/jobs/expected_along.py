"""What voltages along the metal will take beside metal at one potential, counted before."""

import numpy as np

from ..cases.case import Case
from ..solver.field.along_metal import longest_of
from ..solver.metal.fading import propagation
from ..solver.thin_wire.wired import most_wires, usual_wires
from .expected_field import FieldWork

# Elements that grow from each place where current enters or leaves, to the usual length.
_graded = 10


def along_amounts(
    case: Case, *, fine: FieldWork, coarse: FieldWork, opinion: bool
) -> dict[str, float]:
    """Amounts of the step that solves the metal as it is wired, on both meshes.

    Parameters
    ----------
    opinion : bool
        Whether there is a second opinion at one potential.
    """
    wiring = case.wiring
    assert wiring is not None  # or there is no such step
    ports, alternating = len(wiring.ports), float(wiring.frequency > 0)
    both = [(each, _finer(case, field=each)) for each in (fine, coarse)]
    elements = sum(each.elements for each in (fine, coarse))
    amounts = {
        "elements": float(elements),
        "elements times ports, alternating": alternating * ports * elements,
        "line elements times ports, alternating": alternating
        * ports
        * sum(each.lines * more for each, more in both),
        "balls times elements": sum(each.balls * more * each.in_ball for each, more in both),
        "pairs as wires times images": sum(
            each.touching * more**2 * each.close for each, more in both
        ),
        "pairs of balls times images": sum(
            each.ball_pairs * more**2 * each.images for each, more in both
        ),
        "pairs of balls times ports": (1.0 + alternating)
        * ports
        * sum(each.ball_pairs * more**2 for each, more in both),
    }
    wires = max(usual_wires, 2 * len(case.conductors.radius))
    if opinion and not case.soil.bodies and wires <= most_wires:
        amounts["wires squared"] = wires**2
    return amounts


def looked_along(
    case: Case, *, fine: FieldWork, points: float, near: float
) -> dict[str, float]:
    """Amounts of what is looked at where the metal is at many voltages, beside the rest.

    Parameters
    ----------
    points, near : float
        Of the maps, and points of them times line elements near each.
    """
    assert case.wiring is not None  # or there is no such step
    return {
        "points, alternating": points * (case.wiring.frequency > 0),
        "points times near": near,
        "line elements": fine.lines * _finer(case, field=fine),
    }


def _finer(case: Case, *, field: FieldWork) -> float:
    """Line elements over those of metal at one potential."""
    wiring, metal, planned = case.wiring, case.conductors, field.planned
    assert wiring is not None
    gamma = propagation(metal, bars=wiring.bars, soil=case.soil, frequency=wiring.frequency)
    # Pieces of the plan are those of the metal, or lengths of them.
    size = planned.element_size
    usual = np.maximum(1.0, planned.length / size)
    longest = float(longest_of(gamma).min())
    cut = np.maximum(usual, planned.length / longest)
    own = [lead for lead in wiring.leads if not lead.told_as]  # those of parts end at ends
    marks = len(wiring.ports) + 2 * len(own) + len(wiring.breaks)
    return float((cut.sum() + min(_graded * marks, usual.sum())) / usual.sum())
