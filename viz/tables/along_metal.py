"""Tables of metal with voltages along it: from node to node, where it is fed, leads."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from ...solver.results.along_metal import AlongTold, along_lines, driven_of, rail_lines
from ...solver.results.result import Result
from .result_table import write_result_table

_turned = "Phasors are turned so that the largest rise is real; voltages to remote earth."


def write_along(result: Result, path: Path) -> None:
    """Write voltage and current along the metal, a row for each length between nodes."""
    driven = driven_of(result)
    assert driven is not None  # or there is no such table
    lines = along_lines(driven) + rail_lines(driven)
    names = driven.solution.conductors.part_names
    columns = [
        [names[part] for part in lines.part.tolist()],
        *lines.start.T.tolist(),
        *lines.end.T.tolist(),
        *_parts(lines.first),
        *_parts(lines.last),
        *_parts(lines.current),
    ]
    write_result_table(
        path,
        result=result,
        notes=[
            "Voltage at both ends of each length of metal, and the current from its first end "
            f"to its last; rails of fences after the rest. {_turned}"
        ],
        header=["part", "x1 [m]", "y1 [m]", "z1 [m]", "x2 [m]", "y2 [m]", "z2 [m]",
                "first end, in phase [V]", "first end, 90 deg ahead [V]",
                "last end, in phase [V]", "last end, 90 deg ahead [V]",
                "current, in phase [A]", "current, 90 deg ahead [A]"],
        rows=list(zip(*columns, strict=True)),
    )  # fmt: skip


def write_ports(result: Result, told: AlongTold, path: Path) -> None:
    """Write current, voltage and impedance of each place that is fed, then named places."""
    none = complex("nan")
    rows = [(row.name, row.current, row.voltage, row.impedance) for row in told.ports]
    rows += [(row.name, none, row.voltage, none) for row in told.places]
    write_result_table(
        path,
        result=result,
        notes=[
            "Places where current enters or leaves the metal, with their impedance to remote "
            f"earth while none enters the others; then other places with a name. {_turned}"
        ],
        header=["place", *_heads("current into it", "A"), *_heads("rise", "V"),
                *_heads("impedance", "ohm")],
        rows=[
            (name, *(part for value in values for part in (value.real, value.imag)))
            for name, *values in rows
        ],
    )  # fmt: skip


def write_leads(result: Result, told: AlongTold, path: Path) -> None:
    """Write the current along each lead and joint, and the voltage between its ends."""
    write_result_table(
        path,
        result=result,
        notes=[f"Leads, and joints that are not sound, from first end to second. {_turned}"],
        header=["lead or joint", *_heads("current", "A"), *_heads("between its ends", "V")],
        rows=[
            (row.name, row.current.real, row.current.imag, row.voltage.real, row.voltage.imag)
            for row in told.leads
        ],
    )


def _parts(values: object) -> Sequence[Sequence[float]]:
    return [np.real(values).tolist(), np.imag(values).tolist()]  # type: ignore[call-overload]


def _heads(name: str, unit: str) -> tuple[str, str]:
    return f"{name}, in phase [{unit}]", f"{name}, 90 deg ahead [{unit}]"
