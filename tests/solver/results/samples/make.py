"""Makes the sample of the present result format: one small result with all that can be kept.

    .venv/bin/python tests/solver/results/samples/make.py

Once, when `format_version` was raised; samples of earlier formats stay as the release of that
format wrote them (7: by 0.1.0, with this same script). Deflating the archive changes its size
only. The readings are those of 200 Ω·m down to 2 m over 60 Ω·m, by the image series below.
"""

import math
import tempfile
from pathlib import Path

import numpy as np

from ohmscape import load_case_text, run_case
from ohmscape.solver.results.storage import format_version, save

UPPER, LOWER, DEPTH = 200.0, 60.0, 2.0  # [Ω·m], [m]
REST = """
electrodes:
  - name: workshop rod
    drive: {circuit: true}
    parts:
      - {kind: rod, name: rod, at: [0 m, 0 m], top_depth: 0 m, length: 1.2 m, diameter: 14.2 mm}
circuit:
  frequency: 50 Hz
  supply:
    voltage: 230 V
    impedance: {resistance: 0.5 ohm}
    to: workshop rod
    return: transformer neutral
  paths:
    - name: source earth
      between: [transformer neutral, remote earth]
      impedance: {resistance: 5 ohm}
protection:
  - name: B16
    measures: supply
    breaker: {standard: IEC 60898-1, curve: B, rating: 16 A}
  - name: 30 mA device
    measures: earth current of workshop rod
    residual: {standard: IEC 61008-1, rating: 30 mA}
study:
  area: {margin: 3 m, spacing: 0.5 m}
  profiles:
    - {name: to the gate, start: [0 m, 0 m], end: [3 m, 0 m], spacing: 0.5 m}
  touch:
    - {name: frame of the lathe, electrode: workshop rod, points: [[0 m, 0 m]]}
safety:
  limits:
    - {name: people, iec_60479: {curve: c1, percentile: 5}}
  exposures:
    - {name: touching the lathe, touch: frame of the lathe, limit: people}
    - {name: walking by, step: anywhere, limit: people}
numerics: {accuracy: coarse}
"""


def wenner_resistance(spacing):
    """Of four points at equal distances on two layers, by images. [Ω]"""
    k = (LOWER - UPPER) / (LOWER + UPPER)
    total = 1.0
    for n in range(1, 2000):
        ratio = 2 * n * DEPTH / spacing
        total += 4 * k**n * (1 / math.sqrt(1 + ratio**2) - 1 / math.sqrt(4 + ratio**2))
    return UPPER * total / (2 * math.pi * spacing)


def case_text():
    """The case, with its readings."""
    readings = "\n".join(
        f"          - {{spacing: {a} m, resistance: {wenner_resistance(a):.5g} ohm}}"
        for a in (0.5, 0.8, 1.2, 2.0, 3.0, 5.0, 8.0, 12.0, 20.0)
    )
    head = "ohmscape: 1\ntitle: Sample of a kept result\nsoil:\n  survey:\n    traverses:\n"
    head += "      - name: gate\n        array: wenner\n        readings:\n"
    return head + readings + REST


def main():
    """Write the sample beside this script."""
    result = run_case(load_case_text(case_text()))
    target = Path(__file__).with_name(f"format-{format_version}.npz")
    with tempfile.TemporaryDirectory() as folder:
        archive = np.load(save(result, Path(folder) / "result.npz"))
        arrays = {name: archive[name] for name in archive.files}
        archive.close()
    np.savez_compressed(target, **arrays)


if __name__ == "__main__":
    main()
