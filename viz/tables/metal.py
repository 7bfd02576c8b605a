"""Tables of the metal: electrodes, their parts, the current each line element lets out."""

from pathlib import Path

import numpy as np

from ...solver.drives import in_phase
from ...solver.results.result import Result
from ..row_data import electrode_rows, part_share
from ..wording import reference
from .result_table import phasor_columns, phasor_heading, write_result_table

_rounding = 1e-12  # of the largest current of a part; less is round-off of one that floats


def write_electrodes(result: Result, path: Path) -> None:
    """Write voltage, current and resistance of each electrode."""
    point, contact = result.operating, result.contact_resistance
    given = any(contact)
    rows = [
        (
            row.name,
            drive.kind,
            *phasor_columns(row.voltage, like=point.voltage),
            *phasor_columns(row.current, like=point.voltage),
            row.resistance,
            *contact[k : k + given],
        )
        for k, (row, drive) in enumerate(
            zip(electrode_rows(result), result.drives, strict=True)
        )
    ]
    write_result_table(
        path,
        result=result,
        notes=[
            reference,
            "Current flows from the electrode into the soil; negative where it returns.",
            "Resistance: to remote earth, of the electrode and all bonded to it, with the "
            "others carrying no net current.",
            *["Contact in series: between its metal and the soil, part of it."] * given,
        ],
        header=[
            "electrode",
            "drive",
            *phasor_heading("rise", "V", like=point.voltage),
            *phasor_heading("current", "A", like=point.voltage),
            "resistance [ohm]",
            *["contact in series [ohm]"] * given,
        ],
        rows=rows,
    )


def write_parts(result: Result, path: Path) -> None:
    """Write length, current and share of each part."""
    metal = result.solution.conductors
    current = result.field.part_current()
    current[np.abs(current) < _rounding * np.abs(current).max()] = 0.0
    length = np.bincount(metal.part, weights=metal.length, minlength=len(metal.part_names))
    rows = []
    for part, name in enumerate(metal.part_names):
        group = int(metal.group[metal.part == part][0])
        share = 100 * part_share(result, part)
        amperes = phasor_columns(current[part], like=current)
        rows.append((result.group_names[group], name, float(length[part]), *amperes, share))
    write_result_table(
        path,
        result=result,
        notes=[
            "Current flows from the part into the soil; negative where it enters the metal.",
            "Share: of the net current of its electrode; empty where that is zero.",
        ],
        header=[
            "electrode",
            "part",
            "length [m]",
            *phasor_heading("current", "A", like=current),
            "share [%]",
        ],
        rows=rows,
    )


def write_leakage(result: Result, path: Path) -> None:
    """Write the current that leaves each line element."""
    elements, metal = result.solution.elements, result.solution.conductors
    middle, leakage = elements.middle.tolist(), in_phase(result.field.leakage).tolist()
    length = elements.length.tolist()
    rows = (
        (
            result.group_names[int(elements.group[k])],
            metal.part_names[int(metal.part[elements.piece[k]])],
            *middle[k],
            length[k],
            leakage[k],
        )
        for k in range(len(elements))
    )
    write_result_table(
        path,
        result=result,
        notes=[
            "One line for each line element: its middle (z up, the surface is z = 0), its "
            "length, and the current per length that leaves it; negative where it enters.",
        ],
        header=["electrode", "part", "x [m]", "y [m]", "z [m]", "length [m]", "leakage [A/m]"],
        rows=rows,
    )
