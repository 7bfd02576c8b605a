"""A drawing laid on the plan of a case: what of it a selection means, and what nobody took."""

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from ...solver.errors import CaseError, Problem
from ...solver.model import Floats
from ...solver.plan_place import PlanPlace, Unit
from ..electrodes.pieces import rotated
from ..reading.beside import content_beside
from ..reading.documents import Document
from ..reading.messages import not_among
from ..reading.selecting import Selection
from ..reading.size_limits import LARGEST_DRAWING, LARGEST_LENGTH
from . import schema
from .entities import Contents, Entity, contents_of
from .opening import opened
from .units import unit_of, unit_said

_kept = 4  # drawings that stay read: variants and families ask for the same one again


@dataclass(frozen=True)
class Drawing:
    """A drawing in the coordinates of a case.

    Attributes
    ----------
    file, sha256 : str
        Name as the case gives it, and hash of its bytes.
    contents : Contents
        What it holds. [m]
    layers : tuple of str
        All layers, those that hold nothing too.
    size : tuple of float, length 2
        Width and height of all lines and places, before it is turned. [m]
    unit : str
        What one unit of it is.
    join_within : float
        Distance within which ends are joined. [m]
    placed : PlanPlace
        How the case lies in it.
    under_maps : bool
        Whether what is no metal is drawn under maps.
    """

    file: str
    sha256: str
    contents: Contents
    layers: tuple[str, ...]
    size: tuple[float, float]
    unit: str
    join_within: float
    placed: PlanPlace
    under_maps: bool = True

    def selected(self, by: Selection) -> list[Entity]:
        """What meets all that a selection gives, in the order of the drawing."""
        layers, blocks = _lower(by.layers), _lower(by.blocks)
        return [
            entity
            for entity in self.contents.entities
            if (layers is None or entity.layer.lower() in layers)
            and (blocks is None or entity.block.lower() in blocks)
            and (by.colours is None or entity.colour in by.colours)
        ]

    def require(self, by: Selection) -> None:
        """Raise `CaseError` where a selection names nothing, or what the drawing lacks."""
        messages = []
        if by.layers is None and by.blocks is None and by.colours is None:
            messages.append(
                "give 'layers', 'colours' or 'blocks': what of the drawing is meant"
            )
        blocks = sorted({entity.block for entity in self.contents.entities} - {""})
        for given, there, what in (
            (by.layers, self.layers, "layer"),
            (by.blocks, blocks, "block"),
        ):
            known = {name.lower() for name in there}
            messages += [
                not_among(name, list(there), what=f"{what} of {self.file}")
                for name in given or ()
                if name.lower() not in known
            ]
        if messages:
            raise CaseError([Problem(message) for message in messages])

    def rest(self, taken: Iterable[Entity]) -> list[Entity]:
        """What nobody took; parts of a block go with it, by the handle that they share."""
        handles = {entity.handle for entity in taken}
        return [one for one in self.contents.entities if one.handle not in handles]


def drawing_of(given: schema.Drawing, *, folder: Path | None, document: Document) -> Drawing:
    """The drawing that a case names.

    Raises
    ------
    CaseError
        If it is missing, cannot be read, or its unit is not the one stated; with its overall
        size in both.
    BudgetError
        If it is larger than is read.
    """
    content = content_beside(
        given.file, folder=folder, document=document, path=("drawing",), most=LARGEST_DRAWING
    )
    try:
        drawing, said = _read(
            content, given.file, given.chord_error / unit_of(given.unit).metres
        )
        _confirm(given, drawing, said)
        return _laid(drawing, given)
    except CaseError as error:
        found = [
            one
            if one.path
            else document.problem(f"{given.file}: {one.message}", path=("drawing",))
            for one in error.problems
        ]
        raise type(error)(found) from error


@lru_cache(maxsize=_kept)
def _read(content: bytes, file: str, chord: float) -> tuple[Drawing, int]:
    """A drawing in its own units, and the code of the unit that it says."""
    opened_one, said = opened(content, file=file)
    contents = contents_of(opened_one, chord=chord, said=said)
    layers = {layer.dxf.name for layer in opened_one.layers}
    layers |= {entity.layer for entity in contents.entities}
    points = [entity.points for entity in contents.entities if len(entity.points)]
    if not points:
        msg = "holds no lines and no places in its model space"
        raise CaseError(msg)
    wide, high, _ = np.ptp(np.concatenate(points), axis=0).tolist()
    drawing = Drawing(
        file,
        hashlib.sha256(content).hexdigest(),
        contents,
        tuple(sorted(layers)),
        (wide, high),
        "",
        0.0,
        PlanPlace((0.0, 0.0)),
    )
    return drawing, int(opened_one.header.get("$INSUNITS", 0) or 0)


def _confirm(given: schema.Drawing, drawing: Drawing, said: int) -> None:
    """Raise `CaseError` where the unit of the case is not that of the drawing."""
    stated = unit_of(given.unit)
    head = unit_said(said)
    believed = None if given.drawing_says is None else unit_of(given.drawing_says)
    if said == 0:
        if believed is not None:
            msg = f"says no unit, not {believed.name}: leave 'drawing_says' out"
            raise CaseError(msg)
        return
    if head is None:
        msg = (
            f"says a unit of another kind (number {said} of its head); save it in metres, "
            "millimetres, feet or inches"
        )
        raise CaseError(msg)
    if believed is not None and believed != head:
        msg = f"says {head.name}, not {believed.name}; correct 'drawing_says'"
        raise CaseError(msg)
    if believed is None and head != stated:
        msg = (
            f"says {head.name}, the case {stated.name}: overall it is {_size(drawing, head)} "
            f"or {_size(drawing, stated)}. Give the right one as 'unit'; where the drawing is "
            f"wrong, add 'drawing_says: {head.name}'"
        )
        raise CaseError(msg)


def _size(drawing: Drawing, unit: Unit) -> str:
    wide, high = (length * unit.metres for length in drawing.size)
    return f"{wide:,.4g} m by {high:,.4g} m (in {unit.name})"


def _laid(drawing: Drawing, given: schema.Drawing) -> Drawing:
    """The drawing in metres, shifted and turned as the case wants it."""
    scale = unit_of(given.unit).metres
    origin = np.array([*given.origin, 0.0])
    entities = tuple(
        replace(entity, points=_placed(entity.points * scale - origin, given.rotation))
        for entity in drawing.contents.entities
    )
    farthest = max(
        (
            float(np.abs(entity.points[:, :2]).max())
            for entity in entities
            if len(entity.points)
        ),
        default=0.0,
    )
    if farthest > LARGEST_LENGTH:
        points = np.concatenate([entity.points for entity in entities])
        x, y = (points.min(axis=0)[:2] + origin[:2]).round().tolist()
        msg = (
            f"lies up to {farthest:,.0f} m from [0, 0]; give 'origin', a place in the drawing "
            f'that is to be [0, 0], such as ["{x:.0f} m", "{y:.0f} m"]'
        )
        raise CaseError(msg)
    return replace(
        drawing,
        contents=replace(drawing.contents, entities=entities),
        size=(drawing.size[0] * scale, drawing.size[1] * scale),
        unit=given.unit,
        join_within=given.join_within,
        placed=PlanPlace(given.origin, given.rotation, scale),
        under_maps=given.under_maps,
    )


def _placed(points: Floats, angle: float) -> Floats:
    return np.column_stack([rotated(points[:, :2], angle=angle), points[:, 2]])


def _lower(names: Sequence[str] | None) -> set[str] | None:
    return None if names is None else {name.lower() for name in names}
