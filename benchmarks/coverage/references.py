"""The reference that fits a case: a rod in fill, or tubes; refined until it is settled."""

from dataclasses import dataclass

import numpy as np

from .filled_rod import RodInFill, solve_filled_rod
from .tubes import solve_tubes

LEVELS = (1.0, 1.6, 2.6, 4.2)
_most_panels = 2600


@dataclass(frozen=True)
class FilledRod:
    """A rod in fill, asked as tubes are."""

    field: object
    place: np.ndarray

    @property
    def current_matrix(self):
        """Of one group, shape (1, 1). [S]"""
        return np.array([[1 / self.field.resistance]])

    def surface_potential(self, places, *, voltage):
        """Potential of the surface at plan places. [V]"""
        distance = np.hypot(*(np.asarray(places) - self.place).T)
        return voltage[0] * self.field.surface_share(distance)


def solved(case, *, fineness, reach):
    """Reference of a case at one fineness; None if it would have too many panels."""
    metal, soil = case.conductors, case.soil
    layers = {"resistivity": soil.resistivity, "thickness": soil.thickness}
    deep = metal.sheath_radius[0] - metal.radius[0] > 0.2 * metal.radius[0]
    if len(metal.radius) == 1 and abs(metal.direction[0][2]) > 1 - 1e-9 and deep:
        rod = RodInFill(
            radius=float(metal.radius[0]),
            top=abs(float(max(metal.start[0][2], metal.end[0][2]))),
            bottom=float(-min(metal.start[0][2], metal.end[0][2])),
            fill_radius=float(metal.sheath_radius[0]),
            resistivity=float(metal.sheath_resistivity[0]),
            cover=float(metal.sheath_cover[0]),
            film=float(metal.contact[0]),
        )
        found = solve_filled_rod(rod, **layers, fineness=fineness, reach=reach)
        return FilledRod(found, metal.start[0][:2])
    return solve_tubes(metal, **layers, fineness=fineness, reach=reach, most=_most_panels)


def voltages(current_matrix, *, drives):
    """Voltages of groups that are driven by currents or float. [V]"""
    assert all(drive.kind in ("current", "floating") for drive in drives)
    currents = np.array([0.0 if d.kind == "floating" else d.value for d in drives])
    return np.linalg.solve(current_matrix, currents)
