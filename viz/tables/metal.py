"""Tables of the metal: electrodes, their parts, the current each line element lets out."""

from pathlib import Path

import numpy as np

from ...solver.drives import in_phase
from ...solver.model import Conductors, Floats
from ...solver.patches import areas
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
    flat, side = metal.flat, _areas(metal)
    count = len(metal.part_names)
    length = np.bincount(metal.part, np.where(flat, 0.0, metal.length), count)
    area = np.bincount(metal.part, side, count)
    plates = flat.any()
    rows = []
    for part, name in enumerate(metal.part_names):
        group = int(metal.group[metal.part == part][0])
        share = 100 * part_share(result, part)
        amperes = phasor_columns(current[part], like=current)
        sizes = (float(length[part]), float(area[part])) if plates else (float(length[part]),)
        rows.append((result.group_names[group], name, *sizes, *amperes, share))
    write_result_table(
        path,
        result=result,
        notes=[
            "Current flows from the part into the soil; negative where it enters the metal.",
            "Share: of the net current of its electrode; empty where that is zero.",
            *(["Area: of plates, on one side."] if plates else []),
        ],
        header=[
            "electrode",
            "part",
            "length [m]",
            *(["area [m²]"] if plates else []),
            *phasor_heading("current", "A", like=current),
            "share [%]",
        ],
        rows=rows,
    )


def write_leakage(result: Result, path: Path) -> None:
    """Write the current that leaves each line element."""
    elements, metal = result.elements, result.solution.conductors
    middle, leakage = elements.middle.tolist(), in_phase(result.field.leakage).tolist()
    length, current = elements.length.tolist(), in_phase(result.field.element_current)
    flat, side = elements.flat, np.zeros(len(elements))
    plates = bool(flat.any())
    if plates and elements.corners is not None:
        side[flat] = areas(elements.corners[flat])

    def sizes(k: int) -> tuple[float | str, ...]:
        """Length and leakage; beside plates, area and current too."""
        if not plates:
            return length[k], leakage[k]
        if flat[k]:
            return "", "", float(side[k]), float(current[k])
        return length[k], leakage[k], "", float(current[k])

    rows = (
        (
            result.group_names[int(elements.group[k])],
            metal.part_names[int(metal.part[elements.piece[k]])],
            *middle[k],
            *sizes(k),
        )
        for k in range(len(elements))
    )
    write_result_table(
        path,
        result=result,
        notes=[
            "One line for each line element: its middle (z up, the surface is z = 0), its "
            "length, and the current per length that leaves it; negative where it enters.",
            *(
                ["Of a patch of a plate its area on one side, and its current."]
                if plates
                else []
            ),
        ],
        header=[
            *("electrode", "part", "x [m]", "y [m]", "z [m]", "length [m]", "leakage [A/m]"),
            *(("area [m²]", "current [A]") if plates else ()),
        ],
        rows=rows,
    )


def _areas(metal: Conductors) -> Floats:
    """Area on one side of each patch of a plate, 0 of round metal, shape (n,). [m²]"""
    if metal.corners is None:
        return np.zeros(len(metal.start))
    return np.where(metal.flat, areas(metal.corners), 0.0)
