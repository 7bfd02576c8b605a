"""Pictures of the ground, made by another library, laid where their world files say."""

import struct
import zlib
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from ohmscape.cases.loading import case_from
from ohmscape.cases.reading import size_limits
from ohmscape.solver.errors import BudgetError, CaseError

SITE = {"epsg": 25832, "origin": ["452310 m", "5411220 m"], "rotation": "30 deg"}
ROWS, COLUMNS, PIXEL = 90, 120, 0.5
SPOT = (40, 70)  # row and column of the middle of what is black


def ground(mode="L"):
    """White with a black spot of seven pixels."""
    pixels = np.full((ROWS, COLUMNS), 255, dtype=np.uint8)
    row, column = SPOT
    pixels[row - 3 : row + 4, column - 3 : column + 4] = 0
    return Image.fromarray(pixels).convert(mode)


def saved(image, kind):
    file = BytesIO()
    image.save(file, format=kind)
    return file.getvalue()


def world(a, d, b, e, x, y):
    return "\n".join(repr(float(value)) for value in (a, d, b, e, x, y)) + "\n"


@pytest.fixture
def load(content, tmp_path):
    def build(data=None, text=None, *, name="ground.png", beside="ground.pgw", **block):
        if data is not None:
            (tmp_path / name).write_bytes(data)
        if text is not None:
            (tmp_path / beside).write_text(text)
        more = block.pop("more", {})
        picture = {"file": name, "coordinates": "case", **block}
        study = {"area": {"corner": ["-20 m", "-15 m"], "size": ["40 m", "30 m"]}}
        return case_from(content(ground_picture=picture, study=study, **more), folder=tmp_path)

    return build


NORTH_UP = (PIXEL, 0.0, 0.0, -PIXEL)
CORNER = (-30.0, 22.0)  # middle of the first pixel in the case


def spot_at(a, d, b, e, x, y):
    row, column = SPOT
    return np.array([x + a * column + b * row, y + d * column + e * row])


def assert_black_there(picture, place):
    """A spot is black in its middle and gone two of its sizes off in each direction."""
    away = 2.5 * 3.5 * PIXEL * np.array([(1, 0), (-1, 0), (0, 1), (0, -1)])
    middle = picture.at(place[:1], place[1:])[0, 0]
    assert middle < 20
    for step in away:
        x, y = place + step
        assert picture.at(np.array([x]), np.array([y]))[0, 0] > 235


@pytest.mark.parametrize(
    ("kind", "name", "beside", "mode"),
    [
        ("PNG", "ground.png", "ground.pgw", "RGB"),
        ("PNG", "ground.png", "ground.wld", "P"),
        ("JPEG", "ground.jpg", "ground.jgw", "L"),
        ("TIFF", "ground.tif", "ground.tfw", "RGB"),
        ("TIFF", "ground.tiff", "ground.tiffw", "CMYK"),
    ],
)
def test_a_picture_lies_where_its_world_file_says(load, kind, name, beside, mode):
    numbers = (*NORTH_UP, *CORNER)
    case = load(saved(ground(mode), kind), world(*numbers), name=name, beside=beside)
    picture = case.ground_picture
    assert (picture.low, picture.high) == ((-20.0, -15.0), (20.0, 15.0))
    assert_black_there(picture, spot_at(*numbers))
    assert dict(case.source.tables)[name] == picture.sha256
    assert case.drawn == (("picture", picture.words),)


def test_a_turned_picture_is_turned_back(load):
    angle = np.radians(25)
    a, d = PIXEL * np.cos(angle), PIXEL * np.sin(angle)
    numbers = (a, d, d, -a, -38.0, 2.0)
    case = load(saved(ground(), "PNG"), world(*numbers))
    assert_black_there(case.ground_picture, spot_at(*numbers))


