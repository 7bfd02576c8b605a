"""Figures as wide as a page: type that can be read in print, headings that hold anything."""

from itertools import combinations

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.text import Text

from ohmscape.solver.results.variants import Comparison, Quantity
from ohmscape.viz.canvas.figures import figure_style, page_width, print_width
from ohmscape.viz.canvas.strips import Heading, Strip, axes_in, figure_of, fitted, text_width
from ohmscape.viz.field_readings.contents import Bar, ComparePicture, SeriesPanel
from ohmscape.viz.field_readings.picture import compare_strips
from ohmscape.viz.profiles import profile_figure
from ohmscape.viz.report.paper import _Press
from ohmscape.viz.report.pictures import profile_picture, section_picture
from ohmscape.viz.section.section import section_figure, section_of
from ohmscape.viz.variants import comparison_figure
from ohmscape.viz.words.vocabulary import terms


def _texts(figure):
    figure.draw_without_rendering()
    return [t for t in figure.findobj(Text) if t.get_text().strip() and t.get_visible()]


def _empty(height):
    return Strip(height, lambda part: axes_in(part, above=0.2, tall=height - 1, left=1.0))


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["profile", "section", "comparison"])
def test_type_is_65_points_or_more_at_the_width_of_print(result, kind):
    with mpl.rc_context(figure_style):
        if kind == "profile":
            figure = profile_figure(result, profile=result.profiles[0], units="SI", headed=True)
        elif kind == "section":
            figure = section_figure(result, section=section_of(result), units="SI", headed=True)
        else:
            quantity = Quantity("worst touch", "V", np.array([3.0, 2.0]), ("a", "b"))
            compared = Comparison(("as it stands", "frozen"), (quantity,) * 5)
            figure = comparison_figure(compared, title="Title")
        sizes = [text.get_fontsize() for text in _texts(figure)]
    printed = print_width / (page_width * 0.0254)
    assert min(sizes) * printed > 6.5
    # On A4 and on Letter (279 mm) there is room for it with its margins.
    assert figure.get_figheight() * 25.4 * printed < 250


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["profile", "section"])
def test_figures_of_a_page_leave_its_words_to_the_reader(result, kind):
    # Both vocabularies, of earth and of ground, are in captions; a figure has one wording.
    with mpl.rc_context(figure_style):
        if kind == "profile":
            figure = profile_figure(result, profile=result.profiles[0], units="SI")
        else:
            figure = section_figure(result, section=section_of(result), units="SI")
        said = "\n".join(text.get_text() for text in _texts(figure))
    assert "Potential" in said
    words = [word for pair in terms.values() for word in pair]
    assert [word for word in words if word in said] == []


@pytest.mark.parametrize(
    "count", [1, *(pytest.param(n, marks=pytest.mark.slow) for n in (2, 3, 6))]
)
def test_readings_of_many_series_have_room_on_a_page(count):
    one = np.array([1.0, 2.0])
    panel = SeriesPanel(
        "away from the rod beside the new road: rod over probe " * 2, "Voltage per ampere [Ω]",
        one, one, 0.1 * one, one, one, np.stack([one, one, one]), numbered=False,
    )  # fmt: skip
    bars = tuple(Bar("resistivity of layer 1", "× 0.8, " * 20, 3.0 + k) for k in range(5))
    picture = ComparePicture(
        "Title", "9 readings", "m", (panel,) * count, 9.0, bars, Bar("calibrated", "", 0.5)
    )
    with mpl.rc_context(figure_style):
        figure = figure_of(compare_strips(picture), heading=Heading("t", "n", "", "c " * 100))
        numbers = [label for axes in figure.axes for label in axes.get_xticklabels()]
        # Of ticks, those beyond the axes are kept, and not drawn.
        texts = [text for text in _texts(figure) if text not in numbers]
        boxes = [text.get_window_extent() for text in texts]
    printed = print_width / (page_width * 0.0254)
    assert min(text.get_fontsize() for text in texts) * printed > 6.5
    assert figure.get_figheight() * 25.4 * printed < 260
    page = figure.bbox
    for text, box in zip(texts, boxes, strict=True):
        assert page.x0 <= box.x0 <= box.x1 <= page.x1, text
    for (text, box), (beside, other) in combinations(zip(texts, boxes, strict=True), 2):
        across = min(box.x1, other.x1) - max(box.x0, other.x0)
        up = min(box.y1, other.y1) - max(box.y0, other.y0)
        assert min(across, up) < 4, (text, beside)


@pytest.mark.parametrize("word", ["Transformer station ", "W"])
def test_headings_stay_on_the_page_and_off_each_other(word):
    heading = Heading(word * 200, word * 200, "A note. " * 60, "A caution. " * 30)
    with mpl.rc_context(figure_style):
        figure = figure_of([Strip(3.0, lambda part: None)], heading=heading)
        boxes = [text.get_window_extent() for text in _texts(figure)]
    page = figure.bbox
    for box in boxes:
        assert page.x0 <= box.x0 <= box.x1 <= page.x1
        assert page.y0 <= box.y0 <= box.y1 <= page.y1
    for one, other in combinations(boxes, 2):
        across = min(one.x1, other.x1) - max(one.x0, other.x0)
        up = min(one.y1, other.y1) - max(one.y0, other.y0)
        assert min(across, up) < 3  # boxes hold two pixels of nothing


def test_strips_stand_below_each_other_at_their_heights():
    figure = figure_of([_empty(2.0), _empty(5.0)])
    assert tuple(figure.get_size_inches()) == pytest.approx((page_width, 7.0))
    upper, lower = (axes.get_window_extent() for axes in figure.axes)
    inches = np.array([[box.y0, box.y1, box.x0, box.x1] for box in (upper, lower)])
    expected = [[5.8, 6.8, 1.0, page_width - 0.3], [0.8, 4.8, 1.0, page_width - 0.3]]
    assert inches / figure.dpi == pytest.approx(np.array(expected), abs=0.01)


def test_a_text_is_cut_to_its_room_and_no_shorter():
    text = "Kiosk behind the workshop"
    wide = text_width(text, size=17)
    assert fitted(text, size=17, room=wide + 0.01) == text
    cut = fitted(text, size=17, room=0.5 * wide)
    assert cut.endswith(" …")
    assert 0.35 * wide < text_width(cut, size=17) <= 0.5 * wide


@pytest.mark.slow
def test_type_on_paper_is_no_smaller_than_in_pictures(result):
    press = _Press(result, None, "SI", "earth")
    press.width = 505.0
    for block in (profile_picture(result, result.profiles[0]), section_picture(result)):
        image, _ = press.block(block)
        # 12.5 points of a figure a page wide, in points of the paper.
        assert 12.5 * image.drawWidth / (72 * page_width) > 6.5
        assert image.drawHeight < 650
