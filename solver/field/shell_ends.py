"""What the ends of sheaths add to the short-range matrix: one shell for each of them."""

from collections.abc import Iterator

import numpy as np
import scipy.sparse as sparse

from ..model import Conductors, Floats, Integers, Soil
from .break_points import flat_ends, free_ends
from .elements import DISC, LineElements
from .faced_elements import edge_orders
from .media import conductivities, resistivities
from .shells import (
    Shell,
    in_place_of_soil,
    shell_resistance,
    soil_conductance,
    with_bare_end,
)

# In outer radii: how far from an end of the metal the current is taken to flow straight
# outwards again. What differs from that falls by e about every radius.
_zone = 4.0
# Metal narrower than this share of the sheath leaks through its bare end as the core of a disc.
_narrow = 0.2
# Wider than this it leaks at its rim too.
_wide = 0.85
# Mean potential of currents on a disc over that of the disc as metal, ρ / 4 b.
_of_middle, _of_core = 1.24, 2.30
# Of ρ / 4 a: by how much what is left after that may be off (`_through_bare_end`).
_unsure = 0.03
_least_left = 0.02  # of the resistance of the bare end; without any it would be unbounded


def shell_ends(
    elements: LineElements, *, conductors: Conductors, soil: Soil
) -> sparse.csc_matrix:
    """What the ends of sheaths add to the resistance of films and sheaths.

    Parameters
    ----------
    conductors : Conductors
        The pieces of metal they belong to.

    Returns
    -------
    matrix : csc_matrix, shape (n, n)
        Symmetric; zero but for elements near free ends with a sheath. To be added to the
        resistance of film and sheath of each element alone. [Ω]
    """
    rows, columns, values = [], [], []
    for index, block, _ in _blocks(elements, conductors=conductors, soil=soil):
        block = block - np.diag((elements.series / elements.length)[index])
        rows.append(np.repeat(index, len(index)))
        columns.append(np.tile(index, len(index)))
        values.append(block.ravel())
    shape = (len(elements), len(elements))
    if not values:
        return sparse.csc_matrix(shape)
    where = np.concatenate(rows), np.concatenate(columns)
    return sparse.csc_matrix((np.concatenate(values), where), shape=shape)


def bare_end_doubt(
    elements: LineElements, *, conductors: Conductors, soil: Soil, current: Floats
) -> Floats:
    """What the bare ends of sheathed metal leave open of the power into the soil, by group.

    Parameters
    ----------
    current : ndarray of float, shape (g, n)
        Of each element with group k at 1 V. [A/V]

    Returns
    -------
    power : ndarray of float, shape (g,)
        With group k at 1 V. A resistance is off by as much of itself as its power is. [W/V²]
    """
    power = np.zeros(len(current))
    bare = (conductors.sheath_radius > conductors.radius) & (conductors.sheath_cover == 0)
    if bare.any():
        for index, block, ends in _blocks(elements, conductors=conductors, soil=soil):
            for last, resistance in ends:
                through = (block[last] @ current[:, index].T) / resistance
                tip = elements.layer[index[last]], elements.piece[index[last]]
                spreading = 1 / (4 * conductivities(soil)[tip[0]] * conductors.radius[tip[1]])
                power += _unsure * spreading * through**2
    return power


def _blocks(
    elements: LineElements, *, conductors: Conductors, soil: Soil
) -> Iterator[tuple[Integers, Floats, list[tuple[int, float]]]]:
    """Of each sheathed end: its elements, drops to their faces [Ω], bare ends with theirs [Ω].

    A bare end is one of these elements and the resistance from the metal to it.
    """
    known: dict[Shell, Floats] = {}
    resistivity = resistivities(soil)
    order = edge_orders(elements, soil=soil)
    for piece, index, shell in _shells(elements, conductors=conductors, order=order):
        # Current passes a sheath as it really is, whatever it is in an isotropic twin.
        longer, wider = float(conductors.longer[piece]), float(conductors.wider[piece])
        real = shell.shrunk(longer=longer, wider=wider)
        if real not in known:
            known[real] = shell_resistance(real)
        block = conductors.sheath_resistivity[piece] / longer * known[real]
        sides = len(shell.breaks) - 1
        bare = _bare_ends(shell) if conductors.sheath_cover[piece] == 0 else []
        ends = []
        for last in bare:
            resistance = _through_bare_end(
                shell,
                resistivity=float(resistivity[elements.layer[index[last]]]),
                film=float(conductors.contact[piece]) / (longer * wider),
            )
            block = with_bare_end(block, element=last, resistance=resistance)
            ends.append((last, resistance))
        if shell.discs:
            beside = tuple(resistivity[elements.layer[index[:sides]]].tolist())
            block = in_place_of_soil(block, soil=soil_conductance(shell, resistivity=beside))
        yield index, block, ends


