"""Table of how far metal is from one potential, for each metal and feed tried."""

from pathlib import Path

from ...solver.metal import OnePotential
from ...solver.results.result import Result
from .result_table import write_result_table


def write_one_potential(result: Result, found: OnePotential, path: Path) -> None:
    """Write the voltage along the metal, the smallest first."""
    touch = found.touch or float("nan")
    nowhere = (float("nan"),) * 3
    write_result_table(
        path,
        result=result,
        notes=[
            "Voltage along the metal: largest difference from its mean, of the first order, "
            "with the leakage of metal at one potential. Impedance: voltage at the feed over "
            "that of metal at one potential.",
            f"Frequency {found.frequency:g} Hz, "
            f"{'as the case says' if found.frequency_given else 'taken: the case says none'}.",
        ],
        header=["metal of parts without a material", "fed at", "electrode", "x [m]", "y [m]",
                "z [m]", "voltage along the metal [V]", "share of the rise [%]",
                "share of the worst touch voltage [%]", "impedance [times]", "standing"],
        rows=[
            (
                item.metal or "as stated",
                item.feed,
                item.electrode,
                *(item.place or nowhere),
                item.drop,
                100 * item.drop / found.rise,
                100 * item.drop / touch,
                item.impedance,
                found.standing(item),
            )
            for item in found.drops
        ],
    )  # fmt: skip
