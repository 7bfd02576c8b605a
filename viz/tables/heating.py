"""Table of conductors in the heat of a fault."""

import math
from pathlib import Path

from ...solver.heating import Heating
from ...solver.limits import duration_in_words
from ...solver.results.result import Result
from .result_table import write_result_table


def write_heating(result: Result, heating: Heating, path: Path) -> None:
    """Write how hot each conductor gets, what limits it, and what would hold."""
    rows = [
        (
            item.name,
            item.use,
            item.outcome,
            item.material,
            1e6 * item.section,
            1e6 * item.corroded,
            item.current,
            item.current_words,
            item.temperature if math.isfinite(item.temperature) else float("nan"),
            item.limit,
            item.limit_words,
            item.fusing,
            1e6 * item.needed,
            *(*item.sizes, "", "")[:2],
            item.least,
        )
        for item in heating.conductors
    ]
    write_result_table(
        path,
        result=result,
        notes=[
            f"{heating.source}: from {heating.ambient:.9g} degC, metal keeping all heat.",
            f"Duration of the current: {duration_in_words(heating.duration)}; "
            f"{heating.duration_words}.",
            f"Currents include growth x {heating.growth_factor:.6g} and decrement x "
            f"{heating.decrement_factor:.6g}.",
            "Temperature: at the end of the fault, were the metal never to melt. Section "
            "needed: as new, to end at the limit.",
        ],
        header=["conductor", "use", "outcome", "material", "section [mm2]",
                "section left by corrosion [mm2]", "current [A]", "which current",
                "temperature [degC]", "limit [degC]", "limited by", "fusing [degC]",
                "section needed [mm2]", "next metric size", "next AWG or kcmil",
                "below the least for strength"],
        rows=rows,
    )  # fmt: skip
