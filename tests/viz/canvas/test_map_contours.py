"""Contours of maps: outlines that paper and page fill show what the cells of a sheet show."""

import numpy as np
import pytest
from matplotlib.path import Path as Outline

from ohmscape.viz.maps.surface_maps import surface_maps


@pytest.mark.parametrize("key", ["potential", "touch0", "touch1", "step", "share0", "share1"])
def test_outlines_hold_what_reaches_their_level(result, key):
    shown = surface_maps(result)[key].contours
    span = np.ptp(np.asarray(shown.mesh.points)[:, :2], axis=0).max()
    cells = shown.bands.extract_surface(algorithm="dataset_surface").triangulate()
    corners = np.asarray(cells.points)[cells.regular_faces][:, :, :2]
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2)
    middle, band = corners.mean(axis=1), np.asarray(cells.cell_data["Scalars"]).astype(int)
    first = shown.rings[0].band
    assert {ring.band - first for ring in shown.rings} <= set(range(shown.levels.bands))
    # Outlines are thinned by a thousandth of the map: cells as small lie on either side.
    large = sides.min(axis=1) > 0.01 * span
    assert large.sum() > 50
    for level in range(shown.levels.bands):
        within = np.zeros(len(middle), dtype=int)
        for ring in shown.rings:
            if ring.band - first != level:
                continue
            x, y = ring.points.T
            turn = np.sign(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
            closed = np.concatenate([ring.points, ring.points[:1]])
            within += int(turn) * Outline(closed).contains_points(middle)
        assert (within[large] == (band[large] >= level)).mean() > 0.995


def test_maps_are_made_once_for_all_that_draw_them(result):
    assert surface_maps(result)["step"].contours is surface_maps(result)["step"].contours
