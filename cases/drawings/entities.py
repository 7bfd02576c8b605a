"""What a drawing holds as runs of points and single places, blocks taken apart."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from ezdxf.document import Drawing as Dxf
from ezdxf.entities.circle import Circle
from ezdxf.entities.dxfgfx import DXFGraphic
from ezdxf.entities.ellipse import Ellipse
from ezdxf.entities.insert import Insert
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.entities.polyline import Polyline
from ezdxf.entities.spline import Spline
from ezdxf.lldxf.const import DXFError
from ezdxf.math import Vec3
from ezdxf.path import make_path

from ...solver.errors import BudgetError
from ...solver.model import Floats
from ...solver.wording import number_text
from ..drawn_plan import Remark
from ..reading.size_limits import MOST_ENTITIES

# What the library raises on entities that cannot be.
_not_followed = (
    DXFError, TypeError, ValueError, ArithmeticError, LookupError, AttributeError,
    StopIteration,
)  # fmt: skip
_deepest = 16  # blocks in blocks
_by_layer, _by_block = 256, 0  # colours that are those of the layer, and of the block
_lines = ("LINE", "LWPOLYLINE", "POLYLINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "HELIX")
# What they are called where the format has a name of its own.
_called = {"insert": "block", "lwpolyline": "polyline", "mtext": "text"}


@dataclass(frozen=True)
class Entity:
    """One thing drawn, in the units of the drawing.

    Attributes
    ----------
    kind : str
        As the drawing format calls it, in small letters.
    handle : str
        Number of it in the drawing; of what stands in a block, that of the inserted block.
    layer : str
        Layer that it shows on: that of the block where its own is 0.
    colour : int
        Index of its colour, of the layer where it has none of its own.
    block : str
        Innermost named block that it stands in; of an inserted block its own name.
    points : ndarray of float, shape (n, 3)
        Corners of a line, one place of anything else; none where it has neither.
    closed : bool
        Whether the last corner joins the first, which is then not repeated.
    """

    kind: str
    handle: str
    layer: str
    colour: int
    block: str
    points: Floats
    closed: bool = False

    @property
    def is_line(self) -> bool:
        """Whether it is a run of corners."""
        return self.kind.upper() in _lines and len(self.points) > 1

    @property
    def run(self) -> Floats:
        """Corners of a line from end to end; the first once more where it is closed."""
        return np.vstack([self.points, self.points[:1]]) if self.closed else self.points

    @property
    def named(self) -> str:
        """What it is and where to find it in the drawing."""
        what = f"block {self.block!r}" if self.kind == "insert" else self.called
        return f"{what} {self.handle} on layer {self.layer!r}"

    @property
    def called(self) -> str:
        """What it is, in a word."""
        return _called.get(self.kind, self.kind)


@dataclass(frozen=True)
class Contents:
    """All that stands in the model space of a drawing.

    Attributes
    ----------
    entities : tuple of Entity
        Lines, places and what is neither. Inserted blocks come first as one place each,
        then what stands in them.
    oddities : tuple of Remark
        What could not be taken as it is drawn.
    hidden : tuple of str
        Layers that are off or frozen.
    """

    entities: tuple[Entity, ...]
    oddities: tuple[Remark, ...] = ()
    hidden: tuple[str, ...] = ()


@dataclass
class _Reader:
    chord: float  # how far a chord may be from its arc [drawing units]
    layer_colour: dict[str, int]
    found: list[Entity] = field(default_factory=list)
    odd: list[Remark] = field(default_factory=list)

    def note(self, words: str) -> None:
        """Keep what cannot be followed."""
        self.odd.append(Remark("not followed", words))

    def add(self, entity: Entity) -> None:
        if len(self.found) >= MOST_ENTITIES:
            msg = (
                f"with its blocks taken apart the drawing holds more than {MOST_ENTITIES:,} "
                "entities; save the layers that the case needs as a drawing of their own"
            )
            raise BudgetError(msg)
        self.found.append(entity)

    def colour(self, entity: DXFGraphic, layer: str, outer: int) -> int:
        own = int(_attribute(entity, "color", _by_layer))
        if own == _by_block:
            return outer
        return abs(self.layer_colour.get(layer.lower(), 7)) if own == _by_layer else own


def contents_of(drawing: Dxf, *, chord: float, said: Sequence[str] = ()) -> Contents:
    """Lines and places of the model space of a drawing.

    Parameters
    ----------
    chord : float
        Most that a straight piece may be away from the arc it stands for. [drawing units]
    said : sequence of str
        What was passed over when it was opened.

    Raises
    ------
    BudgetError
        If there is more in it, blocks taken apart, than is read.
    """
    colours = {layer.dxf.name.lower(): int(layer.dxf.color) for layer in drawing.layers}
    reader = _Reader(chord, colours)
    for words in said:
        reader.note(f"in the file: {words}")
    for entity in drawing.modelspace():
        _take(entity, reader, layer="0", colour=7, inside=(), handle="")
    paper = {layout.name: len(layout) for layout in drawing.layouts if not layout.is_modelspace}
    for name, count in paper.items():
        if count > 1:  # the sheet's own window is always there
            reader.note(f"sheet {name!r}: {count} entities on paper are not read")
    hidden = tuple(
        sorted(
            layer.dxf.name for layer in drawing.layers if layer.is_off() or layer.is_frozen()
        )
    )
    return Contents(tuple(reader.found), tuple(reader.odd), hidden)


def _take(
    entity: DXFGraphic,
    reader: _Reader,
    *,
    layer: str,
    colour: int,
    inside: tuple[str, ...],
    handle: str,
) -> None:
    """Add one entity, and what stands in it where it is a block."""
    own = str(_attribute(entity, "layer", "0"))
    shown_on = layer if own == "0" and inside else own
    tint = reader.colour(entity, shown_on, colour)
    number = handle or str(_attribute(entity, "handle", "") or "?")
    kind = entity.dxftype()
    block = inside[-1] if inside else ""
    if isinstance(entity, Insert):
        block = str(entity.dxf.name)
    points, closed = _points(entity, reader, f"{kind.lower()} {number} on layer {shown_on!r}")
    reader.add(Entity(kind.lower(), number, shown_on, tint, block, points, closed))
    if not isinstance(entity, Insert):
        return
    where = f"block {block!r} {number} on layer {shown_on!r}"
    if block in inside or len(inside) >= _deepest:
        reader.note(f"{where}: stands in itself, or too deep in others")
        return
    definition = entity.block() if entity.dxf.hasattr("name") else None
    if definition is None:
        reader.note(f"{where}: the drawing does not hold it")
        return
    if definition.block is not None and definition.block.is_xref:
        reader.note(f"{where}: refers to another drawing, which is not read")
        return
    for part in _parts(entity, reader, where):
        _take(part, reader, layer=shown_on, colour=tint, inside=(*inside, block), handle=number)


def _attribute(entity: DXFGraphic, name: str, default: Any) -> Any:
    """An attribute, also of a kind of entity that the library does not know."""
    return entity.dxf.get(name, default) if entity.dxf.is_supported(name) else default


def _parts(entity: Insert, reader: _Reader, where: str) -> Iterator[DXFGraphic]:
    """What stands in an inserted block, in place, each row and column of it."""
    lost: Counter[str] = Counter()

    def skipped(part: DXFGraphic, _: str) -> None:
        lost[part.dxftype().lower()] += 1

    inserts = list(entity.multi_insert()) if entity.mcount > 1 else [entity]
    for one in inserts:
        try:
            yield from one.virtual_entities(skipped_entity_callback=skipped)
        except _not_followed:
            reader.note(f"{where}: its scale or place cannot be followed")
    for kind, count in lost.items():
        reader.note(f"{where}: {count} {kind} in it")


def _points(entity: DXFGraphic, reader: _Reader, where: str) -> tuple[Floats, bool]:
    """Corners of a line, or the place of something else; empty where it has none."""
    kind = entity.dxftype()
    nothing = np.empty((0, 3))
    if isinstance(entity, Polyline) and not (entity.is_2d_polyline or entity.is_3d_polyline):
        return nothing, False  # a net of faces
    if kind in _lines:
        try:
            places = _flattened(entity, reader.chord)
            corners = np.array([Vec3(place).xyz for place in places]).reshape(-1, 3)
        except _not_followed:
            reader.note(f"{where}: its line cannot be followed")
            return nothing, False
        if not np.isfinite(corners).all():
            reader.note(f"{where}: holds a coordinate that is no number")
            return nothing, False
        if not len(corners):
            return nothing, False
        gap = float(np.linalg.norm(corners[0] - corners[-1]))
        closed = len(corners) > 3 and gap <= 1e-9 * (1.0 + float(np.abs(corners).max()))
        return (corners[:-1] if closed else corners), closed
    if kind not in ("INSERT", "POINT"):
        return nothing, False
    try:
        if isinstance(entity, Insert):
            place = entity.ocs().to_wcs(Vec3(entity.dxf.insert))
        else:
            place = Vec3(entity.dxf.location)
    except _not_followed:
        reader.note(f"{where}: has no place")
        return nothing, False
    return np.array([place.xyz]), False


def _flattened(entity: DXFGraphic, chord: float) -> Iterator[Vec3]:
    """Corners of a line, on the arcs and curves that its chords stand for."""
    if isinstance(entity, LWPolyline | Polyline) and entity.has_arc:
        yield from _one_way([list(_flattened(part, chord)) for part in _parts_of(entity)])
    elif isinstance(entity, Circle):  # an arc is one too
        # In its own plane an arc turns one way; mirrored in a block it still meets its ends.
        yield from entity.flattening(min(chord, 0.5 * abs(entity.dxf.radius)))
    elif isinstance(entity, Ellipse | Spline):
        yield from entity.flattening(chord)
    else:
        yield from make_path(entity).flattening(chord)


def _parts_of(entity: LWPolyline | Polyline) -> Iterator[DXFGraphic]:
    for part in entity.virtual_entities():
        assert isinstance(part, DXFGraphic)  # lines and arcs
        yield part


def _one_way(parts: list[list[Vec3]]) -> Iterator[Vec3]:
    """Corners of parts one after the other; arcs run the same way round wherever they lead."""
    last = parts[0][0]
    for number, part in enumerate(parts):
        if number == 0:
            ends = (parts[1][0], parts[1][-1]) if len(parts) > 1 else (part[-1],)
            turned = min(map(part[0].distance, ends)) < min(map(part[-1].distance, ends))
        else:
            turned = last.distance(part[-1]) < last.distance(part[0])
        corners = part[::-1] if turned else part
        yield from corners[bool(number) :]
        last = corners[-1]


def amounts(entities: Iterable[Entity]) -> list[tuple[str, str]]:
    """Layer, and what of it in words, for everything given."""
    by_layer: dict[str, Counter[str]] = {}
    for entity in entities:
        by_layer.setdefault(entity.layer, Counter())[entity.called] += 1
    return [
        (layer, ", ".join(number_text(count, kind) for kind, count in sorted(kinds.items())))
        for layer, kinds in sorted(by_layer.items())
    ]
