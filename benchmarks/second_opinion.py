"""Every field reference of the tests by the second opinion: value, error, its own estimate.

Usage: python benchmarks/second_opinion.py
"""

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "solver"))
sys.path.insert(0, str(Path(sys.path[0]) / "thin_wire"))

from field_references import REFERENCES
from test_known_fields import value_of

from ohmscape.solver.thin_wire import SecondOpinion, second_opinion


def main() -> None:
    print(f"{'':<60}{'reference':>11}{'here':>11}{'error':>9}{'stated':>9}{'wires':>7}{'s':>7}")
    made: dict[str, SecondOpinion] = {}
    errors = []
    for reference in REFERENCES:
        layout = reference.layout
        if layout.name not in made:
            made[layout.name] = second_opinion(layout.conductors(), soil=layout.soil)
        opinion = made[layout.name]
        value = value_of(reference, opinion)
        errors.append(abs(reference.error(value)))
        print(
            f"{reference.name[:59]:<60}{reference.reference:>11.5g}{value:>11.5g}"
            f"{reference.error(value):>+9.2%}{opinion.resistance_error:>9.2%}"
            f"{len(opinion.wires):>7}{opinion.seconds:>7.2f}",
            flush=True,
        )
    print(f"median {np.median(errors):.2%}, 90 % below {np.quantile(errors, 0.9):.2%}")


if __name__ == "__main__":
    main()
