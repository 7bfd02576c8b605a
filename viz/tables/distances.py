"""Tables of distances: potential outwards, separations, and outlines as polygons."""

import math
from pathlib import Path

from ...solver.distances import Distances
from ...solver.results.result import Result
from ..wording import prospective, reference
from .result_table import write_result_table

_measured = "Distance: in plan from the nearest live metal."


def _included(found: Distances) -> str:
    return f"Voltages include growth and decrement, x {found.factor:.6g}."


def write_distances(result: Result, found: Distances, path: Path) -> None:
    """Write potential and voltage to the metal outwards, along and across live metal."""
    write_result_table(
        path,
        result=result,
        notes=[
            reference,
            _measured,
            _included(found),
            "Potential: below zero on the other side than the largest rise. To the metal: "
            "between metal of the largest rise and a foot there, as a wire carries it out.",
        ],
        header=["direction", "azimuth [deg]", "distance [m]", "x [m]", "y [m]",
                "potential [V]", "share of the rise [%]", "to the metal [V]"],
        rows=[
            (line.name, math.degrees(line.azimuth), distance, *place, potential,
             100 * potential / found.rise, found.rise - potential)
            for line in found.lines
            for distance, place, potential in zip(
                line.distance.tolist(), line.places.tolist(), line.potential.tolist(),
                strict=True,
            )
        ],
    )  # fmt: skip


def write_separations(result: Result, found: Distances, path: Path) -> None:
    """Write how far electrodes of others must stand."""
    nowhere = (float("nan"), float("nan"))
    write_result_table(
        path,
        result=result,
        notes=[
            _measured,
            _included(found),
            "Takes on: from the soil alone, without current of its own; below zero on the "
            "other side than the largest rise. An empty distance is beyond 100 km.",
        ],
        header=["electrode of others", "may take on [V]", "rod [m]", "distance [m]", "x [m]",
                "y [m]", "takes on [V]"],
        rows=[
            (
                item.apart.name,
                item.voltage,
                item.apart.rod,
                item.distance if math.isfinite(item.distance) else float("nan"),
                *(item.place or nowhere),
                item.signed,
            )
            for item in found.separations
        ],
    )  # fmt: skip


def write_outlines(result: Result, found: Distances, path: Path) -> None:
    """Write the closed outlines outside which less than each level is met."""
    write_result_table(
        path,
        result=result,
        notes=[
            "Outside its closed polygons less than the level is met; the last corner is joined "
            "to the first, holes are left out.",
            *(
                f"NOT whole: '{item.level.name}' goes on beyond 100 km."
                for item in found.levels
                if not item.whole
            ),
            _measured,
            _included(found),
            prospective,
        ],
        header=["level", "kind", "metal", "voltage [V]", "polygon", "x [m]", "y [m]"],
        rows=[
            (item.level.name, item.level.kind, item.level.metal, item.level.voltage, number,
             *corner)
            for item in found.levels
            for number, polygon in enumerate(item.polygons, start=1)
            for corner in polygon.tolist()
        ],
    )  # fmt: skip
