"""Pictures and tables of soundings: what is on them, where, and that they stay the same."""

import csv
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from PIL import Image

from ohmscape.solver.model import Soil
from ohmscape.solver.soil_survey import (
    DrivenRodReadings,
    FourPinReadings,
    Sounding,
    Survey,
    Traverse,
    apparent_resistivity,
    fit_survey,
    four_pin_resistance,
    layered_rod_resistance,
)
from ohmscape.viz.canvas.figures import figure_style
from ohmscape.viz.soil_survey.contents import LayerRange
from ohmscape.viz.soil_survey.curves import curve_of
from ohmscape.viz.soil_survey.from_sounding import misfit_text, soil_text, sounding_picture
from ohmscape.viz.soil_survey.layers import draw_layers
from ohmscape.viz.soil_survey.panels import draw_curves, draw_key, draw_residuals, log_ticks
from ohmscape.viz.soil_survey.picture import curve_figure, draw_sounding, layer_figure
from ohmscape.viz.soil_survey.tables import write_sounding_tables

SOIL = Soil((310.0, 45.0), (1.7,))
LONG = "a traverse with a name far too long for any key beside it"
# Wenner on two traverses, then unequal distances on a third; a reading of the first is wrong.
A = np.geomspace(0.5, 20.0, 8)
PINS = np.vstack(
    [a * np.arange(4.0) for a in (*A, *A)] + [[-b, -b / 9, b / 9, b] for b in (3.0, 9.0, 27.0)]
)
TRAVERSE = [0] * 8 + [1] * 8 + [2] * 3
WRONG = 4


def survey(*, rods=True):
    ohms = four_pin_resistance(PINS, soil=SOIL)
    ohms *= 1 + 0.01 * np.sin(np.arange(len(ohms)))
    ohms[WRONG] *= 1.9
    lengths = np.array([0.6, 1.2, 2.4])
    driven = layered_rod_resistance(lengths, radius=0.008, soil=SOIL)
    return Survey(
        (Traverse("along"), Traverse(LONG), Traverse("depth"), Traverse("rod")),
        four_pin=FourPinReadings.collinear(PINS, resistance=ohms, traverse=TRAVERSE),
        driven_rod=DrivenRodReadings.single(
            lengths, radius=0.008, resistance=driven, traverse=3
        )
        if rods
        else None,
    )


@pytest.fixture(scope="module")
def sounding():
    fit = fit_survey(survey(), most_layers=2, robust=True)
    return Sounding.of(
        fit,
        layers=2,
        equivalents=fit.best.equivalents(3),
        warnings=("mind this",),
        file="f.csv",
    )


@pytest.fixture(scope="module")
def picture(sounding):
    return sounding_picture(sounding, title="Meadow: soil survey", units="US")


@pytest.fixture
def axes():
    import matplotlib as mpl
    from matplotlib.figure import Figure

    with mpl.rc_context(figure_style):
        yield Figure(figsize=(10, 10)).add_axes((0.2, 0.3, 0.6, 0.6))


def test_the_picture_shows_what_was_read_and_fitted(picture, sounding):
    assert picture.names == sounding.survey.names
    assert picture.outlier.tolist() == [k == WRONG for k in range(22)]
    assert (
        picture.subtitle
        == f"2 layers fitted to 22 readings, misfit {misfit_text(sounding.chosen)}"
    )
    assert "with 1 outlier)" in picture.subtitle
    # The wrong reading is 1.9 times too high, give or take 1 % and the fit.
    assert_allclose(np.exp(picture.residual[WRONG]), 1.9, rtol=0.03)
    assert [curve.name.split(" (")[0] for curve in picture.curves] == [
        "2 layers",
        "uniform soil",
    ]
    assert "chosen, supported" in picture.curves[0].name
    assert len(picture.equivalents) == 3


def test_curves_go_through_what_the_soil_gives_at_the_readings():
    made = survey()
    curve = curve_of(made, soil=SOIL, name="x")
    known = ~np.isnan(curve.spacing)
    # One piece for all equal distances, one for the third traverse, one for the rod.
    assert (~known).sum() == 2
    exact = apparent_resistivity(PINS, soil=SOIL)
    for spacing, value in zip(made.four_pin.spacing, exact, strict=True):
        near = np.abs(np.log(curve.spacing[known] / spacing)) < 0.06
        there = curve.apparent_resistivity[known][near]
        # The curve falls by at most its spacing; two pieces may pass by.
        assert np.abs(np.log(there / value)).min() < 0.06
    assert (curve.apparent_resistivity[known] < 320).all()


