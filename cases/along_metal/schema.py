"""Metal that is not at one potential: the along_metal block."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from ...solver.circuit import REMOTE_EARTH
from ...solver.errors import CaseError
from ..circuit.schema import Impedance
from ..electrodes.schema_metal import MaterialName, Size
from ..reading import fields as f
from ..reading.blocks import Block
from ..reading.naming import ElectrodeName, names_a, refers_to
from ..reading.size_limits import MOST_JOINTS, MOST_LEADS, MOST_PLACES, MOST_POINTS


def _at(value: object) -> str | tuple[float, ...]:
    return f.name(value) if isinstance(value, str) else f.vertex(value)


_at_schema = {
    "anyOf": [
        {"type": "string", "maxLength": 80},
        {"type": "array", "minItems": 2, "maxItems": 3},
    ],
    "examples": ["rod 2", ["0 m", "3 m"], ["0 m", "3 m", "0.6 m"]],
}
At = Annotated[str | tuple[float, ...], f.Reader(_at, _at_schema), refers_to("part")]
Node = Annotated[
    f.Name,
    refers_to(
        "electrode", "place", also=(REMOTE_EARTH,), what="electrode or place of along_metal"
    ),
]


class Place(Block):
    """Place on metal, or the end of a lead, by a name of its own."""

    name: Annotated[f.Name, names_a("place", once_among="place")]
    """Your own name: a neutral terminal, a gate, the far end of a cable. The circuit, leads and
    results call it by that."""
    electrode: ElectrodeName | None = None
    """Electrode whose metal it is on; left out, it is on none: where leads end or meet."""
    at: At | None = None
    """Where on it: [x, y] or [x, y, depth], or the name of a part that is one straight piece,
    such as a rod, for its head or start."""

    @model_validator(mode="after")
    def _on_metal(self) -> Self:
        if (self.electrode is None) != (self.at is None):
            msg = "'electrode' and 'at' go together: a place on metal has both, others neither"
            raise CaseError(msg)
        if self.name == REMOTE_EARTH:
            msg = f"{REMOTE_EARTH!r} is what the case calls 0 V; take another name"
            raise CaseError(msg)
        return self


class Conductor(Size):
    """What a lead is made of."""

    material: MaterialName
    """What its metal is."""
    temperature: f.Temperature | None = None
    """Of the metal; 20 degC when left out."""
    route: (
        Annotated[
            tuple[tuple[f.Coordinate, f.Coordinate, f.Coordinate], ...],
            Field(min_length=2, max_length=MOST_POINTS),
        ]
        | None
    ) = None
    """Its corners from the first end to the second, [x, y, height] each, the height below zero
    where it lies in the ground; left out, it runs straight between two places on metal."""


class Lead(Block):
    """Insulated conductor between two places: cable, sheath, bond, riser, overhead wire."""

    exactly_one = (("impedance", "made_of"),)

    name: Annotated[f.Name, names_a("lead along metal", once_among="bond or path")]
    """Your own name."""
    between: tuple[Node, Node]
    """Its ends: places, electrodes (where they are `fed_at`), or remote earth."""
    impedance: Impedance | None = None
    """Impedance of all of it; nothing is induced in it."""
    made_of: Conductor | None = None
    """What it is made of: its resistance and reactance follow, and what its current and that
    of all other metal induce in each other."""
    connected: bool = True
    """Whether it is; variants open and close it by its name: cut, corroded, stolen."""

    @model_validator(mode="after")
    def _leads_somewhere(self) -> Self:
        one, other = self.between
        if one == other:
            msg = f"lead {self.name!r} leads from {one!r} to itself; name two places"
            raise CaseError(msg)
        return self


class Joint(Block):
    """Place where the metal of a part is joined by less than solid metal, or cut."""

    name: Annotated[f.Name, names_a("joint along metal", once_among="bond or path")]
    """Your own name: a clamp, an insulating flange, a break."""
    part: Annotated[f.Name, refers_to("part")]
    """Part that is cut, or comes off what it meets there."""
    at: f.Vertex | None = None
    """Where: [x, y] or [x, y, depth]; left out, at the head or start of a part that is one
    straight piece."""
    resistance: f.Resistance = 0.0
    """Between both sides; 0 for a sound joint."""
    connected: bool = True
    """Whether the sides are joined; false for a break. Variants open and close it by its
    name."""


class AlongMetal(Block):
    """Voltage along the metal, worked out where this block stands, even empty.

    Every part needs a material, every driven electrode the place where it is fed (`fed_at`),
    and circuit or system the frequency.
    """

    steel: Literal["low", "usual", "high"] = "usual"
    """Relative permeability of steel, which its current moves: 50, 200 or 1000."""
    places: Annotated[tuple[Place, ...], Field(max_length=MOST_PLACES)] = ()
    """Places by name: where a fault is fed, where it returns, where leads end."""
    leads: Annotated[tuple[Lead, ...], Field(max_length=MOST_LEADS)] = ()
    """Conductors that do not touch the soil."""
    joints: Annotated[tuple[Joint, ...], Field(max_length=MOST_JOINTS)] = ()
    """Places where metal is cut, or joined by a resistance."""
