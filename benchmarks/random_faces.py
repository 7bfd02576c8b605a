"""Metal beside, in and through faces drawn at random, beside thin wires without a mesh.

    python benchmarks/random_faces.py [COUNT [FIRST [KIND ...]]]

Rods and wires near contacts of two soils, half balls, half balls with a film, and over a film
between two soils, of 10 to 3000 ohm m with contrasts to 300, 0.03 to 2 m from a face or through
it: `face_values.py` has how the values are made. Each is solved as a run does it, with the
coarser mesh from which it states its error.
"""

import sys

import numpy as np
from bodies import Row, box, outcome_of
from face_values import Contact, FilmInLayers, HalfBall, Kernel, value_of

from ohmscape.solver.bodies import Ball, Body, Film, HalfSpace
from ohmscape.solver.errors import OhmscapeError
from ohmscape.solver.model import Conductors, Soil

_seed, _count = 7_311, 24
_wide = 400.0  # of a film between two soils, from the middle
_known = 1e-3  # of a value: how far a thin wire is from a true one
Pieces = list[tuple[np.ndarray, np.ndarray]]


def _draw(rng: np.random.Generator, *values: float) -> float:
    return float(np.exp(rng.uniform(*np.log(values))))


def _soils(rng: np.random.Generator) -> tuple[float, float]:
    one = _draw(rng, 10, 3000)
    return one, float(np.clip(one * _draw(rng, 1 / 300, 300), 1.0, 30_000))


def _film(rng: np.random.Generator, soils: tuple[float, float], most: float = 1000) -> float:
    """From what hardly matters to what nearly insulates. [Ω·m²]"""
    return _draw(rng, 0.01, most) * max(soils)


def contact(rng: np.random.Generator, *, through: bool) -> tuple[Soil, Pieces, float, Kernel]:
    """A rod or wire beside a vertical contact, or a wire through it."""
    soils = _soils(rng)
    radius = float(rng.uniform(0.004, 0.01))
    gap = _draw(rng, 0.03, 2.0)
    depth, length = float(rng.uniform(0.3, 1.2)), float(rng.uniform(1.5, 8.0))
    turn = float(rng.uniform(-np.pi / 2, np.pi / 2))
    along = np.array([np.cos(turn), np.sin(turn), 0.0])
    if through:
        along[0] = max(along[0], 0.3)
        along /= np.linalg.norm(along)
        share = float(rng.uniform(0.1, 0.9))
        low, high = -share * length * along, (1 - share) * length * along
        low[2] = high[2] = -depth
        middle = np.array([0.0, 0.0, -depth])
        pieces, place = [(low, middle), (middle, high)], 0.0
    elif rng.random() < 0.5:
        start = np.array([0.0, 0.0, 0.0])
        pieces, place = [(start, np.array([0.0, 0.0, -length / 2]))], gap
    else:
        start = np.array([0.0, 0.0, -depth])
        pieces, place = [(start, start - length * along)], gap
    soil = Soil(
        (soils[0],), bodies=(Body("beyond", HalfSpace((place, 0.0), (1.0, 0.0)), soils[1]),)
    )
    return soil, pieces, radius, Contact(place, soils)


def ball(rng: np.random.Generator, *, film: bool) -> tuple[Soil, Pieces, float, Kernel]:
    """A rod beside, in or, a level wire, through a half ball."""
    soils, size = _soils(rng), _draw(rng, 0.8, 3.0)
    radius = float(rng.uniform(0.004, 0.01))
    kind = rng.integers(3)
    if kind == 0:
        off = size + _draw(rng, 0.05, 2.0)
        pieces = [(np.array([off, 0.0, 0.0]), np.array([off, 0.0, -rng.uniform(1.0, 4.0)]))]
    elif kind == 1:
        off = size * float(rng.uniform(0.0, 0.7))
        deep = float(rng.uniform(0.4, 0.85)) * np.sqrt(size**2 - off**2)
        pieces = [(np.array([off, 0.0, 0.0]), np.array([off, 0.0, -deep]))]
    else:
        deep = size * float(rng.uniform(0.2, 0.5))
        rim = np.sqrt(size**2 - deep**2)
        stops = [np.array([x, 0.0, -deep]) for x in (0.3 * rim, rim, rim + rng.uniform(0.5, 3))]
        pieces = [(stops[0], stops[1]), (stops[1], stops[2])]
    resistance = _film(rng, soils) if film else 0.0
    cover = Film(resistance) if film else None
    body = Body("ball", Ball((0.0, 0.0, 0.0), size), soils[1], film=cover)
    kernel = HalfBall(size, soils[1], soils[0], resistance)
    return Soil((soils[0],), bodies=(body,)), pieces, radius, kernel


