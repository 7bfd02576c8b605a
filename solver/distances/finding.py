"""All distances that a case asks for, from any solved field."""

from collections.abc import Sequence

import numpy as np

from ..errors import TrustError
from ..exposure.places import TouchableMetal
from ..solved_soil import Field
from .findings import Distances, LevelOutline
from .outlines import grown, outlines
from .outward import Outward
from .plan import DistancePlan, Level
from .voltages import Start, start_of
from .wide import WideField

_foot = 0.3048  # [m]
_most_seam = 0.03  # of the potential where the far field takes over


def distances(
    plan: DistancePlan,
    *,
    field: Field,
    metals: Sequence[TouchableMetal],
    pace: float,
    factor: float,
    plain_to: float | None = None,
) -> Distances:
    """Outlines of levels, separations and a table of potential over distance.

    Parameters
    ----------
    field : Field
        Solved, of today and symmetrical.
    metals : sequence of TouchableMetal
        What levels of touch are about.
    pace : float
        Distance between the feet of a step, > 0. [m]
    factor : float
        Growth and decrement, for all voltages.
    plain_to : float or None
        Distance up to which soil is a plain resistance. [m]

    Raises
    ------
    TrustError
        If the layers cannot be put into images well enough, what is asked for is farther out
        than anything is known of, or the near and the far field do not fit.
    """
    wide = WideField(field)
    if wide.seam is not None and not wide.seam <= _most_seam:
        msg = (
            f"where the field beyond metal and bodies takes over, it differs by "
            f"{100 * wide.seam:.2g} % from that of the mesh, more than the "
            f"{100 * _most_seam:.0f} % that is let pass; ask for a finer mesh "
            "(numerics.accuracy or numerics.fineness)"
        )
        raise TrustError(msg)
    outward = Outward(wide, factor)
    starts: dict[tuple[str, str], Start] = {}
    found = []
    for level in plan.levels:
        key = (level.kind, level.metal)
        if key not in starts:
            starts[key] = start_of(level, wide=wide, metals=metals, pace=pace, factor=factor)
        found.append(_outline(level, starts[key], outward))
    return Distances(
        factor=factor,
        rise=outward.rise,
        levels=tuple(found),
        separations=tuple(outward.separation(each) for each in plan.separations),
        lines=outward.lines(),
        lines_in_feet=outward.lines(unit=_foot),
        plain_to=plain_to,
        seam=wide.seam,
        known_to=wide.farthest if np.isfinite(wide.farthest) else None,
    )


def _outline(level: Level, start: Start, outward: Outward) -> LevelOutline:
    map_ = grown(
        start.places,
        values=start.values,
        low=start.low,
        high=start.high,
        voltage=start.voltage,
        lowest=level.voltage,
    )
    if not map_.whole:
        return LevelOutline(level, (), np.inf, None, False)
    polygons = outlines(map_, level=level.voltage, voltage=start.voltage)
    if not polygons:
        return LevelOutline(level, (), 0.0, None, True)
    corners = np.concatenate(polygons)
    away = outward.distance(corners)
    farthest = int(away.argmax())
    x, y = corners[farthest].tolist()
    return LevelOutline(level, polygons, float(away[farthest]), (x, y), True)
