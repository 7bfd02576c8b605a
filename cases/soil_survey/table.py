"""Soil surveys from tables: one reading a row, of any array, with or without traverses."""

import math
from dataclasses import dataclass

from ...solver.soil_survey import Traverse
from ..reading import quantities as q
from ..reading.size_limits import LARGEST_LENGTH, THICKEST, THINNEST
from ..reading.table_columns import DEVIATION, PLACE, Column, Headings
from ..reading.tables import Row, Table
from .rows import Pins, SurveyRow, schlumberger_pins, wenner_pins
from .schema import fault_of_values

_shortest = 1e-3  # of a spacing: zero and negative ones are refused here

_spacing = Column(q.LENGTH, _shortest, LARGEST_LENGTH)
_four = ("current_pin_1", "potential_pin_1", "potential_pin_2", "current_pin_2")

# Columns that say where a reading was taken; a row fills those of one array.
_arrays: dict[str, tuple[str, ...]] = {
    "Wenner": ("spacing",),
    "Schlumberger": ("half_current_spacing", "half_potential_spacing"),
    "four positions": _four,
    "driven rod": ("driven_length", "diameter"),
}
_columns = {
    "spacing": _spacing,
    "half_current_spacing": _spacing,
    "half_potential_spacing": _spacing,
    **dict.fromkeys(_four, PLACE),
    "driven_length": _spacing,
    "diameter": Column(q.DIAMETER, THINNEST, THICKEST),
    "resistance": Column(q.RESISTANCE, -1e9, 1e9),
    "apparent_resistivity": Column(q.RESISTIVITY, 1e-3, 1e9),
    "voltage": Column(q.VOLTAGE, -1e5, 1e5),
    "current": Column(q.CURRENT, -1e4, 1e4),
    "deviation": DEVIATION,
    "pin_depth": Column(q.LENGTH, 0.0, 10.0),
}


def _wanted() -> str:
    """What headings a survey table may have, in one line."""
    where = "; ".join(
        f"{array}: {', '.join(_columns[name].heading(name) for name in names)}"
        for array, names in _arrays.items()
    )
    values = "resistance [ohm], or voltage [V] and current [A], or apparent_resistivity [ohm*m]"
    more = "deviation [%], pin_depth [m], depth_corrected, traverse, direction, date, note"
    return f"a heading is a name and a unit ({where}); then {values}; optional {more}"


_headings = Headings(
    columns=_columns,
    words=("traverse", "direction", "date", "note", "depth_corrected"),
    # The trade's letter for the distance between neighbouring pins.
    also={"a": "spacing"},
    wanted=_wanted(),
)
_yes_no = {"": None, "yes": True, "no": False}


@dataclass(frozen=True)
class SurveyTable:
    """Readings of one table."""

    rows: tuple[SurveyRow, ...]  # the readings in the order of the file
    traverses: tuple[Traverse, ...]  # the traverses in the order in which they first appear


def read_survey_table(content: bytes, *, file: str, sheet: str | None = None) -> SurveyTable:
    """Readings of a table from the bytes of its file, as `Table` takes them.

    `CaseError` with all that is wrong and the lines; `BudgetError` if there are more readings
    than the limits allow.
    """
    table = Table(content, file=file, headings=_headings, sheet=sheet)
    if not any(set(names) <= set(table.names) for names in _arrays.values()):
        table.refuse_headings(f"no columns that say where the pins were; {_headings.wanted}")
    survey = _Survey(table, file)
    rows = tuple(made for row in table.rows() if (made := survey.row(row)))
    return SurveyTable(rows, survey.traverses)


class _Survey:
    """Makes readings of rows, and keeps what rows say about their traverses."""

    def __init__(self, table: Table, file: str) -> None:
        self._table = table
        # Rows without a name belong to one traverse, called like the file.
        self._usual_name = file.rsplit("/", maxsplit=1)[-1].rsplit(".", maxsplit=1)[0]
        self._told: dict[str, dict[str, list[str]]] = {}  # by traverse

    @property
    def traverses(self) -> tuple[Traverse, ...]:
        """The traverses in the order in which they first appear."""
        return tuple(
            Traverse(name, **{key: "; ".join(words) for key, words in told.items()})
            for name, told in self._told.items()
        )

    def row(self, row: Row) -> SurveyRow | None:
        """The reading of a row; None where something is wrong, which the row is told."""
        values, words = row.values, row.words
        if words["depth_corrected"] not in _yes_no:
            msg = f"depth_corrected: {words['depth_corrected'][:40]!r}; write yes or no"
            row.refuse(msg)
        array = self._array(row)
        resistance = self._resistance(row, rod=array == "driven rod")
        traverse = self._traverse(row)
        if row.faults:
            return None
        return SurveyRow(
            problem=row.problem,
            traverse=traverse,
            pins=_pins(values, array=array),
            driven_length=values.get("driven_length", math.nan),
            diameter=values.get("diameter", math.nan),
            resistance=resistance,
            apparent_resistivity=values.get("apparent_resistivity", math.nan),
            deviation=values.get("deviation", math.nan) / 100,
            pin_depth=values.get("pin_depth", 0.0),
            depth_corrected=_yes_no[words["depth_corrected"]],
        )

    def _array(self, row: Row) -> str:
        """Array of a row: the one whose columns it fills."""
        begun = [
            name for name, keys in _arrays.items() if any(key in row.values for key in keys)
        ]
        if len(begun) != 1:
            got = " and ".join(begun) if begun else "none"
            msg = f"fill the columns of exactly one array ({', '.join(_arrays)}); got {got}"
            row.refuse(msg)
            return ""
        missing = [key for key in _arrays[begun[0]] if key not in row.values]
        if missing:
            row.refuse(f"{begun[0]}: give {' and '.join(missing)} too")
        return begun[0]

    def _resistance(self, row: Row, *, rod: bool) -> float:
        """Resistance of a row, nan where it gives another reading; none at all is refused."""
        values = row.values
        if fault := fault_of_values(values, rod=rod):
            row.refuse(fault)
        elif "voltage" in values:
            return values["voltage"] / values["current"]
        return values.get("resistance", math.nan)

    def _traverse(self, row: Row) -> int:
        """Index of the row's traverse, with what the row says about it kept."""
        words = row.words
        name = words["traverse"]
        if "traverse" in self._table.names and not name:
            row.refuse("traverse: is empty; every row names its traverse")
        name = name or self._usual_name
        told = self._told.setdefault(name, {"direction": [], "date": [], "note": []})
        for key, said in told.items():
            word = words[key]
            if word and word not in said:
                if said and key != "note":
                    msg = (
                        f"{key}: {word!r} contradicts {said[0]!r} given before for traverse "
                        f"{name!r}; make it another traverse"
                    )
                    row.refuse(msg)
                said.append(word)
        return list(self._told).index(name)


def _pins(values: dict[str, float], *, array: str) -> Pins | None:
    """Places of the four pins of a row; None for a driven rod."""
    if array == "Wenner":
        return wenner_pins(values["spacing"])
    if array == "Schlumberger":
        return schlumberger_pins(
            values["half_current_spacing"], values["half_potential_spacing"]
        )
    if array == "four positions":
        return (values[_four[0]], values[_four[1]], values[_four[2]], values[_four[3]])
    return None
