"""Tables beside the sheets, for what was written on them: as `compare` and `soil` take them."""

import json
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ...solver.earth_tests import FieldSheets, ProbePlace, TestPoint
from ...solver.results.result import Result
from ..wording import file_stems, length_unit, significant

BLOCK = "measured.yaml"


@dataclass(frozen=True)
class Template:
    """One table to fill in.

    Attributes
    ----------
    name : str
        Of the series, and of the sheet of the workbook.
    file : str
        Of the table as text.
    header : tuple of str
    rows : tuple of tuple
        Numbers, text, or None for what is to be filled in.
    notes : tuple of str
        Lines on top.
    block : tuple of str
        Lines of a series of the block `measured`; empty for what is none. Those of stray
        voltages are comments: they want what only a reading says.
    """

    name: str
    file: str
    header: tuple[str, ...]
    rows: tuple[tuple[object, ...], ...]
    notes: tuple[str, ...]
    block: tuple[str, ...] = ()


_blank = "____"
_fill = "Fill in what was read, take out rows that were not, put this table beside the case."


def templates(
    sheets: FieldSheets, result: Result, *, units: str = "SI"
) -> tuple[Template, ...]:
    """All tables of the sheets, lengths in metres or feet as on the paper."""
    unit = length_unit(units)
    return (
        _survey(sheets, unit.symbol, unit.factor),
        *_tests(sheets, unit.symbol, unit.factor),
        *_points(sheets, result, unit.symbol, unit.factor),
        *_stray(sheets, result, unit.symbol, unit.factor),
    )


def _survey(sheets: FieldSheets, symbol: str, factor: float) -> Template:
    rows = tuple(
        (traverse, round(spacing * factor, 6), None, "")
        for traverse in ("traverse 1", "traverse 2")
        for spacing in sheets.spacings
    )
    header = ("traverse", f"spacing [{symbol}]", "resistance [ohm]", "note")
    return Template("survey", "survey.csv", header, rows, (_fill, "For 'ohmscape soil'."))


def _tests(sheets: FieldSheets, symbol: str, factor: float) -> Iterator[Template]:
    for in_line, name in (
        (True, "fall of potential in line"),
        (False, "fall of potential across"),
    ):
        mine = [item for item in sheets.named_places if item[1].leads.in_line == in_line]
        if not mine:
            continue
        leads = mine[0][1].leads
        line = _mapping(start=_pair(leads.start), azimuth=_degrees(leads.azimuth + leads.angle))
        yield _series(
            name,
            header=(f"distance [{symbol}]", "resistance [ohm]", "note"),
            rows=[
                (round(one.distance * factor, 3), None, _told(key, one)) for key, one in mine
            ],
            sheets=sheets,
            across=(sheets.electrode, "probe"),
            more=(f"line: {line}",),
        )


def _told(name: str, one: ProbePlace) -> str:
    return f"{name}; expected {significant(float(one.reading[0]))} ohm"


def _points(
    sheets: FieldSheets, result: Result, symbol: str, factor: float
) -> Iterator[Template]:
    for group, above, mine in _touched(sheets, result):
        yield _series(
            f"touch on {group}" + ", soil above it" * above,
            header=(f"x [{symbol}]", f"y [{symbol}]", "resistance [ohm]", "note"),
            rows=[(*_at(one.foot, factor), None, _expected(one)) for one in mine],
            sheets=sheets,
            across=("probe", group) if above else (group, "probe"),
        )
    steps = [one for one in sheets.points if one.other_foot is not None]
    if steps:
        yield _series(
            "steps",
            header=(
                f"x [{symbol}]", f"y [{symbol}]", f"second_x [{symbol}]",
                f"second_y [{symbol}]", "resistance [ohm]", "note",
            ),
            rows=[
                (*_at(one.foot, factor), *_at(one.other_foot or one.foot, factor), None,
                 _expected(one))
                for one in steps
            ],
            sheets=sheets,
            across=("probe", "second probe"),
        )  # fmt: skip


