"""Every field reference of the tests: value, error, allowed, iterations, seconds.

Usage: python benchmarks/accuracy.py
"""

import sys
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "solver"))

from field_references import REFERENCES
from measuring import measured, solution_of


def main() -> None:
    print(f"{'':<60}{'reference':>11}{'here':>11}{'error':>9}{'allowed':>9}{'iter':>6}{'s':>7}")
    for reference in REFERENCES:
        clock = perf_counter()
        value = measured(reference)
        seconds = perf_counter() - clock
        iterations = max(solution_of(reference.layout).checks.iterations)
        print(
            f"{reference.name[:59]:<60}{reference.reference:>11.5g}{value:>11.5g}"
            f"{reference.error(value):>+9.2%}{reference.tolerance:>9.1%}"
            f"{iterations:>6}{seconds:>7.2f}",
            flush=True,
        )


if __name__ == "__main__":
    main()
