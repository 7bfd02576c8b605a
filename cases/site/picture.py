"""A picture of the ground, aerial or scanned, laid on the plan by a world file."""

import hashlib
import math
import warnings
from dataclasses import dataclass, field
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image, UnidentifiedImageError
from shapely.geometry import MultiPoint, Polygon

from ...solver.errors import BudgetError, CaseError
from ...solver.ground_picture import GroundPicture
from ...solver.model import Conductors, Floats
from ...solver.plan_place import PlanPlace
from ..reading.beside import content_beside
from ..reading.documents import Document, decoded
from ..reading.size_limits import LARGEST_PICTURE, MOST_PIXELS
from . import schema

_path = ("ground_picture",)
_finest = 1200  # pixels of the longer side of what lies under a map
_kinds = ("PNG", "JPEG", "TIFF")
_modes = ("1", "L", "LA", "P", "PA", "RGB", "RGBA", "CMYK", "YCbCr")
_numbers = 6  # of a world file


@dataclass(frozen=True)
class PlacedPicture:
    """A picture of the ground as it was read.

    Attributes
    ----------
    file, sha256 : str
    size : (int, int)
        Columns and rows of its file.
    image : PIL.Image.Image
        In grey.
    corner : ndarray of float, shape (2,)
        Place in the case of the upper left corner of the upper left pixel. [m]
    sides : ndarray of float, shape (2, 2)
        Steps in the case from one column, and one row, to the next, in columns. [m]
    """

    file: str
    sha256: str
    size: tuple[int, int]
    image: Any = field(compare=False)
    corner: Floats = field(compare=False)
    sides: Floats = field(compare=False)

    @property
    def outline(self) -> Floats:
        """Its corners in the case, shape (4, 2). [m]"""
        wide, high = self.size
        ends = np.array([(0, 0), (wide, 0), (wide, high), (0, high)], dtype=float)
        return np.asarray(self.corner + ends @ self.sides.T)

    def under(
        self, low: tuple[float, float], high: tuple[float, float], *, conductors: Conductors
    ) -> GroundPicture:
        """What of it lies in a rectangle, turned to the axes of the case.

        `CaseError` if it shows nothing of the ground over the metal.
        """
        self._refuse_far(conductors)
        pixel = float(np.sqrt(abs(np.linalg.det(self.sides))))
        span = np.subtract(high, low)
        step = max(float(span.max()) / _finest, pixel)
        count = np.maximum(1, np.round(span / step)).astype(int)
        # Means of blocks first: a pixel of the map then stands for all below it.
        block = max(1, math.floor(step / pixel))
        image = self.image.reduce(block) if block > 1 else self.image
        own = np.linalg.inv(self.sides) / block
        column, row = span / count
        start = own @ (np.array([low[0], high[1]]) - self.corner)
        (a, b), (d, e) = own @ np.diag([column, -row])
        grey = image.transform(
            (int(count[0]), int(count[1])),
            Image.Transform.AFFINE,
            (a, b, start[0], d, e, start[1]),
            resample=Image.Resampling.BILINEAR,
            fillcolor=255,
        )
        words = (
            f"{self.file} (SHA-256 {self.sha256[:16]}…): {self.size[0]:,} by "
            f"{self.size[1]:,} pixels of {pixel:.3g} m under the maps"
        )
        return GroundPicture(
            self.file, self.sha256, np.array(grey, dtype=np.uint8), low, high, words
        )

    def _refuse_far(self, conductors: Conductors) -> None:
        ends = np.concatenate([conductors.start, conductors.end])[:, :2]
        shown, metal = Polygon(self.outline), MultiPoint(ends).envelope
        if shown.intersects(metal):
            return
        x, y = self.outline.mean(axis=0)
        msg = (
            f"{self.file} lies {shown.distance(metal):,.0f} m from the metal of the case: its "
            f"middle is ({x:,.0f}, {y:,.0f}) m of the case; check 'coordinates', the world "
            "file, and the origin and rotation of what they go by"
        )
        raise CaseError(msg)


def placed_picture(
    given: schema.GroundPicture,
    *,
    plan: PlanPlace | None,
    folder: Path | None,
    document: Document,
) -> PlacedPicture:
    """The picture of the ground of a case.

    Parameters
    ----------
    plan : PlanPlace or None
        How the case lies in the coordinates of the world file; None where there are none.

    Raises
    ------
    CaseError
        If a file is missing, is none of the kinds taken, is damaged, or places nothing.
    BudgetError
        If the picture is larger than is read; its size is looked at before it is unpacked.
    """
    if plan is None:
        msg = (
            f"are those of the '{given.coordinates}', which the case does not have; give the "
            f"case a '{given.coordinates}', or a picture in metres of the case itself"
        )
        raise CaseError([document.problem(msg, path=(*_path, "coordinates"))])
    content = content_beside(
        given.file, folder=folder, document=document, path=_path, most=LARGEST_PICTURE
    )
    try:
        image = _grey(content)
    except CaseError as error:
        found = document.problem(f"{given.file!r} {error}", path=(*_path, "file"))
        raise type(error)([found]) from error
    corner, sides = _placed(given, plan, folder=folder, document=document)
    digest = hashlib.sha256(content).hexdigest()
    return PlacedPicture(given.file, digest, image.size, image, corner, sides)


