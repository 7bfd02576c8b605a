"""Pictures on paper: smaller as far as their type allows, else after the words that follow."""

from io import BytesIO

import numpy as np
import pytest
from PIL import Image as Pixels
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Image, Paragraph, SimpleDocTemplate, Spacer

from ohmscape.viz.report.paper_flow import with_pictures_fitted

_style = ParagraphStyle("text", leading=12)


def _image(*, high: float, least: float) -> Image:
    file = BytesIO()
    Pixels.fromarray(np.zeros((4, 4, 3), dtype=np.uint8)).save(file, "png")
    image = Image(file, width=200.0, height=high)
    image.least = least
    image.keepWithNext = 1
    return image


def laid(before: float, *, high: float, least: float, words: int) -> list[tuple[str, int]]:
    """What was set and on which page, below so much of 600 points; and the picture's height."""
    heading = Paragraph("heading", _style)
    heading.keepWithNext = 1
    image = _image(high=high, least=least)
    section = [heading, image, Paragraph("caption", _style)]
    section += [Paragraph(f"word {k}", _style) for k in range(words)]
    found = []

    class Watched(SimpleDocTemplate):
        def afterFlowable(self, flowable):  # noqa: N802 - reportlab calls it
            if isinstance(flowable, Paragraph):
                found.append((flowable.text, self.page))
            elif isinstance(flowable, Image):
                found.append((f"{flowable.drawHeight:.0f}", self.page))

    size = {"pagesize": (412, 612), "topMargin": 0, "bottomMargin": 0}
    document = Watched(BytesIO(), leftMargin=0, rightMargin=0, **size)
    document.build([Spacer(1, before), *with_pictures_fitted(section)])
    return found


def test_a_picture_that_fits_stays_as_it_is():
    assert laid(100, high=300, least=0.9, words=1) == [
        ("heading", 1), ("300", 1), ("caption", 1), ("word 0", 1),
    ]  # fmt: skip


def test_a_picture_is_made_smaller_where_little_is_missing():
    heading, image, caption = laid(300, high=290, least=0.9, words=0)
    assert (heading, caption) == (("heading", 1), ("caption", 1))
    assert image[1] == 1
    assert 0.9 * 290 <= float(image[0]) < 290


@pytest.mark.parametrize("words", [1, 3])
def test_words_come_before_a_picture_that_has_no_room(words):
    found = laid(300, high=400, least=0.9, words=words)
    assert found[0] == ("heading", 1)
    assert found[1 : 1 + words] == [(f"word {k}", 1) for k in range(words)]
    assert found[1 + words :] == [("400", 2), ("caption", 2)]


def test_heading_picture_and_caption_go_on_where_nothing_else_follows():
    assert laid(300, high=400, least=0.9, words=0) == [
        ("heading", 2), ("400", 2), ("caption", 2),
    ]  # fmt: skip


def test_a_heading_is_not_left_alone_at_the_foot_of_a_page():
    found = laid(585, high=400, least=0.9, words=2)
    assert {page for _, page in found} == {2}
