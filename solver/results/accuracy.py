"""How good a result is: the same case on a coarser mesh."""

from collections.abc import Sequence

import numpy as np

from ..drives import OperatingPoint
from ..errors import ToleranceError
from ..exposure.worst import WorstVoltage, voltages_again
from ..field.solution import Solution
from ..model import Floats
from ..solved_soil import Field
from ..wording import AS_GIVEN, plain
from .result import Accuracy


def compare(
    operating: OperatingPoint,
    *,
    worst: Sequence[WorstVoltage],
    metal_groups: dict[str, int],
    coarse: Solution,
    rougher: OperatingPoint,
    growth: tuple[float, float],
    tolerance: float,
) -> Accuracy:
    """Change of the results on a coarser mesh.

    Parameters
    ----------
    worst : sequence of WorstVoltage
        Its worst touch and step voltages; they are taken at the same places again.
    metal_groups : dict of str to int
        Group of each touchable metal.
    rougher : OperatingPoint
        Voltages and currents there, under the same drives.
    growth : tuple of float, length 2
        Increase of the element size per distance, of the result's mesh and the coarser one.
    tolerance : float
        Largest estimated error of the worst touch and step voltages, as a share of the rise;
        resistances are held to half of it.

    Raises
    ------
    ToleranceError
        If the estimated error of resistance, touch or step is above the tolerance.
    """
    field = Field(coarse, rougher.voltage)
    rise = float(np.abs(operating.voltage).max())
    changes = {"touch": 0.0, "step": 0.0}
    again = voltages_again(worst, field=field, metal_groups=metal_groups)
    for item, voltage in zip(worst, again, strict=True):
        changes[item.kind] = max(changes[item.kind], abs(voltage - item.voltage) / rise)
    accuracy = Accuracy(
        growth=growth[0],
        coarse_growth=growth[1],
        coarse_elements=len(coarse.mesh.tetrahedra),
        resistance=_change(operating.resistance, rougher.resistance),
        touch=changes["touch"],
        step=changes["step"],
        tolerance=tolerance,
    )
    _require(accuracy, worst=worst)
    return accuracy


def _change(before: Floats, after: Floats) -> float:
    """Largest relative change of the diagonal."""
    return float(np.max(np.abs(after.diagonal() / before.diagonal() - 1)))


def _require(accuracy: Accuracy, *, worst: Sequence[WorstVoltage]) -> None:
    """Raise unless every estimated error is within the tolerance."""
    values = {
        "resistance": (accuracy.resistance, accuracy.resistance_tolerance, ""),
        "touch": (accuracy.touch, accuracy.tolerance, " voltage (of the rise)"),
        "step": (accuracy.step, accuracy.tolerance, " voltage (of the rise)"),
    }
    excess = {name: accuracy.estimate(item[0]) / item[1] for name, item in values.items()}
    name = max(excess, key=lambda key: np.nan_to_num(excess[key], nan=np.inf))
    if not excess[name] <= 1.0:  # also true for NaN
        change, most, words = values[name]
        msg = (
            f"estimated error of the {name}{words} is "
            f"{plain(100 * accuracy.estimate(change), 100 * most)} %, above the "
            f"{plain(100 * most, figures=AS_GIVEN)} % that the tolerance allows; ask for a "
            "finer mesh (numerics.accuracy or numerics.fineness) or a wider numerics.tolerance"
        )
        places = {kind: _places(worst, kind=kind) for kind in ("touch", "step")}
        raise ToleranceError(msg, excess=excess, places=places)


def _places(worst: Sequence[WorstVoltage], *, kind: str) -> Floats:
    """Both feet of the worst voltages of one kind, shape (n, 2). [m]"""
    feet = [
        foot
        for item in worst
        if item.kind == kind
        for foot in (item.foot, item.other_foot)
        if foot is not None
    ]
    return np.array(feet).reshape(-1, 2)