@lru_cache(maxsize=2)  # designs and families ask for the same one again
def _grey(content: bytes) -> Any:
    """A picture in grey; what is wrong in words that go on after its name."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what it says of sizes is refused below
            image = Image.open(BytesIO(content), formats=_kinds)
    except Image.DecompressionBombError as error:
        raise BudgetError(_too_many()) from error
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, TypeError) as error:
        msg = "is no picture that is read here; save it as PNG, JPEG or TIFF"
        raise CaseError(msg) from error
    if image.size[0] * image.size[1] > MOST_PIXELS:
        raise BudgetError(_too_many(image.size))
    if image.mode not in _modes:
        msg = (
            f"has pixels of a kind that is not taken ({image.mode}); save it with 8 bits for "
            "each of grey or red, green and blue"
        )
        raise CaseError(msg)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            if "transparency" in image.info or image.mode in ("LA", "PA", "RGBA"):
                clear = image.convert("RGBA")
                white = Image.new("RGBA", clear.size, (255, 255, 255, 255))
                return Image.alpha_composite(white, clear).convert("L")
            return image.convert("L")
    except (OSError, ValueError, SyntaxError, EOFError, IndexError, TypeError) as error:
        msg = f"is damaged or cut short ({str(error)[:80]}); save it again"
        raise CaseError(msg) from error


def _too_many(size: tuple[int, int] | None = None) -> str:
    pixels = "" if size is None else f" {size[0]:,} by {size[1]:,}"
    return (
        f"has{pixels} pixels, more than the {MOST_PIXELS:,} that are read; cut out the ground "
        "round the metal, or save it coarser, with the world file that belongs to that"
    )


def _placed(
    given: schema.GroundPicture, plan: PlanPlace, *, folder: Path | None, document: Document
) -> tuple[Floats, Floats]:
    """Corner and sides of a picture in the case, by its world file. [m]"""
    name, text = _world_file(given, folder=folder, document=document)
    try:
        values = _six(text)
    except CaseError as error:
        key = "world_file" if given.world_file else "file"
        found = document.problem(f"{name!r} {error}", path=(*_path, key))
        raise CaseError([found]) from error
    a, d, b, e, x, y = values
    # Its place is that of the middle of the first pixel.
    corners = np.array([(x, y), (x + a, y + d), (x + b, y + e)])
    first, right, down = plan.own(corners - 0.5 * np.array([a + b, d + e]))
    sides = np.column_stack([right - first, down - first])
    return first, sides


def _six(text: str) -> list[float]:
    """The numbers of a world file; what is wrong in words that go on after its name."""
    try:
        values = [float(word) for word in text.split()]
    except ValueError:
        values = []
    if len(values) != _numbers or not all(map(math.isfinite, values)):
        msg = (
            "is no world file: six numbers, a line each: step in x of a column, in y of a "
            "column, in x of a row, in y of a row, x and y of the middle of the first pixel"
        )
        raise CaseError(msg)
    a, d, b, e = values[:4]
    sides = math.hypot(a, d), math.hypot(b, e)
    if not abs(a * e - b * d) > 1e-3 * sides[0] * sides[1]:
        msg = "gives pixels without area: a column and a row step the same way, or not at all"
        raise CaseError(msg)
    return values


def _world_file(
    given: schema.GroundPicture, *, folder: Path | None, document: Document
) -> tuple[str, str]:
    """Name and text of the world file: as given, or the first there is of its usual names."""
    names = [given.world_file] if given.world_file else _usual_names(given.file)
    there = [name for name in names if folder is not None and (folder / name).is_file()]
    if not there and not given.world_file:
        msg = (
            f"{given.file!r} has no world file beside it ({', '.join(names)}); save the "
            "picture with one, or name it by 'world_file'"
        )
        raise CaseError([document.problem(msg, path=(*_path, "world_file"))])
    name = (there or names)[0]
    content = content_beside(name, folder=folder, document=document, path=_path, most=10_000)
    return name, decoded(content, file=name)


def _usual_names(file: str) -> list[str]:
    """World files of a picture: .pgw of .png, .pngw, .wld."""
    path = Path(file)
    ending = path.suffix[1:]
    short = ending[:1] + ending[-1:] + "w"
    found = [str(path.with_suffix(f".{each}")) for each in (short, ending + "w", "wld")]
    return list(dict.fromkeys(found))
