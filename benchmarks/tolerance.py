"""What it costs to meet a tolerance, and whether what is stated then holds.

Usage: python benchmarks/tolerance.py

One row for each case and tolerance (largest error of touch and step as a share of the rise;
resistances are held to half of it): elements, processor seconds of the whole run, the
resistance with its error against a reference, and the error stated of resistance, touch, step.
"""

from time import process_time

from speed import BENCHMARKS, case_text

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.run import run_case
from ohmscape.solver.errors import OhmscapeError

_rod = """
ohmscape: 1
title: rod of 3 m
soil: {{layers: [{{resistivity: {upper} ohm*m, thickness: {thickness} m}},
                 {{resistivity: {lower} ohm*m}}]}}
electrodes:
  - name: rod
    drive: {{current: 1 kA}}
    parts: [{{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 3 m, diameter: 16 mm}}]
study: {{area: {{margin: 10 m, spacing: 0.5 m}}}}
"""
_speed = {item.name: item for item in BENCHMARKS}
# Computed independently: boundary integrals of the true surface, layered thin-wire images.
CASES = {
    "rod 2.44 m": (case_text(_speed["single rod"]), 39.518),
    "rod 300 / 1.5 / 50": (_rod.format(upper=300, thickness=1.5, lower=50), 25.985),
    "rod 50 / 1 / 1000": (_rod.format(upper=50, thickness=1, lower=1000), 59.027),
    "grid 70 m": (case_text(_speed["grid 70 m"]), 2.645),
    "grid 70 m, 400 / 1 / 50": (case_text(_speed["grid 70 m, 400/50"]), 0.5634),
}
TOLERANCES = (0.01, 0.005, 0.002, 0.001)


def main() -> None:
    print(
        f"{'':<26}{'tolerance':>10}{'elements':>10}{'cpu s':>8}{'ohm':>10}{'error':>9}  stated"
    )
    for name, (text, reference) in CASES.items():
        for tolerance in TOLERANCES[: 3 if name.startswith("grid") else 4]:
            clock = process_time()
            case = load_case_text(f"{text}numerics: {{tolerance: {tolerance}}}\n")
            print(f"{name:<26}{tolerance:>10.1%}", end="", flush=True)
            try:
                result = run_case(case)
            except OhmscapeError as error:
                print(f"  {error}")
                continue
            found, accuracy = result.resistance(0), result.accuracy
            stated = (accuracy.resistance, accuracy.touch, accuracy.step)
            print(
                f"{len(result.solution.mesh.tetrahedra):>10,}{process_time() - clock:>8.1f}"
                f"{found:>10.5g}{found / reference - 1:>+9.3%}  "
                + " ".join(f"{accuracy.estimate(value):.2%}" for value in stated),
                flush=True,
            )


if __name__ == "__main__":
    main()
