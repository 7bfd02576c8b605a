"""Times of a move on the live page, on the side of the program.

Usage: python benchmarks/live.py

A grid with rods is drafted, then one rod is moved again and again. Told are the processor time
of the first draft, of a draft while the rod moves, of one at rest, and of one after a plane
between layers was moved; the median of seven. All on one core.
"""

import resource
import statistics
from collections.abc import Callable

from ohmscape.cases.case import Case
from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.drafting import Drafter

_case = """
ohmscape: 1
title: Grid of {meshes} by {meshes} meshes
soil:
  layers: [{layers}]
electrodes:
  - name: grid
    drive: {{current: 1 kA}}
    parts:
      - {{kind: grid, corner: [0 m, 0 m], size: [{side} m, {side} m],
         meshes: [{meshes}, {meshes}], depth: 0.5 m, diameter: 10 mm}}
      - {{kind: rod, at: [{x} m, -2 m], top_depth: 0.5 m, length: 3 m, diameter: 16 mm}}
study:
  area: {{margin: 8 m}}
safety:
  duration: 0.5 s
  limits: [{{name: adults, ieee_80: {{body: 50 kg}}}}]
  exposures:
    - {{name: touch, touch: grid, limit: adults}}
    - {{name: step, step: anywhere, limit: adults}}
"""
_one = "{{resistivity: 100 ohm*m}}"
_three = (
    "{{resistivity: 300 ohm*m, thickness: {h} m}}, {{resistivity: 80 ohm*m, thickness: 4 m}}, "
    "{{resistivity: 400 ohm*m}}"
)
_moves = 7


def case_of(meshes: int, layers: str, *, x: float, thick: float = 2.0) -> Case:
    """A grid of so many meshes each way."""
    soil = layers.replace("{{", "{").replace("}}", "}").replace("{h}", str(thick))
    return load_case_text(_case.format(meshes=meshes, side=5 * meshes, layers=soil, x=x))


def seconds(work: Callable[[], object]) -> float:
    """Processor time of some work. [s]"""
    before = resource.getrusage(resource.RUSAGE_SELF)
    work()
    after = resource.getrusage(resource.RUSAGE_SELF)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    print(f"{'':<22}{'wires':>7}{'first':>8}{'moving':>8}{'at rest':>9}{'plane':>8}   [s]")
    for meshes in (1, 10, 19):
        for name, layers in (("one layer", _one), ("three layers", _three)):
            drafter, wires = Drafter(), []
            cases = [case_of(meshes, layers, x=1 + 0.1 * k) for k in range(2 * _moves + 1)]
            first = seconds(lambda d=drafter, c=cases[0], w=wires: w.append(d.draft(c).wires))
            moving = [
                seconds(lambda d=drafter, c=c: d.draft(c, moving=True))
                for c in cases[1 : _moves + 1]
            ]
            resting = [seconds(lambda d=drafter, c=c: d.draft(c)) for c in cases[_moves + 1 :]]
            other = case_of(meshes, layers, x=1.0, thick=2.2)
            plane = seconds(lambda d=drafter, c=other: d.draft(c, moving=True))
            told = "" if layers == _one else f"{plane:8.2f}"
            print(
                f"{meshes:>3} x {meshes:<3}{name:<13}{wires[0]:>7}{first:>8.2f}"
                f"{statistics.median(moving):>8.3f}{statistics.median(resting):>9.3f}{told}",
                flush=True,
            )


if __name__ == "__main__":
    main()
