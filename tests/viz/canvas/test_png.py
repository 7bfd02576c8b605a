"""PNG files of our own packing, read by another library, and the same rows in a PDF."""

import re
import zlib
from io import BytesIO

import numpy as np
import pytest
from PIL import Image
from reportlab.platypus import SimpleDocTemplate

from ohmscape.viz.canvas.png import read_png, write_png
from ohmscape.viz.report.paper_image import PackedImage


@pytest.fixture
def pixels():
    # Neither square nor flat, so that no row, column or colour can stand for another.
    return np.random.default_rng(3).integers(0, 256, (7, 11, 3)).astype(np.uint8)


def test_another_library_reads_the_same_pixels(pixels):
    file = BytesIO()
    write_png(pixels, file, dots=300 / 0.0254)
    with Image.open(file) as image:
        assert image.mode == "RGB"
        assert np.array_equal(np.asarray(image), pixels)
        # A whole number of dots to the metre.
        assert image.info["dpi"] == pytest.approx((300, 300), rel=1e-4)


def test_a_path_takes_the_same_bytes(pixels, tmp_path):
    file = BytesIO()
    write_png(pixels, file, dots=1000.0)
    write_png(pixels, tmp_path / "a.png", dots=1000.0)
    assert (tmp_path / "a.png").read_bytes() == file.getvalue()


def test_paper_holds_the_pixels_once(pixels):
    file, paper = BytesIO(), BytesIO()
    write_png(pixels, file, dots=1000.0)
    width, height, rows = read_png(file.getvalue())
    assert (width, height) == (11, 7)
    SimpleDocTemplate(paper).build([PackedImage(file.getvalue()) for _ in range(2)])
    data = paper.getvalue()
    assert data.count(rows) == 1
    assert len(re.findall(rb"/Subtype /Image", data)) == 1
    assert re.search(rb"/Predictor 15", data)
    unpacked = np.frombuffer(zlib.decompress(rows), np.uint8).reshape(7, -1)
    assert not unpacked[:, 0].any()
    assert np.array_equal(unpacked[:, 1:].reshape(7, 11, 3), pixels)