def _touched(
    sheets: FieldSheets, result: Result
) -> Iterator[tuple[str, bool, list[TestPoint]]]:
    """Electrode, whether the soil is above it, and the points where its metal is touched.

    Readings have no sign: where the soil is above the metal it is the first end of a meter.
    """
    owner = {metal.name: result.group_names[metal.group] for metal in result.metals}
    touched = [one for one in sheets.points if one.kind == "touch"]
    for group, above in dict.fromkeys((owner[one.metal], one.above) for one in touched):
        alike = [one for one in touched if (owner[one.metal], one.above) == (group, above)]
        yield group, above, alike


def _stray(
    sheets: FieldSheets, result: Result, symbol: str, factor: float
) -> Iterator[Template]:
    """Open readings at the worst places, as shares of the voltage of what drives them."""
    for group, above, mine in _touched(sheets, result):
        rows = [
            (*_at(one.foot, factor), None, f"{one.name} {one.metal[:60]}")
            for one in mine
            if one.prospective is not None
        ]
        if not rows:
            continue
        name = f"stray voltage on {group}" + ", soil above it" * above
        (stem,) = file_stems((name,))
        ends = ("probe", group) if above else (group, "probe")
        block = (
            f"- name: {_text(name)}",
            f"  electrode: {_text(sheets.electrode)}",
            f"  source_voltage: {_blank} V  # of its metal to a pin in remote ground, then",
            f"  across: [{', '.join(map(_text, ends))}]",
            f"  file: {_text(f'{stem}.csv')}",
        )
        header = (f"x [{symbol}]", f"y [{symbol}]", "voltage [V]", "note")
        notes = (_fill, "Open readings; the voltage that drives them goes into measured.yaml.")
        commented = tuple(f"# {line}" for line in block)
        yield Template(name, f"{stem}.csv", header, tuple(rows), notes, commented)


def _expected(one: TestPoint) -> str:
    metal = f" {one.metal}" if one.metal else ""
    return f"{one.name}{metal[:60]}; expected {significant(float(one.expected[0]))} ohm"


def _series(
    name: str,
    *,
    header: tuple[str, ...],
    rows: Sequence[tuple[object, ...]],
    sheets: FieldSheets,
    across: tuple[str, str],
    more: tuple[str, ...] = (),
) -> Template:
    """A table with its series of the block `measured`."""
    (stem,) = file_stems((name,))
    file = f"{stem}.csv"
    block = (
        f"- name: {_text(name)}",
        f"  electrode: {_text(sheets.electrode)}",
        f"  current_returns: {_pair(sheets.probe.place)}  # the current probe",
        f"  across: [{', '.join(map(_text, across))}]",
        *(f"  {line}" for line in more),
        f"  file: {_text(file)}",
    )
    notes = (_fill, "Resistance is the voltage over the current that the tester drives.")
    return Template(name, file, header, tuple(rows), notes, block)


def measured_block(made: Sequence[Template]) -> str:
    """The block `measured` of a case that takes all tables that are series."""
    lines = [
        "# For the case, once the tables that it names lie beside it: take out the series that",
        "# were not read. A workbook goes too: file: readings.xlsx, sheet: NAME OF THE SERIES.",
        f"# For stray voltages take away the # and give the voltage in the place of {_blank}.",
        "measured:",
        "  series:",
    ]
    for one in made:
        lines += [f"    {line}" for line in one.block]
    return "\n".join(lines) + "\n"


def _text(text: str) -> str:
    """Text as a case file may hold it, whatever is in it."""
    return json.dumps(text, ensure_ascii=False)


def _pair(place: tuple[float, float]) -> str:
    x, y = (f"{round(value, 4) + 0.0:.9g} m" for value in place)
    return f"[{x}, {y}]"


def _mapping(**values: str) -> str:
    return "{" + ", ".join(f"{key}: {value}" for key, value in values.items()) + "}"


def _degrees(angle: float) -> str:
    return f"{round(math.degrees(angle), 6):.9g} deg"


def _at(place: tuple[float, float], factor: float) -> tuple[float, float]:
    x, y = (round(value * factor, 3) + 0.0 for value in place)
    return x, y
