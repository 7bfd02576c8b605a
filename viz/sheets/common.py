"""What all field sheets have in common: cautions, a head to fill in, lengths and amounts."""

import math
from collections.abc import Sequence

from ..cautions import ON_FIELD_SHEETS
from ..report.contents import Block, Cell, Paragraph, Section, Table
from ..wording import length_unit, short, significant
from ..words.text import Text, in_units, say

_joined = "\u00a0"  # between a number and its unit, which no line breaks
_head = (
    "Date and time", "Weather, ground (dry, moist, frozen)", "Instruments, numbers, last check",
    "Measured by", "In charge",
)  # fmt: skip


def sheet(key: str, title: str, *blocks: Block) -> Section:
    """A sheet: cautions first, then who measures when and with what, then its own."""
    warning = Paragraph(ON_FIELD_SHEETS, "warning")
    return Section(key, title, (warning, to_fill(_head), *blocks))


def to_fill(header: Sequence[Cell], rows: Sequence[Sequence[Cell]] = ()) -> Table:
    """A table to write in; one empty row if none is given."""
    given = [tuple(row) for row in rows] or [("",) * len(header)]
    return Table(tuple(header), tuple(given), to_write=True)


def length(value: float) -> Text:
    """A length as it is paced out or taped. [m]"""

    def words(units: str) -> str:
        unit = length_unit(units)
        shown = value * unit.factor
        digits = 2 if abs(shown) < 9.995 else 1
        return f"{short(round(shown, digits))}{_joined}{unit.symbol}"

    return in_units(words)


def place(at: tuple[float, float]) -> Text:
    """A place on the plan of the case. [m]"""

    def words(units: str) -> str:
        unit = length_unit(units)
        x, y = (round(value * unit.factor, 1) + 0.0 for value in at)
        return f"({x:.1f}, {y:.1f}) {unit.symbol}".replace("-", "−")

    return in_units(words)


def ohms(value: float) -> str:
    """A reading to three figures."""
    return f"{significant(value)}{_joined}Ω" if math.isfinite(value) else "–"


def between(low: float, high: float, *, symbol: str = "") -> str:
    """A range; one value where both ends read alike."""
    one, other = significant(low), significant(high)
    text = one if one == other else f"{one} to {other}"
    return f"{text}{_joined}{symbol}" if symbol else text


def direction(azimuth: float, north: float | None) -> Text:
    """Direction of a lead on the plan, and by compass where the case has a north."""
    degrees = short(round(math.degrees(azimuth) % 360, 1))
    text = say("{}° from the x axis towards the y axis", degrees)
    if north is None:
        return text
    # Clockwise from true north, which lies `north` clockwise of +y.
    bearing = math.degrees(0.5 * math.pi - azimuth - north) % 360
    return text + f", true bearing {round(bearing) % 360:.0f}°"
