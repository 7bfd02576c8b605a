"""Touch maps say where the soil is above the metal."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial import cKDTree

from ohmscape.viz.canvas.sheet import Sheet
from ohmscape.viz.maps.maps import draw_map
from ohmscape.viz.maps.plans import touch_map


def metal_less_soil(result, metal, places):
    field = result.field
    voltage = field.voltage[metal.group]
    return field.on_side_of_rise(voltage - field.surface_potential(np.asarray(places)))


def at_voltage(result, metal, voltage):
    """The result with the group of a metal at another voltage. [V]"""
    voltages = np.array(result.operating.voltage, dtype=float)
    voltages[metal.group] = voltage
    return replace(result, operating=replace(result.operating, voltage=voltages))


@pytest.fixture
def tap(result):
    return result.metals[1]


def test_the_line_is_where_soil_and_metal_are_alike_and_ticks_point_to_the_higher_soil(
    result, tap
):
    # A floating rod: the soil between it and the feeder is above it.
    plan = touch_map(result, metal=tap)
    line = plan.above.line
    largest = np.abs(metal_less_soil(result, tap, plan.places)).max()
    gap = cKDTree(line.mean(axis=1)).query(line[:, 0])[0]
    ticks = gap < 1e-9  # they begin in the middle of a piece
    assert ticks.sum() >= 3
    on_it = line[~ticks].reshape(-1, 2)
    assert np.abs(metal_less_soil(result, tap, on_it)).max() < 0.02 * largest
    ends = metal_less_soil(result, tap, line[ticks][:, 1])
    assert (ends < metal_less_soil(result, tap, line[ticks][:, 0])).all()
    assert tap.within_reach(on_it).mean() > 0.95


def test_metal_above_all_soil_has_no_line(result):
    assert touch_map(result, metal=result.metals[0]).above is None


def test_soil_above_the_metal_everywhere_is_said_in_words(result, tap, tmp_path, monkeypatch):
    texts, write = [], Sheet.text

    def spy(sheet, at, text, **options):
        texts.append(text)
        return write(sheet, at, text, **options)

    dead = at_voltage(result, tap, -50.0)
    plan = touch_map(dead, metal=tap)
    assert not len(plan.above.line)
    monkeypatch.setattr(Sheet, "text", spy)
    draw_map(dead, plan=plan, path=tmp_path / "touch.png")
    assert "the soil is above 'tap' everywhere here" in " ".join(texts)
