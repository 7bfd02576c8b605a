"""Where the fit starts: many soils scored at once, the best that differ are kept."""

import numpy as np

from ..model import Floats
from .target import Target

# A power of two, as Sobol' points need.
_candidates, _candidates_with_rods = 1024, 128
# Starts nearer than this, as root mean square of ln of the parameters, are one start.
_nearest = 0.35
# Candidates reach beyond the readings by this factor.
_reach = 30.0


def starting_points(
    target: Target, *, layers: int, count: int, simpler: Floats | None = None
) -> Floats:
    """Soils to start from, always the same for the same readings.

    `count` are made besides those from the best soil with one layer less, `simpler`, each of
    whose layers is cut in two in turn. Rows of ln(resistivity) of each layer, then
    ln(thickness).

    Notes
    -----
    Candidates are Sobol' points in resistivity, from the lowest to the highest reading and
    beyond by a factor 30 for all layers that lie under others, and in depth of planes. The
    scale of each is shifted to fit the readings best, since the logarithm of the apparent
    resistivity moves with it.
    """
    low, high = target.bounds(layers)
    if layers == 1:
        return np.array([[target.observed.mean()]])
    table = _candidate_soils(target, layers)
    difference = target.model.log_resistivity(table) - target.observed
    table[:, :layers] -= difference.mean(axis=1, keepdims=True)
    table = np.clip(table, low, high)
    order = np.argsort(difference.std(axis=1), kind="stable")
    kept: list[Floats] = []
    for row in table[order]:
        if all(np.sqrt(np.mean((row - other) ** 2)) > _nearest for other in kept):
            kept.append(row)
        if len(kept) == count:
            break
    if simpler is not None:
        kept += _cut_in_two(simpler, target)
    return np.clip(np.array(kept), low, high)


def _candidate_soils(target: Target, layers: int) -> Floats:
    from scipy.stats import qmc  # takes half a second to load; most cases have no survey

    rods = target.model.rods is not None
    number = _candidates_with_rods if rods else _candidates
    points = qmc.Sobol(2 * layers - 1, scramble=False).random(number)
    lowest, highest = target.observed.min(), target.observed.max()
    resistivity = lowest + (highest - lowest) * points[:, :layers]
    stretch = (points[:, 1:layers] - 0.5) * 2 * np.log(_reach)
    resistivity[:, 1:] = np.clip(
        resistivity[:, 1:] + stretch, lowest - np.log(_reach), highest + np.log(_reach)
    )
    near, far = np.log(0.3 * target.shortest), np.log(target.longest)
    depth = np.exp(np.sort(near + (far - near) * points[:, layers:], axis=1))
    thickness = np.diff(depth, axis=1, prepend=0.0)
    thinnest = 0.05 * target.shortest
    return np.hstack([resistivity, np.log(np.maximum(thickness, thinnest))])


def _cut_in_two(simpler: Floats, target: Target) -> list[Floats]:
    """Soils with one layer more that differ from a simpler one by a plane and a contrast."""
    layers = (len(simpler) + 1) // 2
    resistivity, thickness = simpler[:layers], simpler[layers:]
    found = []
    for i in range(layers):
        for tilt in (0.5, -0.5):
            cut = np.insert(resistivity, i, resistivity[i])
            cut[i] += tilt
            cut[i + 1] -= tilt
            if i < layers - 1:
                depths = np.insert(thickness, i, thickness[i])
                depths[[i, i + 1]] -= np.log(2)
            else:
                below = 0.5 * (np.log(target.shortest) + np.log(target.longest))
                depths = np.append(thickness, below)
            found.append(np.concatenate([cut, depths]))
    return found