def film_below(rng: np.random.Generator) -> tuple[Soil, Pieces, float, Kernel]:
    """A rod or wire in soil over a film, another soil below it."""
    soils, thickness = _soils(rng), float(rng.uniform(0.4, 2.0))
    radius = float(rng.uniform(0.004, 0.01))
    gap = _draw(rng, 0.05, 0.5) * thickness
    length = float(rng.uniform(1.5, 6.0))
    if rng.random() < 0.5:
        pieces = [(np.zeros(3), np.array([0.0, 0.0, gap - thickness]))]
    else:
        deep = gap - thickness
        pieces = [(np.array([-length / 2, 0.0, deep]), np.array([length / 2, 0.0, deep]))]
    # With more the current goes on sideways, beyond the mesh that metal so small has.
    resistance = _film(rng, soils, 3)
    shape = box((-_wide, -_wide), (_wide, _wide), 0.0, thickness)
    body = Body("above", shape, soils[0], film=Film(resistance, ("bottom",)))
    return (
        Soil((soils[1],), bodies=(body,)),
        pieces,
        radius,
        FilmInLayers(thickness, soils, resistance),
    )


kinds = {
    "contact": lambda rng: contact(rng, through=False),
    "through a contact": lambda rng: contact(rng, through=True),
    "ball": lambda rng: ball(rng, film=False),
    "ball with a film": lambda rng: ball(rng, film=True),
    "film below": film_below,
}


def line_of(number: int, kind: str) -> tuple[str, bool]:
    """A row of the table, and whether it is as good as it says."""
    rng = np.random.default_rng([_seed, number])
    soil, pieces, radius, kernel = kinds[kind](rng)
    body = soil.bodies[0]
    around = np.array([pieces[0][0], pieces[-1][1]]) * [1.0, 1.0, 0.0]
    places = around[rng.integers(2, size=4)] + np.column_stack(
        [rng.uniform(-2.5, 2.5, (4, 2)), np.zeros(4)]
    )
    value = value_of(pieces, radius=radius, kernel=kernel, places=places)
    metal = Conductors.bare([pieces[0][0]], end=[pieces[-1][1]], radius=radius)
    gap = float(body.shape.distance(np.linspace(pieces[0][0], pieces[-1][1], 201)).min())
    film = f"{body.film.resistance:.3g}" if body.film else "-"
    head = (
        f"| {number} | {kind} | {soil.resistivity[0]:.3g} | {body.resistivity:.3g} | {film} | "
        f"{gap:.2f} |"
    )
    row = Row(
        kind, soil, metal, value.resistance, tuple(map(tuple, places)), value.potentials, 0.1,
        1.6,
    )  # fmt: skip
    try:
        got = outcome_of(row)
    except OhmscapeError as error:
        return f"{head} refused: {str(error)[:70]}", True
    held = abs(got.error) <= got.stated + _known and got.worst <= got.stated_voltage + 0.002
    return (
        f"{head} {value.resistance:.5g} | {100 * got.error:+.2f} | {100 * got.stated:.2f} | "
        f"{100 * got.worst:.2f} | {100 * got.stated_voltage:.2f} | "
        f"{'yes' if held else 'NO'} | {got.unknowns:,} | {got.steps} | {got.seconds:.1f} |"
    ), held


def main(count: int = _count, first: int = 0, *chosen: str) -> None:
    """Print the table, and how many are as good as they say."""
    print(
        "| no. | kind | soil | body | film | nearest, m | value, Ω | error, % | stated | worst "
        "potential, % | stated | held | unknowns | steps | s |"
    )
    print("|---" * 15 + "|")
    names, held = list(chosen or kinds), 0
    for number in range(int(first), int(first) + int(count)):
        line, good = line_of(number, names[number % len(names)])
        held += good
        print(line, flush=True)
    print(f"{held} of {int(count)} within what is stated")


if __name__ == "__main__":
    main(*sys.argv[1:])
