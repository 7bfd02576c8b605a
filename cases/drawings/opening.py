"""A drawing file opened: refused in words where it is binary, too old, or too large."""

import io
import logging
import re
from collections.abc import Iterator
from contextlib import contextmanager

from ezdxf.document import Drawing as Dxf
from ezdxf.filemanagement import dxf_stream_info
from ezdxf.filemanagement import read as read_dxf
from ezdxf.lldxf.const import DXFError

from ...solver.errors import BudgetError, CaseError, Problem
from ..reading.size_limits import LARGEST_DRAWING, MOST_ENTITIES

# Release 12 is the oldest that is read without loss; its code in the file, from the format.
_oldest = "AC1009"
# An entity begins with group code 0 and its kind; what else does are few lines of tables.
_entity = re.compile(rb"\n[ \t]*0[ \t]*\r?\n[A-Z]")
_binary_seen = 200  # bytes
# What the library raises on files that are cut off or mangled.
_unreadable = (
    DXFError, ValueError, LookupError, TypeError, AttributeError, ArithmeticError, OSError,
    StopIteration,
)  # fmt: skip


def opened(content: bytes, *, file: str) -> tuple[Dxf, tuple[str, ...]]:
    """A drawing of the bytes of a DXF file in text form, and what of it was passed over.

    Raises
    ------
    CaseError
        If it is no drawing, or one in binary form, or of a release before 12.
    BudgetError
        If it is larger, or holds more, than is read.
    """
    _refuse_size(content, file)
    if b"\0" in content[:_binary_seen]:
        msg = "is binary; save the drawing as DXF in text form (ASCII)"
        raise CaseError([Problem(msg, file=file)])
    if b"SECTION" not in content[:20_000]:
        msg = "is no DXF drawing; save the drawing as DXF in text form"
        raise CaseError([Problem(msg, file=file)])
    try:
        encoding = dxf_stream_info(_text(content, "latin-1")).encoding
        with _warnings() as said:
            drawing = read_dxf(_text(content, encoding))
    except _unreadable as error:
        msg = f"cannot be read as DXF: {_short(error)}"
        raise CaseError([Problem(msg, file=file)]) from error
    version = getattr(drawing, "_loaded_dxfversion", None) or drawing.dxfversion
    if version < _oldest:
        msg = "is of a release before 12; save it as DXF of release 12 or later"
        raise CaseError([Problem(msg, file=file)])
    return drawing, tuple(said)


@contextmanager
def _warnings() -> Iterator[list[str]]:
    """What the library for drawings warns of meanwhile, in place of printing it."""
    said: list[str] = []

    class Keeper(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            said.append(_short(record.getMessage()))

    logger, keeper = logging.getLogger("ezdxf"), Keeper(logging.WARNING)
    through, logger.propagate = logger.propagate, False
    logger.addHandler(keeper)
    try:
        yield said
    finally:
        logger.removeHandler(keeper)
        logger.propagate = through


def _text(content: bytes, encoding: str) -> io.TextIOWrapper:
    return io.TextIOWrapper(io.BytesIO(content), encoding=encoding, errors="surrogateescape")


def _refuse_size(content: bytes, file: str) -> None:
    if len(content) > LARGEST_DRAWING:
        msg = (
            f"has {len(content):,} bytes; at most {LARGEST_DRAWING:,} are read: save the "
            "layers that the case needs as a drawing of their own"
        )
        raise BudgetError([Problem(msg, file=file)])
    count = sum(1 for _ in _entity.finditer(content))
    if count > MOST_ENTITIES:
        msg = (
            f"holds about {count:,} entities; at most {MOST_ENTITIES:,} are read: save the "
            "layers that the case needs as a drawing of their own"
        )
        raise BudgetError([Problem(msg, file=file)])


def _short(said: object) -> str:
    """First words of what a library says."""
    words = " ".join(str(said).split())
    return "".join(c for c in words if c.isprintable())[:120] or type(said).__name__