def test_a_picture_in_the_system_of_the_site_lies_there(load):
    """The case is turned by 30 degrees: by hand, x along (cos, sin) of easting, northing."""
    east, north = 452310.0 - 30, 5411220.0 + 22
    numbers = (*NORTH_UP, east, north)
    case = load(
        saved(ground(), "PNG"), world(*numbers), coordinates="site", more={"site": SITE}
    )
    off = spot_at(*numbers) - (452310, 5411220)
    cosine, sine = np.cos(np.pi / 6), np.sin(np.pi / 6)
    place = np.array([cosine * off[0] + sine * off[1], -sine * off[0] + cosine * off[1]])
    assert_black_there(case.ground_picture, place)


def test_a_fine_picture_is_averaged_not_sampled(load):
    """Pixels of 1 cm in black and white by turns are grey, however few of them are kept."""
    pixels = np.indices((3000, 4000)).sum(axis=0) % 2 * 255
    image = Image.fromarray(pixels.astype(np.uint8))
    case = load(saved(image, "PNG"), world(0.01, 0, 0, -0.01, -20.0, 15.0))
    grey = case.ground_picture.grey
    assert max(grey.shape) <= 1200
    # Of nine pixels, four or five are white.
    assert np.abs(grey[5:-5, 5:-5].astype(float) - 127.5).max() < 255 / 18 + 1


def test_what_is_clear_is_white(load):
    image = Image.new("RGBA", (COLUMNS, ROWS), (0, 0, 0, 0))
    case = load(saved(image, "PNG"), world(*NORTH_UP, *CORNER))
    assert (case.ground_picture.grey == 255).all()


def bomb(side):
    """A picture that says how large it would be, and holds next to nothing."""
    head = struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)
    parts = [(b"IHDR", head), (b"IDAT", zlib.compress(bytes(9))), (b"IEND", b"")]
    found = b"\x89PNG\r\n\x1a\n"
    for name, data in parts:
        found += struct.pack(">I", len(data)) + name + data
        found += struct.pack(">I", zlib.crc32(name + data))
    return found


GOOD = world(*NORTH_UP, *CORNER)


@pytest.mark.parametrize(
    ("data", "text", "block", "words"),
    [
        (None, GOOD, {}, "'ground.png' is no file"),
        (b"no picture at all", GOOD, {}, "is no picture that is read here"),
        (saved(ground(), "GIF"), GOOD, {}, "save it as PNG, JPEG or TIFF"),
        (saved(ground(), "PNG")[:90], GOOD, {}, "is damaged or cut short"),
        (saved(ground(), "PNG"), None, {}, "no world file beside it .*ground.pgw"),
        (saved(ground(), "PNG"), None, {"world_file": "a.pgw"}, "'a.pgw' is no file"),
        (saved(ground(), "PNG"), "1 2 3", {}, "'ground.pgw' is no world file: six numbers"),
        (saved(ground(), "PNG"), world(*NORTH_UP, 1, float("nan")), {}, "is no world file"),
        (saved(ground(), "PNG"), world(1, 0, 2, 0, 0, 0), {}, "pixels without area"),
        (saved(ground(), "PNG"), world(*NORTH_UP, 9000, 22), {}, "lies .* from the metal"),
        (saved(ground(), "PNG"), GOOD, {"coordinates": "site"}, "'site', which the case"),
        (saved(ground("I;16"), "PNG"), GOOD, {}, "save it with 8 bits"),
        (saved(ground(), "PNG"), GOOD, {"file": "../ground.png"}, "outside the folder"),
    ],
)
def test_pictures_that_cannot_lie_there_are_refused(load, data, text, block, words):
    with pytest.raises(CaseError, match=words) as caught:
        load(data, text, **block)
    assert "ground_picture" in str(caught.value)


@pytest.mark.parametrize("side", [9_000, 40_000])
def test_the_size_is_looked_at_before_a_picture_is_unpacked(load, side):
    with pytest.raises(BudgetError, match="more than the 60,000,000 that are read"):
        load(bomb(side), GOOD)


def test_files_that_are_too_long_are_not_read(load, monkeypatch):
    monkeypatch.setattr("ohmscape.cases.site.picture.LARGEST_PICTURE", 100)
    assert size_limits.LARGEST_PICTURE == 100_000_000
    with pytest.raises(BudgetError, match="at most 100 are read"):
        load(saved(ground(), "PNG"), GOOD)
