"""What voltages along the metal will take beside metal at one potential, counted before."""

import numpy as np

from ..cases.case import Case
from ..solver.field.along_metal import longest_of
from ..solver.metal.earth import EarthReturn
from ..solver.metal.fading import propagation
from ..solver.metal.runs import MOST_RUNS, longest_run
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
    wiring, metal = case.wiring, case.conductors
    assert wiring is not None  # or there is no such step
    both = (fine, coarse)
    ports, alternating = len(wiring.ports), float(wiring.frequency > 0)
    finer = [_finer(case, field=each) for each in both]
    lines = [each.lines * more for each, more in zip(both, finer, strict=True)]
    amounts = {
        "process": 1.0,
        "elements": float(sum(each.elements for each in both)),
        "elements times ports": float(ports * sum(each.elements for each in both)),
        "elements times ports, alternating": alternating
        * ports
        * sum(each.elements for each in both),
        "line elements": sum(lines),
        "line elements times ports": ports * sum(lines),
        "line elements times ports, alternating": alternating * ports * sum(lines),
        "balls times elements": sum(
            each.balls * more * each.in_ball for each, more in zip(both, finer, strict=True)
        ),
        "pairs as wires times images": sum(
            each.touching * more**2 * each.close for each, more in zip(both, finer, strict=True)
        ),
        "pairs of balls times images": sum(
            each.ball_pairs * more**2 * each.images
            for each, more in zip(both, finer, strict=True)
        ),
    }
    if wiring.frequency:
        longest = longest_run(EarthReturn(case.soil, wiring.frequency).reach)
        runs = min(MOST_RUNS, float(np.ceil(metal.length / longest).sum()))
        amounts["runs squared"] = len(both) * runs**2
    wires = max(usual_wires, 2 * len(metal.radius))
    if opinion and not case.soil.bodies and wires <= most_wires:
        amounts["wires squared"] = wires**2
        amounts["wires cubed"] = (2.0 * wires + len(wiring.leads)) ** 3
    return amounts


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
    marks = len(wiring.ports) + 2 * len(wiring.leads) + len(wiring.breaks)
    return float((cut.sum() + min(_graded * marks, usual.sum())) / usual.sum())
