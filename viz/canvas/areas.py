"""Areas of a page, kept until all are there."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ...solver.model import Floats, Integers


@dataclass(frozen=True)
class Areas:
    """Areas at one height: points, corners, where each area starts among them, its colour."""

    points: Floats
    corners: Integers
    starts: Integers
    colours: Any


def joined(parts: Sequence[Areas]) -> tuple[Floats, Integers, Integers, Any]:
    """All areas as one: a mesh for each of them takes far longer than what it shows."""
    points, corners = (np.cumsum([0, *sizes]) for sizes in zip(
        *((len(part.points), len(part.corners)) for part in parts), strict=True
    ))  # fmt: skip
    return (
        np.concatenate([part.points for part in parts]),
        np.concatenate([part.corners + at for part, at in zip(parts, points, strict=False)]),
        np.concatenate(
            [[0], *(part.starts[1:] + at for part, at in zip(parts, corners, strict=False))]
        ),
        np.concatenate([part.colours for part in parts]),
    )
