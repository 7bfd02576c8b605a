"""Soil surveys from tables: one reading a row, of any array, with or without traverses."""

import math
from dataclasses import dataclass

from ...solver.soil_survey import Traverse
from ..reading.readings_table import ReadingsTable, TableRow
from .columns import ARRAYS, HEADINGS, PINS
from .rows import Pins, SurveyRow, schlumberger_pins, wenner_pins

_yes_no = {"": None, "yes": True, "no": False}


@dataclass(frozen=True)
class SurveyTable:
    """Readings of one table.

    Attributes
    ----------
    rows : tuple of SurveyRow
        The readings in the order of the file.
    traverses : tuple of Traverse
        The traverses in the order in which they first appear.
    """

    rows: tuple[SurveyRow, ...]
    traverses: tuple[Traverse, ...]


def read_survey_table(content: bytes, *, file: str) -> SurveyTable:
    """Readings of a table.

    Parameters
    ----------
    content : bytes
        Bytes of the file, as `ReadingsTable` takes them.
    file : str
        Name of the file, for messages.

    Raises
    ------
    CaseError
        If anything is wrong, with all that is wrong and the lines.
    BudgetError
        If there are more readings than the limits allow.
    """
    table = ReadingsTable(content, file=file, headings=HEADINGS)
    if not any(set(names) <= set(table.names) for names in ARRAYS.values()):
        table.refuse_headings(f"no columns that say where the pins were; {HEADINGS.wanted}")
    survey = _Survey(table, file)
    rows = table.read(survey.row)
    return SurveyTable(rows, survey.traverses)


class _Survey:
    """Makes readings of rows, and keeps what rows say about their traverses."""

    def __init__(self, table: ReadingsTable, file: str) -> None:
        self._table = table
        # Rows without a name belong to one traverse, called like the file.
        self._usual_name = file.rsplit("/", maxsplit=1)[-1].rsplit(".", maxsplit=1)[0]
        self._told: dict[str, dict[str, list[str]]] = {}  # by traverse
        self._sound = True

    @property
    def traverses(self) -> tuple[Traverse, ...]:
        """The traverses in the order in which they first appear."""
        return tuple(
            Traverse(name, **{key: "; ".join(words) for key, words in told.items()})
            for name, told in self._told.items()
        )

    def row(self, row: TableRow) -> SurveyRow | None:
        """The reading of a row; None where something is wrong, which the table is told."""
        self._sound = True
        values, words = row.values, row.words
        if words["depth_corrected"] not in _yes_no:
            msg = f"depth_corrected: {words['depth_corrected'][:40]!r}; write yes or no"
            self._fault(row, msg)
        array = self._array(row)
        resistance = self._resistance(row, rod=array == "driven rod")
        traverse = self._traverse(row)
        if not self._sound:
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

    def _array(self, row: TableRow) -> str:
        """Array of a row: the one whose columns it fills."""
        begun = [
            name for name, keys in ARRAYS.items() if any(key in row.values for key in keys)
        ]
        if len(begun) != 1:
            got = " and ".join(begun) if begun else "none"
            msg = f"fill the columns of exactly one array ({', '.join(ARRAYS)}); got {got}"
            self._fault(row, msg)
            return ""
        missing = [key for key in ARRAYS[begun[0]] if key not in row.values]
        if missing:
            self._fault(row, f"{begun[0]}: give {' and '.join(missing)} too")
        return begun[0]

    def _resistance(self, row: TableRow, *, rod: bool) -> float:
        """Resistance of a row, nan where it gives another reading; none at all is refused."""
        values = row.values
        pair = [key for key in ("voltage", "current") if key in values]
        if pair and "resistance" in values:
            self._fault(row, "give resistance, or voltage and current, not both")
        elif len(pair) == 1:
            self._fault(row, "voltage and current go together; give both, or the resistance")
        elif pair and values["current"] == 0:
            self._fault(row, "current: 0 A; a reading needs a current")
        elif pair:
            return values["voltage"] / values["current"]
        elif rod and "resistance" not in values:
            self._fault(row, "driven rod: give its resistance, or voltage and current")
        elif "resistance" not in values and "apparent_resistivity" not in values:
            self._fault(
                row,
                "no reading; give resistance, voltage and current, or apparent_resistivity",
            )
        return values.get("resistance", math.nan)

    def _traverse(self, row: TableRow) -> int:
        """Index of the row's traverse, with what the row says about it kept."""
        words = row.words
        name = words["traverse"]
        if "traverse" in self._table.names and not name:
            self._fault(row, "traverse: is empty; every row names its traverse")
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
                    self._fault(row, msg)
                said.append(word)
        return list(self._told).index(name)

    def _fault(self, row: TableRow, message: str) -> None:
        self._sound = False
        self._table.refuse(row, message)


def _pins(values: dict[str, float], *, array: str) -> Pins | None:
    """Places of the four pins of a row; None for a driven rod."""
    if array == "Wenner":
        return wenner_pins(values["spacing"])
    if array == "Schlumberger":
        return schlumberger_pins(
            values["half_current_spacing"], values["half_potential_spacing"]
        )
    if array == "four positions":
        return (values[PINS[0]], values[PINS[1]], values[PINS[2]], values[PINS[3]])
    return None
