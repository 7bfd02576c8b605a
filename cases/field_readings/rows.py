"""Readings of one series as written, from the case file itself or from a table beside it."""

import hashlib
import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from ...solver.errors import Problem
from ..reading.beside import content_at_key
from ..reading.documents import Document, Step
from . import schema as schema
from .table import read_measured_table


@dataclass(frozen=True)
class MeasuredRow:
    """One reading as written; None for what it leaves to its series.

    Attributes
    ----------
    problem : callable of str
        Makes a problem with the row's place of a message.
    at, second_at : tuple of float or None
        Vertices of the probes, (x, y) or (x, y, depth); nan for a cell left empty. [m]
    distance : float or None
        Of the probe along the line of the series. [m]
    voltage, resistance, fraction : float or None
        What was read: volts, ohms, or the share of the source voltage. [V, Ω, 1]
    current : float or None
        While it was read. [A]
    background : float or None
        Voltage without the test current. [V]
    deviation : float or None
        One standard deviation as a share of the reading. [1]
    note : str
        The user's words.
    """

    problem: Callable[[str], Problem]
    at: tuple[float, ...] | None
    second_at: tuple[float, ...] | None
    distance: float | None
    voltage: float | None
    resistance: float | None
    fraction: float | None
    current: float | None
    background: float | None
    deviation: float | None
    note: str


def measured_rows(
    series: schema.Series,
    *,
    path: tuple[Step, ...],
    document: Document,
    folder: Path | None,
) -> tuple[list[MeasuredRow], str]:
    """Rows of one series, and the hash of the table they stand in; empty without one.

    Parameters
    ----------
    document : Document
        Document of the case, for lines and places.
    folder : Path or None
        Folder of the case file, for the table.

    Raises
    ------
    CaseError
        If the table is missing or anything is wrong with it; with line numbers.
    BudgetError
        If the table is larger than the limits allow.
    """
    if series.readings is not None:
        rows = [
            MeasuredRow(
                problem=partial(document.problem, path=(*path, "readings", number)),
                at=r.at, second_at=r.second_at, distance=r.distance, voltage=r.voltage,
                resistance=r.resistance, fraction=r.fraction, current=r.current,
                background=r.background_voltage, deviation=r.deviation, note=r.note,
            )
            for number, r in enumerate(series.readings)
        ]  # fmt: skip
        return rows, ""
    assert series.file is not None
    content = content_at_key(series.file, folder=folder, document=document, path=path)
    rows = []
    for row in read_measured_table(content, file=series.file):
        v = row.values
        rows.append(
            MeasuredRow(
                problem=row.problem,
                at=_vertex(v, ""), second_at=_vertex(v, "second_"), distance=v.get("distance"),
                voltage=v.get("voltage"), resistance=v.get("resistance"),
                fraction=v.get("fraction"), current=v.get("current"),
                background=v.get("background_voltage"),
                deviation=v["deviation"] / 100 if "deviation" in v else None,
                note=row.words["note"],
            )
        )  # fmt: skip
    return rows, hashlib.sha256(content).hexdigest()


def _vertex(values: dict[str, float], prefix: str) -> tuple[float, ...] | None:
    """Place in a row of a table; nan stands for what is missing."""
    keys = [f"{prefix}{axis}" for axis in ("x", "y", "depth")]
    if not any(key in values for key in keys):
        return None
    x, y, depth = (values.get(key, math.nan) for key in keys)
    return (x, y, 0.0 if math.isnan(depth) else depth)