def test_readings_of_each_traverse_have_a_shape_and_outliers_a_cross(picture, axes):
    draw_curves(axes, picture)
    marks = [line for line in axes.lines if line.get_marker() not in ("None", None)]
    shapes = {line.get_marker() for line in marks}
    assert len(shapes) == 5
    assert sum(len(line.get_xdata()) for line in marks if line.get_marker() != "x") == 22
    (cross,) = [line for line in marks if line.get_marker() == "x"]
    # Feet in a US picture.
    assert_allclose(cross.get_xdata(), [A[WRONG] / 0.3048])
    assert axes.get_xscale() == axes.get_yscale() == "log"
    low, high = axes.get_ylim()
    assert low < picture.apparent_resistivity.min() < picture.apparent_resistivity.max() < high


def test_an_outlier_does_not_squeeze_the_other_residuals(picture, axes):
    draw_residuals(axes, picture)
    low, high = axes.get_ylim()
    assert -low == high < 10
    (cross,) = [line for line in axes.lines if line.get_marker() == "x"]
    assert 0.5 * high < cross.get_ydata()[0] < high
    assert any(
        text.get_text() == f"+{100 * np.expm1(picture.residual[WRONG]):.0f} %"
        for text in axes.texts
    )


def test_the_key_names_curves_traverses_and_outliers_without_running_over(picture, axes):
    draw_key(axes, picture)
    words = [text.get_text() for text in axes.get_legend().get_texts()]
    assert len(words) == 2 + 4 + 1
    assert words[-1] == "does not fit with the others"
    assert max(map(len, words)) < 40
    assert "rod (driven rod)" in words


def test_a_key_of_many_traverses_says_how_many_are_left_out(axes):
    count = 14
    pins = np.vstack([a * np.arange(4.0) for a in (1.0, 3.0)] * count)
    many = Survey(
        tuple(Traverse(f"t{k}") for k in range(count)),
        four_pin=FourPinReadings.collinear(
            pins,
            apparent_resistivity=[90.0] * 2 * count,
            traverse=np.repeat(np.arange(count), 2),
        ),
    )
    found = Sounding.of(fit_survey(many, most_layers=1), layers=1)
    draw_key(axes, sounding_picture(found, title="t", units="SI"))
    words = [text.get_text() for text in axes.get_legend().get_texts()]
    assert words[-1] == "and 4 more traverses"


def test_layers_are_written_beside_the_column_and_do_not_overlap(picture, axes):
    draw_layers(axes, picture, height=7.6)
    words = [text.get_text() for text in axes.texts]
    assert words[0].startswith("31")
    assert " Ω·m\n" in words[0]
    assert words[1].startswith("— 5.")  # 1.7 m in feet
    places = sorted(text.get_position()[1] for text in axes.texts)
    assert np.diff(places).min() > 0.04
    assert all(0 < place < 1 for place in places)
    assert axes.get_ylim()[0] > 1.7 / 0.3048 > axes.get_ylim()[1]


def test_many_thin_layers_keep_their_texts_in_order(axes):
    soil = Soil((10.0, 20.0, 10.0, 20.0, 10.0, 20.0), (0.1, 0.1, 0.1, 0.1, 9.0))
    fit = fit_survey(survey(rods=False), most_layers=1)
    base = sounding_picture(Sounding.of(fit, layers=1), title="t", units="SI")
    known, loose = LayerRange(9.0, 11.0, True), LayerRange(1e-3, 1e3, False)
    crowded = replace(
        base, soil=soil, resistivity_range=(known, loose) * 3, depth_range=(loose,) * 5
    )
    draw_layers(axes, crowded, height=7.6)
    places = [text.get_position()[1] for text in axes.texts]
    assert len(places) == 11
    assert places == sorted(places, reverse=True)
    assert 0 < min(places) < max(places) < 1
    assert sum("not resolved" in text.get_text() for text in axes.texts) == 8


