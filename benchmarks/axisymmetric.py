"""Every exact value of the axisymmetric solver: value, error, band, unknowns, seconds.

Usage: python benchmarks/axisymmetric.py
"""

import sys
from pathlib import Path
from time import perf_counter

sys.path.insert(
    0, str(Path(__file__).resolve().parent.parent / "tests" / "solver" / "axisymmetric")
)

from test_exact_values import CLOSED_FORMS, HUNDRED, LAYERED, UNIFORM

from ohmscape.solver.axisymmetric import solve_axisymmetric
from ohmscape.solver.model import Soil


def _rows():
    for name, (metal, fill, reference) in CLOSED_FORMS.items():
        yield name, metal, HUNDRED, fill, reference
    for name, (metal, soil, fill, reference) in UNIFORM.items():
        yield name, metal, soil, fill, reference
    for resistivity, thickness, metal, reference in LAYERED:
        name = f"rod {metal.length:.4g} m, {resistivity[0]:g} over {resistivity[1]:g}"
        yield (
            f"{name} at {thickness} m",
            metal,
            Soil(resistivity, (thickness,)),
            None,
            reference,
        )


def main() -> None:
    print(
        f"{'':<44}{'reference':>11}{'here':>11}{'error':>9}{'band':>8}{'unknowns':>10}{'s':>6}"
    )
    for name, metal, soil, fill, reference in _rows():
        clock = perf_counter()
        solved = solve_axisymmetric(metal, soil=soil, fill=fill)
        seconds = perf_counter() - clock
        print(
            f"{name:<44}{reference:>11.6g}{solved.resistance:>11.6g}"
            f"{solved.resistance / reference - 1:>+9.3%}{solved.error_estimate:>8.3%}"
            f"{solved.unknowns:>10}{seconds:>6.2f}"
        )


if __name__ == "__main__":
    main()
