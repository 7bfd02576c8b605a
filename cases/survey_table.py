"""Soil surveys from tables: one reading a row, of any array, with or without traverses."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import partial

from ..errors import BudgetError, CaseError, Problem
from ..solver.soundings import Traverse
from . import quantities as q
from .documents import decoded
from .limits import MOST_READINGS
from .survey_columns import ARRAYS, COLUMNS, PERCENT, PINS, WORDS, form, wanted
from .survey_marks import Line, table_lines
from .survey_rows import Pins, Row, schlumberger_pins, wenner_pins
from .tables import MOST_FAULTS, heading_form, number_form

_yes_no = {"": None, "yes": True, "no": False}


@dataclass(frozen=True)
class SurveyTable:
    """Readings of one table.

    Attributes
    ----------
    rows : tuple of Row
        The readings in the order of the file.
    traverses : tuple of Traverse
        The traverses in the order in which they first appear.
    """

    rows: tuple[Row, ...]
    traverses: tuple[Traverse, ...]


def read_survey_table(content: bytes, *, file: str) -> SurveyTable:
    """Readings of a table.

    Parameters
    ----------
    content : bytes
        Bytes of the file: UTF-8 text in which headings with units come first. Commas,
        semicolons or tabs separate the cells, a decimal comma is recognised where it is
        certain, lines that start with # are comments.
    file : str
        Name of the file, for messages.

    Raises
    ------
    CaseError
        If anything is wrong, with all that is wrong and the lines.
    BudgetError
        If there are more readings than the limits allow.
    """
    return _Reader(file).read(table_lines(decoded(content, file=file), file=file))


@dataclass
class _Reader:
    """Reads rows and collects what is wrong with them."""

    file: str
    problems: list[Problem] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    factors: dict[str, float] = field(default_factory=dict)
    told: dict[str, dict[str, list[str]]] = field(default_factory=dict)  # by traverse

    def read(self, lines: Sequence[Line]) -> SurveyTable:
        headings, *rest = lines
        self._headings(headings)
        if len(rest) > MOST_READINGS:
            msg = f"has {len(rest):,} readings; at most {MOST_READINGS:,} are read"
            raise BudgetError([Problem(msg, file=self.file, line=rest[MOST_READINGS].number)])
        if not rest:
            self._fault(headings.number, "holds no readings below its headings")
        rows = []
        for line in rest:
            if len(self.problems) >= MOST_FAULTS:
                self._fault(line.number, "more rows are wrong; reading stopped here")
                break
            row = self._row(line)
            if row is not None:
                rows.append(row)
        if self.problems:
            raise CaseError(self.problems)
        traverses = (
            Traverse(name, **{key: "; ".join(words) for key, words in told.items()})
            for name, told in self.told.items()
        )
        return SurveyTable(tuple(rows), tuple(traverses))

    def _headings(self, line: Line) -> None:
        for heading in line.cells:
            name = self._heading(heading, line=line.number)
            if name in self.names:
                self._fault(line.number, f"heading {heading[:40]!r} stands twice; keep one")
            self.names.append(name)
        if not self.problems:
            where = [kind for kind, keys in ARRAYS.items() if set(keys) <= set(self.names)]
            if not where:
                msg = "no columns that say where the pins were; " + wanted()
                self._fault(line.number, msg)
        if self.problems:
            raise CaseError(self.problems)

    def _heading(self, heading: str, *, line: int) -> str:
        """Name of a column; the factor of its unit is kept."""
        if heading in WORDS:
            return heading
        match = heading_form.fullmatch(heading)
        name = "" if match is None else match["name"]
        # The trade's letter for the distance between neighbouring pins.
        name = "spacing" if name == "a" else name
        if match is None or name not in COLUMNS:
            bare = heading.split("[")[0].strip().lower().replace(" ", "_")
            close = get_close_matches(bare, [*COLUMNS, *WORDS], n=1)
            hint = f"did you mean {form(close[0])!r}? " if close else ""
            self._fault(line, f"heading {heading[:40]!r}; {hint}{wanted()}")
            return heading
        unit = match["unit"].strip()
        try:
            if COLUMNS[name].kind is PERCENT:
                if unit != "%":
                    msg = f"unit {unit!r}: a deviation is in % of the reading; write [%]"
                    raise CaseError(msg)
                self.factors[name] = 1.0
            elif "AWG" in unit:
                msg = "a column cannot be in AWG; give diameters in mm or in"
                raise CaseError(msg)
            else:
                self.factors[name] = q.quantity(f"1 {unit}", kind=COLUMNS[name].kind)
        except CaseError as error:
            self._fault(line, f"heading {heading[:40]!r}: {error}")
        return name

    def _row(self, line: Line) -> Row | None:
        before = len(self.problems)
        if len(line.cells) != len(self.names):
            self._fault(
                line.number,
                f"{len(line.cells)} cells, the headings name {len(self.names)}; write a "
                "separator for an empty cell too",
            )
            return None
        cells = dict(zip(self.names, line.cells, strict=True))
        words = {key: cells.get(key, "") for key in WORDS}
        values = {
            name: self._number(cell, name, line.number)
            for name, cell in cells.items()
            if name in COLUMNS and cell
        }
        if words["depth_corrected"] not in _yes_no:
            msg = f"depth_corrected: {words['depth_corrected'][:40]!r}; write yes or no"
            self._fault(line.number, msg)
        array = self._array(values, line.number)
        self._value_given(values, line.number, rod=array == "driven rod")
        traverse = self._traverse(words, line.number)
        if len(self.problems) > before:
            return None
        return Row(
            problem=partial(Problem, file=self.file, line=line.number),
            traverse=traverse,
            pins=_pins(values, array=array),
            driven_length=values.get("driven_length", math.nan),
            diameter=values.get("diameter", math.nan),
            resistance=values.get("resistance", math.nan),
            apparent_resistivity=values.get("apparent_resistivity", math.nan),
            deviation=values.get("deviation", math.nan) / 100,
            pin_depth=values.get("pin_depth", 0.0),
            depth_corrected=_yes_no[words["depth_corrected"]],
        )

    def _number(self, cell: str, name: str, line: int) -> float:
        column = COLUMNS[name]
        if not number_form.fullmatch(cell):
            self._fault(line, f"{name}: {cell[:40]!r} is not a plain number")
            return math.nan
        value = float(cell) * self.factors.get(name, 1.0)
        if not column.least <= value <= column.most:
            self._fault(
                line,
                f"{name}: {cell} is {value:g} {column.kind.unit}; allowed from "
                f"{column.least:g} to {column.most:g} {column.kind.unit}",
            )
        return value

    def _array(self, values: dict[str, float], line: int) -> str:
        """Array of a row: the one whose columns it fills."""
        begun = [name for name, keys in ARRAYS.items() if any(key in values for key in keys)]
        if len(begun) != 1:
            got = " and ".join(begun) if begun else "none"
            msg = f"fill the columns of exactly one array ({', '.join(ARRAYS)}); got {got}"
            self._fault(line, msg)
            return ""
        missing = [key for key in ARRAYS[begun[0]] if key not in values]
        if missing:
            self._fault(line, f"{begun[0]}: give {' and '.join(missing)} too")
        return begun[0]

    def _value_given(self, values: dict[str, float], line: int, *, rod: bool) -> None:
        """Make a resistance of voltage and current; refuse rows without any reading."""
        pair = [key for key in ("voltage", "current") if key in values]
        if pair and "resistance" in values:
            self._fault(line, "give resistance, or voltage and current, not both")
        elif len(pair) == 1:
            self._fault(line, "voltage and current go together; give both, or the resistance")
        elif pair and values["current"] == 0:
            self._fault(line, "current: 0 A; a reading needs a current")
        elif pair:
            values["resistance"] = values["voltage"] / values["current"]
        elif rod and "resistance" not in values:
            self._fault(line, "driven rod: give its resistance, or voltage and current")
        elif "resistance" not in values and "apparent_resistivity" not in values:
            self._fault(
                line,
                "no reading; give resistance, voltage and current, or apparent_resistivity",
            )

    def _traverse(self, words: dict[str, str], line: int) -> int:
        """Index of the row's traverse, with what the row says about it kept."""
        name = words["traverse"]
        if "traverse" in self.names and not name:
            self._fault(line, "traverse: is empty; every row names its traverse")
        if any(not word.isprintable() or len(word) > 200 for word in words.values()):
            self._fault(line, "text has at most 200 printable characters")
        name = name or self.file.rsplit("/", maxsplit=1)[-1].rsplit(".", maxsplit=1)[0]
        told = self.told.setdefault(name, {"direction": [], "date": [], "note": []})
        for key, said in told.items():
            word = words[key]
            if word and word not in said:
                if said and key != "note":
                    msg = (
                        f"{key}: {word!r} contradicts {said[0]!r} given before for traverse "
                        f"{name!r}; make it another traverse"
                    )
                    self._fault(line, msg)
                said.append(word)
        return list(self.told).index(name)

    def _fault(self, line: int, message: str) -> None:
        self.problems.append(Problem(message, file=self.file, line=line))


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