@pytest.mark.parametrize("span", [1.6, 3.0, 40.0, 1e4, 1e7])
def test_an_axis_has_some_ticks_and_not_too_many(axes, span):
    axes.set_xscale("log")
    axes.set_xlim(130.0, 130.0 * span)
    log_ticks(axes.xaxis, 130.0, 130.0 * span)
    ticks = axes.xaxis.get_ticklocs()
    assert 3 <= len(ticks) <= 9
    assert axes.xaxis.get_major_formatter()(2e4, 0) == "20 k"
    assert axes.xaxis.get_major_formatter()(3e6, 0) == "3 M"


def test_the_same_sounding_gives_the_same_files(picture, tmp_path):
    for ending in ("png", "svg"):
        one, two = (
            draw_sounding(picture, path=tmp_path / f"{name}.{ending}").read_bytes()
            for name in ("one", "two")
        )
        assert one == two
    with Image.open(tmp_path / "one.png") as image:
        assert image.width == 2000
    text = (tmp_path / "one.svg").read_text(encoding="utf-8")
    assert text.count("<svg") == 1


def test_tables_hold_readings_and_models(sounding, tmp_path):
    files = write_sounding_tables(sounding, tmp_path, title="Meadow")
    assert [path.name for path in files] == ["soil-readings.csv", "soil-models.csv"]
    tables = []
    for path in files:
        lines = path.read_text(encoding="utf-8").splitlines()
        assert "# mind this" in lines
        tables.append(list(csv.DictReader(x for x in lines if not x.startswith("#"))))
    readings, models = tables
    assert [row["outlier"] for row in readings] == [
        "yes" if k == WRONG else "no" for k in range(22)
    ]
    assert_allclose(float(readings[0]["pin 4 [m]"]), 1.5)
    assert readings[-1]["pin 1 [m]"] == ""
    assert_allclose(float(readings[-1]["driven length [m]"]), 2.4)
    assert_allclose(float(readings[-1]["diameter [mm]"]), 16.0)
    values = np.array([float(row["fitted [ohm*m]"]) for row in readings])
    # Written to nine figures.
    assert_allclose(values, sounding.chosen.apparent_resistivity, rtol=1e-8)
    assert [(row["layers"], row["quantity"]) for row in models] == [
        ("1", "resistivity"), ("2", "resistivity"), ("2", "thickness"), ("2", "resistivity"),
    ]  # fmt: skip
    assert [row["chosen"] for row in models] == ["no", "yes", "yes", "yes"]


def test_layers_in_words():
    assert (
        soil_text(Soil((310.0, 45.0), (1.7,)), units="SI")
        == "310 Ω·m, 1.70 m thick, over 45.0 Ω·m"
    )
    assert soil_text(Soil((2e4,)), units="US") == "20.0 kΩ·m"


@pytest.fixture
def crowded(picture):
    """Six layers, three of them not resolved, in the picture of two."""
    soil = Soil((10.0, 20.0, 30.0, 40.0, 50.0, 60.0), (0.1, 0.1, 0.1, 0.1, 30.0))
    known, loose = LayerRange(9.0, 11.0, True), LayerRange(1e-3, 1e3, False)
    return replace(
        picture, soil=soil, resistivity_range=(known, loose) * 3, depth_range=(loose,) * 5
    )


@pytest.mark.parametrize("many", [False, True])
@pytest.mark.parametrize("figure_of", [curve_figure, layer_figure])
def test_pictures_of_a_page_hold_all_their_text(picture, crowded, figure_of, many):
    import matplotlib as mpl
    from matplotlib.text import Text

    picture = crowded if many else picture
    with mpl.rc_context(figure_style):
        figure = figure_of(picture)
        figure.draw_without_rendering()
        texts = [t for t in figure.findobj(Text) if t.get_text().strip() and t.get_visible()]
        boxes = [Text.get_window_extent(text) for text in texts]
    said = " ".join(text.get_text() for text in texts)
    assert ("Apparent resistivity" if figure_of is curve_figure else "Depth [ft]") in said
    page = figure.bbox
    for text, box in zip(texts, boxes, strict=True):
        assert box.x0 >= 0, text
        assert box.y0 >= 0, text
        assert box.x1 <= page.x1, text
        assert box.y1 <= page.y1, text
    for (text, one), (beside, other) in combinations(zip(texts, boxes, strict=True), 2):
        across = min(one.x1, other.x1) - max(one.x0, other.x0)
        up = min(one.y1, other.y1) - max(one.y0, other.y0)
        assert min(across, up) < 3, (text, beside)  # boxes hold two pixels of nothing
