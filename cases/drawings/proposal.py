"""A commented case proposed from a drawing: what each of its layers may be."""

from dataclasses import dataclass

import numpy as np

from ...solver.errors import CaseError, Problem
from ...solver.plan_place import UNITS, Unit
from .entities import Contents, Entity, amounts, contents_of
from .opening import opened
from .units import unit_said

# Words in names of layers and blocks by which draughtsmen mostly call such things; what they
# are not in is proposed too, as a comment.
_metal = ("earth", "ground", "grid", "erd", "terre", "tierra", "conductor", "electrode")
_rods = ("rod", "stab", "spike", "piquet", "pica")
_outlines = ("fence", "wall", "building", "boundary", "site", "zaun", "road")
_far = 10_000.0  # m
_chord = 0.05  # m, of arcs: nobody measures by a proposal


@dataclass(frozen=True)
class _Layer:
    """A layer of a drawing, by what may be taken from it."""

    name: str
    what: str  # amounts, in words
    lines: int
    length: float  # of its lines [m]
    places: int  # blocks, points
    closed: int  # lines that go round


def proposed_case(content: bytes, *, file: str, unit: str | None = None) -> str:
    """Text of a commented case that takes metal and outlines from a drawing.

    Parameters
    ----------
    content : bytes
        Of the drawing.
    file : str
        Its name beside the case.
    unit : str, optional
        What one unit of it is, where it does not say so itself.

    Raises
    ------
    CaseError
        If the drawing cannot be read, holds no lines, or says no unit and none is given.
    """
    drawing, _ = opened(content, file=file)
    said = unit_said(int(drawing.header.get("$INSUNITS", 0) or 0))
    stated = next((one for one in UNITS if one.name == unit), said)
    size_of_unit = 1.0 if stated is None else stated.metres
    rough = contents_of(drawing, chord=_chord / size_of_unit)
    points = [entity.points for entity in rough.entities if len(entity.points)]
    if not points:
        msg = "holds no lines and no places in its model space"
        raise CaseError([Problem(msg, file=file)])
    every = np.concatenate(points)
    low, size = every.min(axis=0), np.ptp(every, axis=0)
    if stated is None:
        wide, high = size[:2].tolist()
        sizes = "; ".join(
            f"in {one.name} it is {wide * one.metres:,.4g} m by {high * one.metres:,.4g} m"
            for one in UNITS[:1] + UNITS[3:4] + UNITS[5:7]
        )
        names = ", ".join(one.name for one in UNITS)
        msg = f"says no unit; {sizes}. Give the right one by --unit: {names}"
        raise CaseError([Problem(msg, file=file)])
    layers = _layers(rough, stated)
    return "\n".join(
        [
            *_head(file),
            *_drawing(file, stated, said, low * stated.metres, size * stated.metres),
            *_outlined(layers),
            *_soil,
            *_electrodes(layers, rough),
            *_study,
            "",
        ]
    )


def _layers(contents: Contents, unit: Unit) -> list[_Layer]:
    by_name: dict[str, list[Entity]] = {}
    for entity in contents.entities:
        by_name.setdefault(entity.layer, []).append(entity)
    return [
        _Layer(
            name,
            amounts(mine)[0][1],
            sum(one.is_line for one in mine),
            sum(_length(one) for one in mine if one.is_line) * unit.metres,
            sum(one.kind in ("insert", "point") for one in mine),
            sum(one.is_line and one.closed and len(one.points) > 2 for one in mine),
        )
        for name, mine in sorted(by_name.items())
    ]


def _length(one: Entity) -> float:
    return float(np.linalg.norm(np.diff(one.run, axis=0), axis=1).sum())


