"""Straight pieces of metal as the builders of parts hand them on."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...solver.model import Floats, Integers


@dataclass(frozen=True)
class Nodes:
    """Nodes of a grid, for rods that hang from them."""

    inside: Floats  # (n, 3): points of the lattice of grid lines in or on the outline [m]
    # (n, 2): number of the line along x and along y of each, from the corner
    position: Integers


@dataclass(frozen=True)
class Pieces:
    """Straight pieces of one part."""

    start: Floats  # (n, 3): end points, z up [m]
    end: Floats
    radius: Floats | None = None  # (n,): radius of each piece where a table gives it [m]
    rod: bool = False  # whether the pieces are rods
    # (m, 3): corners of the outline or run from which rods may hang; the first is repeated at
    # the end of a closed one. [m]
    run: Floats | None = None
    run_nodes: Floats | None = None  # (k, 3): nodes along the run, in order, each once [m]
    nodes: Nodes | None = None
    plate: Integers | None = None  # (n,): number of the plate of each, where they are patches
    corners: Floats | None = None  # (n, 4, 3): of each patch [m]
    # (m, 2, 3): places of the metal that are joined above ground, two by two [m]
    raised: Floats | None = None

    @property
    def closed(self) -> bool:
        """Whether the run closes on itself."""
        return self.run is not None and bool((self.run[0] == self.run[-1]).all())


def elevated(plan: npt.ArrayLike, *, depth: npt.ArrayLike) -> Floats:
    """Points with z from points in plan and their depth, shape (n, 3). [m]"""
    points = np.asarray(plan, dtype=float).reshape(-1, 2)
    # 0.0 - depth, not -depth: the surface is z = 0, not z = -0.
    z = np.broadcast_to(0.0 - np.asarray(depth, dtype=float), (len(points),))
    return np.column_stack([points, z])


def rotated(plan: npt.ArrayLike, *, angle: float) -> Floats:
    """Points in plan turned about the origin, from x towards y, by an angle in radians."""
    points = np.asarray(plan, dtype=float).reshape(-1, 2)
    if angle == 0:
        return points
    c, s = np.cos(angle), np.sin(angle)
    return np.asarray(points @ np.array([[c, s], [-s, c]]))
