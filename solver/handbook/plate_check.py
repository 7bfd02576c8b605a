"""Which formula of the handbook fits metal that is one plate."""

from collections.abc import Iterator

import numpy as np

from ..model import Conductors, Integers, Soil
from ..patches import areas, normals
from .plates import buried_plate_resistance, surface_plate_resistance

_dwight = "H. B. Dwight, AIEE Trans. 55, 1936 (in IEEE Std 142-2007 table 4-5, from memory)"
_compact = 2.6  # square of the longest reach over the area: a square has 2, a disc 4 / π
_level = 1e-3


def plate_formulas(
    conductors: Conductors, *, pieces: Integers, soil: Soil
) -> Iterator[tuple[str, str, float]]:
    """Formulas that fit one compact plate, level or upright, in uniform soil."""
    if conductors.plate is None or conductors.corners is None or len(soil.resistivity) > 1:
        return
    if not conductors.flat[pieces].all() or len(np.unique(conductors.plate[pieces])) > 1:
        return
    corners = conductors.corners[pieces]
    area = float(areas(corners).sum())
    places = corners.reshape(-1, 3)
    middle = np.average(corners.mean(axis=1), weights=areas(corners), axis=0)
    reach = 2 * float(np.linalg.norm(places - middle, axis=1).max())
    if reach**2 > _compact * area:
        return
    normal = normals(corners).sum(axis=0)
    steep = abs(float(normal[2])) / float(np.linalg.norm(normal))
    rho = soil.resistivity[0]
    if bool((places[:, 2] == 0).all()):
        value = surface_plate_resistance(resistivity=rho, area=area)
        yield "plate on the surface", "BS 7430 (from memory), exact for a disc", value
    elif min(steep, 1 - steep) < _level:
        value = buried_plate_resistance(
            resistivity=rho,
            radius=float(np.sqrt(area / np.pi)),
            depth=-float(middle[2]),
            upright=steep < 0.5,
        )
        yield f"{'upright' if steep < 0.5 else 'level'} round plate of its area", _dwight, value
