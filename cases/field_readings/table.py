"""Tables of meter readings: what columns they have."""

from ..reading import quantities as q
from ..reading.readings_table import ReadingsTable, TableRow
from ..reading.table_columns import DEPTH, DEVIATION, PLACE, Column, Headings

_share = q.Kind("share of the source voltage", "1", ("0.56",))
_headings = Headings(
    columns={
        "distance": DEPTH,
        "x": PLACE,
        "y": PLACE,
        "depth": DEPTH,
        "second_x": PLACE,
        "second_y": PLACE,
        "second_depth": DEPTH,
        "voltage": Column(q.VOLTAGE, -1e6, 1e6),
        "current": Column(q.CURRENT, -1e5, 1e5),
        "resistance": Column(q.RESISTANCE, -1e6, 1e6),
        "fraction": Column(_share, -2.0, 2.0, units={"1": 1.0, "%": 0.01}),
        "background_voltage": Column(q.VOLTAGE, -1e6, 1e6),
        "deviation": DEVIATION,
    },
    words=("note",),
    wanted=(
        "a heading is a name and a unit: distance [m], or x [m] and y [m]; optional depth [m], "
        "second_x [m], second_y [m], second_depth [m]; one of voltage [V], resistance [ohm], "
        "fraction [%]; optional current [A], background_voltage [V], deviation [%], note"
    ),
)


def read_measured_table(content: bytes, *, file: str) -> tuple[TableRow, ...]:
    """Rows of a table of meter readings.

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
    return ReadingsTable(content, file=file, headings=_headings).read(lambda row: row)
