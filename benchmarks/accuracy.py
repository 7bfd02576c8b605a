"""Every field reference of the tests: value, error, stated band, iterations, seconds.

Usage: python benchmarks/accuracy.py

The band is the error that a run on the same mesh would state, here as a share of the value.
Below the table stands the share of the references whose error is within it.
"""

import sys
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "solver"))

from field_references import REFERENCES
from measuring import band, measured, solution_of


def main() -> None:
    print(f"{'':<60}{'reference':>11}{'here':>11}{'error':>9}{'band':>8}{'iter':>6}{'s':>7}")
    within = 0
    for reference in REFERENCES:
        clock = perf_counter()
        value = measured(reference)
        seconds = perf_counter() - clock
        error, stated = reference.error(value), band(reference)
        within += abs(error) <= stated
        iterations = max(solution_of(reference.layout).checks.iterations)
        print(
            f"{reference.name[:59]:<60}{reference.reference:>11.5g}{value:>11.5g}"
            f"{error:>+9.2%}{stated:>8.2%}{iterations:>6}{seconds:>7.2f}",
            flush=True,
        )
    print(f"{within} of {len(REFERENCES)} are within the band")


if __name__ == "__main__":
    main()
