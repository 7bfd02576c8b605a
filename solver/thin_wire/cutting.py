"""All metal cut for the second opinion: round metal into wires, plates into panels."""

from dataclasses import fields, replace
from typing import Any

import numpy as np

from ..errors import BudgetError
from ..model import Conductors, Soil, some_of
from ..patch_cuts import cut_at_heights, finer_towards_better, quarters
from ..patches import areas, axes_of
from .wires import Wires, cut_into_wires

# Of a patch from better soil, in distances of its nearest corner; resistivities so far apart.
_farther, _contrast = 1.6, 3.0


def cut_metal(conductors: Conductors, *, soil: Soil, longest: float, most: int) -> Wires:
    """Wires of all round metal, and after them panels of all plates.

    Parameters
    ----------
    longest : float
        Of the average wire of a piece. [m]
    most : int
        Wires and panels together.

    Raises
    ------
    BudgetError
        If there would be more.
    """
    flat = conductors.flat
    if not flat.any():
        return cut_into_wires(conductors, soil=soil, longest=longest, most=most)
    panels = _panels(conductors, soil=soil)
    if len(panels) > most:
        msg = (
            f"the second opinion would cut the plates into {len(panels):,} panels; its matrix "
            f"takes at most {most:,} panels and wires: do without it "
            "(numerics.second_opinion: never), or leave plates out"
        )
        raise BudgetError(msg)
    own = np.flatnonzero(~flat)
    if not len(own):
        return panels
    rounded = some_of(conductors, piece=own)
    wires = cut_into_wires(rounded, soil=soil, longest=longest, most=most - len(panels))
    return _joined(replace(wires, piece=own[wires.piece]), panels)


def _panels(conductors: Conductors, *, soil: Soil) -> Wires:
    """Patches of plates, cut at the layer planes and each in four, which are joined again."""
    assert conductors.plate is not None
    assert conductors.corners is not None
    own = np.flatnonzero(conductors.flat)
    patches, piece = cut_at_heights(conductors.corners[own], heights=-soil.interface_depth)
    patches, parent = finer_towards_better(
        patches,
        plate=conductors.plate[own[piece]],
        soil=soil,
        most=_farther,
        contrast=_contrast,
    )
    corners, piece = quarters(patches), np.repeat(own[piece[parent]], 4)
    start, end, face = axes_of(corners)
    # At the surface only the lower side meets soil.
    sides = np.where((corners[:, :, 2] == 0).all(axis=1), 1.0, 2.0)
    return Wires(
        start=start,
        end=end,
        face=face,
        series=conductors.contact[piece] / (sides * areas(corners)),
        layer=soil.layer_at(-corners[:, :, 2].mean(axis=1)),
        piece=piece,
        group=conductors.group[piece],
        pair=np.repeat(np.arange(len(patches)), 4),
        corners=corners,
        plate=conductors.plate[piece],
    )


def _joined(wires: Wires, panels: Wires) -> Wires:
    """Both in one; the corners of a wire are its ends twice."""
    wires = replace(
        wires,
        corners=np.stack([wires.start, wires.start, wires.end, wires.end], axis=1),
        plate=np.full(len(wires), -1),
    )
    panels = replace(panels, pair=panels.pair + int(wires.pair.max()) + 1)
    both: dict[str, Any] = {
        each.name: np.concatenate([getattr(wires, each.name), getattr(panels, each.name)])
        for each in fields(Wires)
    }
    return Wires(**both)
