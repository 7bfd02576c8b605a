"""Soil that decides the resistance: the power drawn is that of the shares that are printed."""

from dataclasses import replace

import matplotlib as mpl
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.run import run_case
from ohmscape.solver.results.storage import load, save
from ohmscape.viz.canvas.figures import figure_style
from ohmscape.viz.drawing import section_pictures
from ohmscape.viz.report.sections.soil_shares import soil_shares_section
from ohmscape.viz.report.terminal_lines import section_lines
from ohmscape.viz.section.deciding import deciding_soil, power_density
from ohmscape.viz.section.section import section_figure, section_of
from ohmscape.viz.terminal.summary import summary

_case = """
ohmscape: 1
title: A rod in two layers
units: {units}
soil:
  layers:
    - {{resistivity: 150 ohm*m, thickness: 1.1 m}}
    - {{resistivity: 60 ohm*m}}
electrodes:
  - name: post
    drive: {{current: 11 A}}
    parts:
      - {{kind: rod, name: rod, at: [0 m, 0 m], top_depth: 0 m, length: 2 m, diameter: 18 mm}}
study: {{soil_shares: true, area: {{margin: 2 m}}}}
numerics: {{accuracy: normal}}
"""


@pytest.fixture(scope="module")
def rod():
    return run_case(load_case_text(_case.format(units="SI")))


def test_power_over_a_layer_is_its_share_of_the_resistance(rod):
    """∫ 2πr over rings round the rod, out to where the field is that of a point."""
    r = np.geomspace(0.009, 25.0, 160)
    z = -np.concatenate([np.linspace(0.005, 1.095, 45), np.linspace(1.105, 2.4, 60)])
    z = np.concatenate([z, -np.geomspace(2.42, 25.0, 40)])
    radius, height = np.meshgrid(r, z, indexing="ij")
    points = np.column_stack([radius.ravel(), np.zeros(radius.size), height.ravel()])
    density = power_density(rod, points).reshape(radius.shape)
    of_ring = np.trapezoid(2 * np.pi * radius * density, r, axis=0)
    above = z > -1.1
    # In the ends of the layer between the samples and its faces it is as beside them.
    upper = -np.trapezoid(of_ring[above], z[above]) * 1.1 / 1.09
    lower = -np.trapezoid(of_ring[~above], z[~above])
    # Beyond the cylinder the field is a point's: ρ / 4π² ∫ dΩ / R with R = 25 m over the
    # larger of sine and cosine, by hand (1/2 + π/8) ρ / (2π 25 m).
    beyond = (0.5 + np.pi / 8) * 60 / (2 * np.pi * 25) / rod.resistance(0)
    shares = rod.soil_shares.layers[0]
    assert_allclose(upper, shares[0], rtol=0.02)
    assert_allclose(lower + beyond, shares[1], rtol=0.02)


def test_drawn_samples_are_capped_where_metal_takes_more(rod):
    section = section_of(rod)
    shown = deciding_soil(rod, units="SI")
    true = power_density(rod, section.plane.points(section.samples.flat))
    capped = shown.values < true
    assert 0 < section.samples.weights[capped].sum() < 0.006 * section.samples.weights.sum()
    assert_allclose(shown.values[~capped], true[~capped])
    assert shown.highest == "or more"


def test_feet_show_the_share_of_a_cubic_foot(rod):
    section = section_of(rod)
    metres, feet = (deciding_soil(rod, units=units) for units in ("SI", "US"))
    assert_allclose(feet.unit.factor, 0.3048**3 * metres.unit.factor)
    with mpl.rc_context(figure_style):
        figure = section_figure(rod, section=section, units="US", shown=feet, headed=True)
    written = " ".join(text.get_text() for text in figure.findobj(mpl.text.Text))
    assert "%/ft³" in written
    assert "where the resistance comes from" in written
    assert "or more" in written


def test_shares_are_told_drawn_and_kept(rod, tmp_path):
    assert "deciding-soil.png" in [name for name, _ in section_pictures(rod)]
    text = summary(rod)
    assert "Which soil the ground resistance comes from" in text
    upper = f"{100 * rod.soil_shares.layers[0, 0]:.1f} %"
    assert upper in text
    save(rod, tmp_path / "result.npz")
    kept = load(tmp_path / "result.npz")
    assert_allclose(kept.soil_shares.layers, rod.soil_shares.layers)


def test_nobody_asked_nothing_is_said(result):
    assert result.soil_shares is None
    assert soil_shares_section([result]) is None
    assert "deciding-soil.png" not in [name for name, _ in section_pictures(result)]


def test_coverings_have_a_column_only_where_there_are_any(rod):
    lines = "\n".join(section_lines(soil_shares_section([rod]), units="SI"))
    assert "coating" not in lines
    covered = replace(rod, soil_shares=replace(rod.soil_shares, coverings=np.array([0.125])))
    lines = "\n".join(section_lines(soil_shares_section([covered]), units="SI"))
    assert "12.5 %" in lines
    assert "coating" in lines
