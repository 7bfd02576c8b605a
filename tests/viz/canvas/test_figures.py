"""Pictures drawn into a folder, each in both kinds."""

from ohmscape.viz.canvas.figures import draw_all, in_both_kinds
from ohmscape.viz.canvas.sheet import Sheet


def test_each_picture_is_drawn_as_png_and_svg_and_told_before(tmp_path):
    told = []

    def drawing(word):
        def draw(*, path):
            assert told[-1][0] == path.name  # said before it is drawn
            path.write_text(word)

        return draw

    pictures = in_both_kinds([("front", drawing("a")), ("steps", drawing("b"))])
    files = draw_all(
        pictures, tmp_path, progress=lambda name, share: told.append((name, share))
    )
    assert [path.name for path in files] == ["front.png", "front.svg", "steps.png", "steps.svg"]
    assert [path.read_text() for path in files] == ["a", "a", "b", "b"]
    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert shares[0] == 0.0


def test_no_pictures_are_no_files(tmp_path):
    assert draw_all([], tmp_path) == []


def test_letters_that_the_font_has_not_are_boxes_and_no_warning():
    sheet = Sheet((300, 60))
    box = sheet.text((10, 20), "電所 Ω")  # warnings are errors here
    seen = sheet.pixels()[:, int(box.left) : int(box.right)]
    assert (seen.min(axis=(0, 2)) < 128).mean() > 0.4