def _head(file: str) -> list[str]:
    return [
        f"# A case proposed from the drawing {file}. A drawing does not say what is metal, how",
        "# deep it lies or what it is made of: read every line, and change what is not so.",
        "# `check` lists what was joined, left out and not taken.",
        "#",
        "# Never energise an electrode to try this out or to test it without an isolating,",
        "# current-limited, residual-current-protected supply, barriers beyond the step-",
        "# voltage radius and a second person, nor with animals or bare feet in the area.",
        "ohmscape: 1",
        f"title: {_quoted('Electrode drawn in ' + file)}",
        "",
    ]


def _drawing(
    file: str, unit: Unit, said: Unit | None, low: np.ndarray, size: np.ndarray
) -> list[str]:
    wide, high = size[:2].tolist()
    lines = [
        "drawing:",
        f"  file: {_quoted(file)}",
        f"  unit: {unit.name}".ljust(30) + f"# overall {wide:,.1f} m by {high:,.1f} m: so?",
    ]
    if said is not None and said != unit:
        lines.append(f"  drawing_says: {said.name}")
    if float(np.abs(low[:2]).max()) > _far:
        x, y = np.floor(low[:2]).tolist()
        lines.append(f'  origin: ["{x:.0f} m", "{y:.0f} m"]    # its lower left corner')
    lines.append("  join_within: 5 mm           # ends as near to other metal are joined")
    return lines


def _outlined(layers: list[_Layer]) -> list[str]:
    there = [layer for layer in layers if layer.closed]
    if not there:
        return [""]
    sure = [layer for layer in there if layer.closed == 1 and _named(layer.name, _outlines)]
    lines = ["  outlines:"] if sure else ["  # outlines:"]
    for layer in there:
        mark = "" if layer in sure else "# "
        text = f"    {mark}- {{name: {_quoted(layer.name)}, layers: [{_quoted(layer.name)}]}}"
        lines.append(f"{text}  # {layer.closed} closed of {layer.what}")
    return [*lines, ""]


_soil = [
    "soil:",
    "  layers:                     # from the surface down; measure it: nothing matters more",
    "    - resistivity: 100 ohm*m",
    "",
]
_study = [
    "",
    "study:",
    "  area: {margin: 10 m}        # strip around the metal that is mapped",
]


def _electrodes(layers: list[_Layer], contents: Contents) -> list[str]:
    """Parts for every layer that may be metal: those by whose name it is, the others said."""
    lines = [
        "electrodes:",
        "  - name: drawn electrode",
        "    drive: {current: 100 A}   # into the soil",
        "    parts:",
    ]
    for layer in layers:
        if not layer.lines and not layer.places:
            lines.append(f"      # layer {layer.name!r}: {layer.what}, no lines and no places")
    for layer in layers:
        if layer.lines:
            said = f"{layer.what}, {layer.length:,.1f} m of lines"
            sure = _named(layer.name, _metal) and not _named(layer.name, _rods)
            entry = [
                f"- kind: drawn conductors    # {said}",
                f"  layers: [{_quoted(layer.name)}]",
                "  depth: 0.6 m",
                "  diameter: 10 mm",
            ]
            lines += [f"      {'' if sure else '# '}{line}" for line in entry]
    for block, count in _blocks(contents):
        entry = [
            f"- kind: drawn rods          # {count} of them",
            f"  blocks: [{_quoted(block)}]",
            "  top_depth: 0.6 m",
            "  length: 3 m",
            "  diameter: 16 mm",
        ]
        sure = _named(block, _rods)
        lines += [f"      {'' if sure else '# '}{line}" for line in entry]
    return lines


def _blocks(contents: Contents) -> list[tuple[str, int]]:
    """Names of the blocks that are inserted, and how often."""
    names = [entity.block for entity in contents.entities if entity.kind == "insert"]
    return [(name, names.count(name)) for name in sorted(set(names))]


def _named(name: str, words: tuple[str, ...]) -> bool:
    return any(word in name.lower() for word in words)


def _quoted(text: str) -> str:
    """Text as YAML takes it, whatever stands in it."""
    inner = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{inner}"'
