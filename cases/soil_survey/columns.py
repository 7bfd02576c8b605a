"""Columns of a survey table: which there are, in what units, how their headings read."""

from ..reading import quantities as q
from ..reading.size_limits import LARGEST_LENGTH, THICKEST, THINNEST
from ..reading.table_columns import DEVIATION, PLACE, Column, Headings

_shortest = 1e-3  # of a spacing: zero and negative ones are refused here

_spacing = Column(q.LENGTH, _shortest, LARGEST_LENGTH)
PINS = ("current_pin_1", "potential_pin_1", "potential_pin_2", "current_pin_2")

# Columns that say where a reading was taken; a row fills those of one array.
ARRAYS: dict[str, tuple[str, ...]] = {
    "Wenner": ("spacing",),
    "Schlumberger": ("half_current_spacing", "half_potential_spacing"),
    "four positions": PINS,
    "driven rod": ("driven_length", "diameter"),
}
_columns = {
    "spacing": _spacing,
    "half_current_spacing": _spacing,
    "half_potential_spacing": _spacing,
    **dict.fromkeys(PINS, PLACE),
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
        for array, names in ARRAYS.items()
    )
    values = "resistance [ohm], or voltage [V] and current [A], or apparent_resistivity [ohm*m]"
    more = "deviation [%], pin_depth [m], depth_corrected, traverse, direction, date, note"
    return f"a heading is a name and a unit ({where}); then {values}; optional {more}"


HEADINGS = Headings(
    columns=_columns,
    words=("traverse", "direction", "date", "note", "depth_corrected"),
    # The trade's letter for the distance between neighbouring pins.
    also={"a": "spacing"},
    wanted=_wanted(),
)
