"""How good a result is: the same case on a coarser mesh."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from ..contact import behind_contact
from ..drives import OperatingPoint
from ..errors import ToleranceError
from ..exposure.surface import SurfaceMap
from ..exposure.worst import WorstVoltage, voltages_again
from ..field.at_edges import order_of_error
from ..field.solution import Solution
from ..model import Conductors, Floats, Phasors
from ..solved_soil import Field
from ..wording import AS_GIVEN, plain
from .result import Accuracy, Profile

# About as many places of a map are taken again on the coarser mesh, of each of two kinds, and
# about as many of all profiles.
_most_places = 600


@dataclass(frozen=True)
class Drawn:
    """Places that maps and profiles show, and what they show there.

    Attributes
    ----------
    points : ndarray of float, shape (n, 3)
        [m]
    potential : ndarray of float or complex, shape (n,)
        [V]
    """

    points: Floats
    potential: Phasors

    def change(self, field: Field) -> float:
        """Largest difference from another field. [V]"""
        again = field.potential(self.points)
        return float(np.abs(again - self.potential).max(initial=0.0))


def drawn_places(
    surface: SurfaceMap, *, profiles: Sequence[Profile], conductors: Conductors
) -> Drawn:
    """Some of what is drawn: the map nearest to ends of shallow metal, the rest spread evenly.

    Meshes differ most over joints and heads that lie shallow, so that these stand first.
    """
    ends = np.concatenate([conductors.start, conductors.end])
    over = np.column_stack([surface.places, np.zeros(len(surface.places))])
    near = np.argsort(cKDTree(ends).query(over)[0], kind="stable")[:_most_places]
    spread = np.arange(0, len(over), max(1, len(over) // _most_places))
    chosen = np.union1d(near, spread)
    points, potential = [over[chosen]], [surface.potential[chosen]]
    for profile in profiles:
        some = slice(None, None, max(1, len(profiles) * len(profile.points) // _most_places))
        points.append(profile.points[some])
        potential.append(profile.potential[some])
    return Drawn(np.concatenate(points), np.concatenate(potential))


def compare(
    operating: OperatingPoint,
    *,
    worst: Sequence[WorstVoltage],
    metal_groups: dict[str, int],
    coarse: Solution,
    rougher: OperatingPoint,
    growth: tuple[float, float],
    tolerance: float,
    drawn: Drawn | None = None,
    contact_resistance: Sequence[float] = (),
    model: tuple[float, float] = (0.0, 0.0),
    along: tuple[Phasors, Phasors, Field] | None = None,
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
    drawn : Drawn, optional
        Some of what maps and profiles show, taken again.
    contact_resistance : sequence of float, length g or 0
        In series with each group, on both meshes. [Ω]
    model : tuple of float, length 2
        What its model leaves open, of resistances and voltages (`field.model_doubt`). No mesh
        mends it, so that the tolerance does not count it.
    along : tuple of (ndarray, ndarray, Field), optional
        Of metal with voltages along it: impedances of its ports on both meshes [Ω], which
        count as resistances do, and the field on the coarser one.

    Raises
    ------
    ToleranceError
        If the estimated error of resistance, touch or step is above the tolerance.
    """
    if along is None:
        field = Field(behind_contact(coarse, contact_resistance), rougher.voltage)
        resistance = _change(operating.resistance, rougher.resistance)
    else:
        field = along[2]
        resistance = float(np.abs(along[1] / along[0] - 1.0).max())
    rise = float(np.abs(operating.voltage).max())
    changes = {"touch": 0.0, "step": 0.0}
    again = voltages_again(worst, field=field, metal_groups=metal_groups)
    for item, voltage in zip(worst, again, strict=True):
        changes[item.kind] = max(changes[item.kind], abs(voltage - item.voltage) / rise)
    accuracy = Accuracy(
        growth=growth[0],
        coarse_growth=growth[1],
        coarse_elements=len(coarse.mesh.tetrahedra),
        resistance=resistance,
        touch=changes["touch"],
        step=changes["step"],
        tolerance=tolerance,
        surface=None if drawn is None else drawn.change(field) / rise,
        surface_places=0 if drawn is None else len(drawn.points),
        model_resistance=model[0],
        model_voltage=model[1],
        order=order_of_error(coarse, ratio=growth[1] / growth[0]),
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