def _bare_ends(shell: Shell) -> list[int]:
    """Elements that ends of the metal leak with where the sheath ends with it."""
    sides = len(shell.breaks) - 1
    found = {False: sides - 1, True: 0} if shell.open_start else {False: sides - 1}
    # Of the currents on a flat end the one that crowds most like that of the metal in it.
    wanted = 2 if shell.radius < _narrow * shell.outer_radius else 1
    more = []
    for start in found:
        own = [k for k, disc in enumerate(shell.discs) if disc[0] == start]
        if own:
            found[start] = sides + own[wanted]
        if own and shell.radius > _wide * shell.outer_radius:
            more.append(sides + own[0])
    return [*found.values(), *more]


def _through_bare_end(shell: Shell, *, resistivity: float, film: float) -> float:
    """Resistance from the metal through its bare end to the element that it leaks with. [Ω]

    Into the soil as from a disc in a plane, ρ / 4 a, and with a film on that. Of a flat end
    with its own currents this is less what they spread themselves: `_of_core` or `_of_middle`
    times ρ / 4 b, and just ρ / 4 b where the metal is nearly as wide as its sheath.
    """
    a, share = shell.radius, shell.radius / shell.outer_radius
    spreading = resistivity / (4 * a)
    if shell.discs and share < _narrow:
        spreading *= 1 - _of_core * share
    elif shell.discs and share < _wide:
        spreading *= max(1 - _of_middle * share, _least_left)
    elif shell.discs:
        spreading *= (1 - share) * (1 - (_of_middle - 1) * share)
    return spreading + film / (np.pi * a**2)


def _shells(
    elements: LineElements, *, conductors: Conductors, order: Floats
) -> Iterator[tuple[int, Integers, Shell]]:
    """Each sheathed end: piece, its elements in the order of the shell, shell."""
    starts, ends = (
        free | flat
        for free, flat in zip(free_ends(conductors), flat_ends(conductors), strict=True)
    )
    sheathed = conductors.sheath_radius > conductors.radius
    first = np.searchsorted(elements.piece, np.arange(len(starts) + 1))
    for piece in np.flatnonzero(sheathed & (starts | ends)).tolist():
        index = np.arange(first[piece], first[piece + 1])
        flat = index[elements.face[index] >= DISC]
        index = index[elements.face[index] < DISC]
        at_start = (elements.start[flat] == elements.start[index[0]]).all(axis=1)
        length = float(conductors.length[piece])
        breaks = np.cumsum([0.0, *elements.length[index]])
        if starts[piece]:
            breaks -= conductors.sheath_cover[piece]
        zone = _zone * conductors.sheath_radius[piece]
        zone *= conductors.longer[piece] / conductors.wider[piece]
        near = int((breaks[:-1] < zone).sum()), int((breaks[1:] > length - zone).sum())
        if starts[piece] and ends[piece] and sum(near) > len(index):
            discs = tuple(zip(at_start.tolist(), order[flat].tolist(), strict=True))
            shell = _shell(conductors, piece, breaks=breaks, open_start=True, discs=discs)
            yield piece, np.concatenate([index, flat]), shell
            continue
        if ends[piece]:
            own = flat[~at_start]
            yield (
                piece,
                np.concatenate([index[len(index) - near[1] :], own]),
                _end_shell(conductors, piece, breaks[len(index) - near[1] :], order[own]),
            )
        if starts[piece]:
            own, turned = flat[at_start], (length - breaks[: near[0] + 1])[::-1]
            yield (
                piece,
                np.concatenate([index[: near[0]][::-1], own]),
                _end_shell(conductors, piece, turned, order[own]),
            )


def _end_shell(conductors: Conductors, piece: int, breaks: Floats, order: Floats) -> Shell:
    """Sheath round the last elements of a piece, with discs of these orders at its end."""
    discs = tuple((False, value) for value in order.tolist())
    return _shell(conductors, piece, breaks=breaks, open_start=False, discs=discs)


def _shell(
    conductors: Conductors,
    piece: int,
    *,
    breaks: Floats,
    open_start: bool,
    discs: tuple[tuple[bool, float], ...],
) -> Shell:
    """Sheath round some elements of a piece, the metal ending at its length."""
    length, cover = float(conductors.length[piece]), float(conductors.sheath_cover[piece])
    places = [*breaks[:-1].tolist(), length + cover]
    if open_start:
        places[0] = -cover
    # Rounded so that ends that are equal but for round-off are solved once.
    unit = float(conductors.sheath_radius[piece])
    *places, start, end = (
        unit * round(x / unit, 9) for x in (*places, 0.0 if open_start else places[0], length)
    )
    return Shell(
        radius=float(conductors.radius[piece]),
        outer_radius=unit,
        breaks=tuple(places),
        metal=(start, end),
        contact=float(conductors.contact[piece] / conductors.sheath_resistivity[piece]),
        open_start=open_start,
        discs=discs,
    )
