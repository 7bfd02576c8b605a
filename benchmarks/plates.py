"""Resistances of plates beside values made without this code, and beside closed forms.

    python benchmarks/plates.py [ID ...]

How the values were made: *panels*, boundary elements graded to the edges and extrapolated,
good to 0.1 %; *axisymmetric* quadratic elements; *images* in a vertical plane, with panels;
*closed*, of a disc on the surface and deep below it. Bands of 0.15 % hold what even current in
each patch costs, 0.07 %.
"""

import sys

import numpy as np
from bodies import Row, ground, heading, line_of

from ohmscape.solver.bodies import Cylinder, HalfSpace
from ohmscape.solver.model import Floats, Soil
from ohmscape.solver.patches import bare_plates, disc, rectangle

_east, _north, _up = np.eye(3)
_fineness = 0.8  # as runs at normal accuracy have it
_surface = tuple((r, 0.0) for r in (0.6, 1.0, 2.0, 5.0))


def sheet(width: float, length: float, tilt: float, depth: float) -> Floats:
    """A rectangle, tilted about its level middle line, which is as long as it is wide."""
    slope = np.radians(tilt)
    across = length * np.array([0.0, np.cos(slope), -np.sin(slope)])
    return rectangle(np.array([0.0, 0.0, -depth]), along=width * _east, across=across)


def round_plate(radius: float, depth: float, *, upright: bool) -> Floats:
    """A disc, level or upright."""
    across = _up if upright else _north
    return disc(np.array([0.0, 0.0, -depth]), radius=radius, along=_east, across=across)


def plate(
    patches: Floats,
    value: float,
    how: str = "panels",
    soil: Soil | None = None,
    potentials: tuple[float, ...] = (),
) -> Row:
    """A plate alone, in 100 ohm m where nothing else is said."""
    return Row(
        how,
        soil or Soil((100.0,)),
        bare_plates([patches]),
        value,
        places=_surface[: len(potentials)],
        potentials=potentials,
        band=0.15,
        fineness=_fineness,
    )


_facing = rectangle(np.array([0.0, 0.0, -1.0]), along=_north, across=_up)
_cell = Cylinder((0.0, 0.0), 0.5, 0.0, 0.8)
_rock = HalfSpace((0.5, 0.0), (1.0, 0.0))
_arcs = tuple((100 / np.pi * np.arcsin(0.5 / np.array([0.6, 1.0, 2.0, 5.0]))).tolist())
rows = {
    "K50": plate(sheet(1.0, 1.0, 0, 0.6), 27.540),
    "K50 deeper": plate(sheet(1.0, 1.0, 0, 1.5), 24.285),
    "K51": plate(sheet(1.0, 1.0, 90, 1.0), 25.747),
    "K52": plate(sheet(2.0, 0.5, 90, 1.0), 23.355),
    "K53": plate(sheet(3.0, 1.0, 0, 0.8), 15.670),
    "K54": plate(sheet(4.0, 4.0, 0, 0.5), 8.879),
    "K55": plate(sheet(1.0, 1.0, 45, 1.0), 25.602),
    "K56": plate(sheet(1.5, 0.8, 30, 0.9), 23.511),
    "K57": plate(round_plate(0.5, 1.0, upright=True), 29.040),
    "K58": plate(round_plate(0.3, 0.5, upright=True), 49.785),
    "K59": plate(round_plate(0.3, 0.4, upright=False), 62.67, "axisymmetric",
                 ground(200, (_cell, 60))),
    "K60": plate(round_plate(0.3, 0.4, upright=False), 293.1, "axisymmetric",
                 ground(100, (_cell, 1000))),
    "K61 poorer": plate(_facing, 34.122, "images", ground(100, (_rock, 1000))),
    "K61 better": plate(_facing, 17.336, "images", ground(100, (_rock, 10))),
    "on surface": plate(round_plate(0.5, 0.0, upright=False), 50.0, "closed", None, _arcs),
    "40 m deep": plate(round_plate(0.5, 40.0, upright=False), 25 + 100 / (320 * np.pi),
                       "closed"),
}  # fmt: skip


def main() -> None:
    """Print the table of the rows asked for, of all where none is."""
    print(heading)
    for name in sys.argv[1:] or rows:
        print(line_of(name, rows[name]), flush=True)


if __name__ == "__main__":
    main()
