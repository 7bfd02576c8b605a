"""PNG files, packed fast: what is drawn here has flat areas, which no filter makes smaller."""

import struct
import zlib
from pathlib import Path
from typing import IO

import numpy as np

from ...solver.model import Integers

_level = 4  # a fifth smaller than one less, for little time; more of it gains nothing


def write_png(
    pixels: Integers, target: Path | IO[bytes], *, dots: float, level: int = _level
) -> None:
    """Write an opaque picture.

    Parameters
    ----------
    pixels : ndarray of int, shape (height, width, 3)
        Red, green, blue, 0 to 255.
    dots : float
        For print. [1/m]
    level : int
        How hard to pack; edges of many shades gain nothing from more than 3.
    """
    height, width = pixels.shape[:2]
    rows = np.zeros((height, 1 + 3 * width), dtype=np.uint8)  # each headed by 0: no filter
    inside = np.ndarray(
        pixels.shape, np.uint8, rows.data, offset=1, strides=(rows.strides[0], 3, 1)
    )
    inside[:] = pixels
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)  # 8 bits of each of 3 colours
    size = struct.pack(">IIB", round(dots), round(dots), 1)
    data = zlib.compress(rows.data, level)
    chunks = ((b"IHDR", head), (b"pHYs", size), (b"IDAT", data), (b"IEND", b""))
    content = b"".join((b"\x89PNG\r\n\x1a\n", *(_chunk(*chunk) for chunk in chunks)))
    if isinstance(target, Path):
        target.write_bytes(content)
    else:
        target.write(content)


def read_png(data: bytes) -> tuple[int, int, bytes]:
    """Width, height and packed rows of a picture that `write_png` has written."""
    at, found = 8, {}
    while at < len(data):
        length, kind = struct.unpack_from(">I4s", data, at)
        found[kind] = data[at + 8 : at + 8 + length]
        at += 12 + length
    width, height = struct.unpack_from(">II", found[b"IHDR"])
    return width, height, found[b"IDAT"]


def _chunk(kind: bytes, data: bytes) -> bytes:
    return (
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    )
