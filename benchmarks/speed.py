"""Time, memory and error of whole runs, each in a process of its own.

Usage: python benchmarks/speed.py [NAME ...]
       python benchmarks/speed.py --beside FOLDER [TIMES [NAME ...]]

Prints one row for each benchmark: unknowns, seconds of each step, peak memory, resistance
and its error against a reference where there is one. The last rows are square grids of one
mesh size and growing side; the exponent of the time in the conductor length is printed
below them. With --beside, this code and the checkout of another release in FOLDER take turns,
and each row gives processor seconds, wall seconds and gigabytes of both, medians over TIMES.
"""

import json
import resource
import subprocess
import sys
from dataclasses import asdict, dataclass
from pathlib import Path
from time import perf_counter

import numpy as np

SOIL = {
    "uniform 100": "[{resistivity: 100 ohm*m}]",
    "uniform 400": "[{resistivity: 400 ohm*m}]",
    "400 over 50": "[{resistivity: 400 ohm*m, thickness: 1 m}, {resistivity: 50 ohm*m}]",
    "250 over 90": "[{resistivity: 250 ohm*m, thickness: 3 m}, {resistivity: 90 ohm*m}]",
    "three layers": "[{resistivity: 300 ohm*m, thickness: 2 m}, "
    "{resistivity: 100 ohm*m, thickness: 8 m}, {resistivity: 500 ohm*m}]",
}


@dataclass(frozen=True)
class Benchmark:
    """One case, and what its resistance should be if somebody else worked it out."""

    name: str
    soil: str
    parts: str
    spacing: float
    reference: float | None = None
    source: str = "no reference"


def _rod(length: float, diameter: str) -> str:
    return (
        f"[{{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: {length} m, "
        f"diameter: {diameter}}}]"
    )


def _grid(side: float, meshes: int, rods: str = "") -> str:
    mesh = (
        f"{{kind: grid, name: mesh, corner: [0 m, 0 m], size: [{side} m, {side} m], "
        f"meshes: [{meshes}, {meshes}], depth: 0.5 m, diameter: 10 mm}}"
    )
    return f"[{mesh}{rods}]"


RODS = (
    ", {kind: rods, name: rods, length: 7.5 m, diameter: 16 mm, along: {part: mesh, every: 2}}"
)
RODS_200 = (
    ", {kind: rods, name: rods, length: 7.5 m, diameter: 16 mm, "
    "rectangle: {corner: [0 m, 0 m], size: [200 m, 200 m], per_side: [16, 16]}, "
    "top_depth: 0.5 m}"
)
PILES = (
    "[{kind: rods, length: 2 m, diameter: 100 mm, top_depth: 0 m, rectangle: "
    "{corner: [0 m, 0 m], size: [600 m, 400 m], per_side: [40, 25], filled: true}}]"
)
FIELD = (
    "[{kind: rods, length: 3 m, diameter: 16 mm, top_depth: 0 m, rectangle: "
    "{corner: [0 m, 0 m], size: [300 m, 300 m], per_side: [25, 20], filled: true}}]"
)
TURNS = ("grid 70 m, 400/50", "scaling 280 m", "1000 piles, 600 m")
COMPUTED = "computed independently, thin-wire images"

BENCHMARKS = [
    Benchmark(
        "single rod",
        "uniform 100",
        _rod(2.4384, "15.875 mm"),
        0.2,
        39.518,
        "computed independently, boundary integral of the true surface",
    ),
    Benchmark("grid 70 m", "uniform 400", _grid(70, 10), 0.5, 2.645, COMPUTED),
    Benchmark("grid 70 m, 400/50", "400 over 50", _grid(70, 10), 0.5, 0.5634, COMPUTED),
    Benchmark("grid 70 m, 20 rods", "250 over 90", _grid(70, 10, RODS), 0.5),
    Benchmark("grid 200 m, 20 x 20", "three layers", _grid(200, 20), 1.0),
    Benchmark("grid 200 m, 60 rods", "three layers", _grid(200, 20, RODS_200), 1.0),
    Benchmark("500 rods, 300 m", "250 over 90", FIELD, 2.5),
    Benchmark("1000 piles, 600 m", "250 over 90", PILES, 5.0),
    *[
        Benchmark(f"scaling {side} m", "250 over 90", _grid(side, side // 7), side / 140)
        for side in (35, 70, 140, 280, 560)
    ],
]


def case_text(benchmark: Benchmark) -> str:
    return f"""
ohmscape: 1
title: {benchmark.name}
soil: {{layers: {SOIL[benchmark.soil]}}}
electrodes:
  - {{name: electrode, drive: {{current: 1 kA}}, parts: {benchmark.parts}}}
study: {{area: {{margin: 10 m, spacing: {benchmark.spacing} m}}}}
"""


def processor_time() -> float:
    """User and system time of this process and of those it has waited for. [s]"""
    used = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(item.ru_utime + item.ru_stime for item in used)


def measure(name: str) -> dict[str, object]:
    """Run one benchmark in this process and give its row."""
    benchmark = next(item for item in BENCHMARKS if item.name == name)
    from ohmscape.cases.loading import load_case_text
    from ohmscape.jobs.run import run_case

    case = load_case_text(case_text(benchmark))
    result = run_case(case)
    steps = result.seconds
    total = sum(value for step, value in steps.items() if not step.startswith("solution: "))
    return {
        **asdict(benchmark),
        "length": float(case.conductors.length.sum()),
        "unknowns": result.solution.unknowns.shape[1],
        "iterations": max(result.solution.checks.iterations),
        "mesh": steps["mesh"],
        "assembly": steps["solution: assembly"],
        "coupling": steps["solution: coupling"],
        "solve": steps["solution: preconditioner"] + steps["solution: solve"],
        "maps": steps["maps"] + steps["worst places"],
        "checks": steps["accuracy"] + steps["solution: checks"],
        "total": total,
        "processor": processor_time(),
        "memory": result.peak_memory,
        "resistance": result.resistance(0),
        "estimate": result.accuracy.estimate(result.accuracy.resistance),
    }


def turn(folder: str, name: str) -> dict[str, float]:
    """Run one benchmark with the code in a folder, in this process; only public names."""
    sys.path.insert(0, folder)
    import ohmscape

    if not Path(ohmscape.__file__).is_relative_to(folder):
        msg = f"{ohmscape.__file__} is not in {folder}"
        raise SystemExit(msg)
    case = ohmscape.load_case_text(case_text(next(b for b in BENCHMARKS if b.name == name)))
    begun, used = perf_counter(), processor_time()
    result = ohmscape.run_case(case)
    return {
        "processor": processor_time() - used,
        "wall": perf_counter() - begun,
        "memory": result.peak_memory / 1e9,
        "resistance": result.resistance(0),
        **{f"worst {k}": abs(worst.voltage) for k, worst in enumerate(result.worst)},
    }


def beside(other: str, *, times: int, names: list[str]) -> None:
    """Print this code beside that of another folder, in alternation."""
    folders = (str(Path(other).resolve()), str(Path(__file__).resolve().parent.parent))
    for name in names or TURNS:
        rows: list[list[dict[str, float]]] = [[], []]
        for _ in range(times):
            for folder, found in zip(folders, rows, strict=True):
                command = [sys.executable, __file__, "--turn", folder, name]
                done = subprocess.run(command, capture_output=True, text=True, check=True)
                found.append(json.loads(done.stdout))
        text = f"{name:<22}"
        for key in rows[0][0]:
            old, new = (float(np.median([row[key] for row in found])) for found in rows)
            text += f"  {key} {old:.5g} -> {new:.5g} ({old / new:.3f})"
        print(text, flush=True)


def main(names: list[str]) -> None:
    chosen = [item.name for item in BENCHMARKS if not names or item.name in names]
    head = (
        "unknowns",
        "iter",
        "mesh",
        "assem",
        "coupl",
        "solve",
        "maps",
        "checks",
        "total",
        "cpu",
    )
    print(f"{'':<22}" + "".join(f"{word:>9}" for word in head), end="")
    print(f"{'GB':>6}{'ohm':>9}{'error':>8}{'stated':>8}  reference")
    scaling = []
    for name in chosen:
        command = [sys.executable, __file__, "--one", name]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
        row = json.loads(done.stdout)
        print(_line(row), flush=True)
        if name.startswith("scaling"):
            scaling.append((row["length"], row["total"]))
    if len(scaling) > 1:
        length, seconds = np.log(np.array(scaling)).T
        slope = np.polyfit(length, seconds, 1)[0]
        print(f"total time grows as (conductor length)^{slope:.2f}")


def _line(row: dict) -> str:
    steps = ("mesh", "assembly", "coupling", "solve", "maps", "checks", "total", "processor")
    text = f"{row['name']:<22}{row['unknowns']:>9}{row['iterations']:>9}"
    text += "".join(f"{row[step]:>9.2f}" for step in steps)
    text += f"{row['memory'] / 1e9:>6.2f}{row['resistance']:>9.4g}"
    reference = row["reference"]
    error = f"{row['resistance'] / reference - 1:+.2%}" if reference else "-"
    return f"{text}{error:>8}{row['estimate']:>8.2%}  {row['source']}"


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        print(json.dumps(measure(sys.argv[2])))
    elif sys.argv[1:2] == ["--turn"]:
        print(json.dumps(turn(*sys.argv[2:4])))
    elif sys.argv[1:2] == ["--beside"]:
        beside(sys.argv[2], times=int((sys.argv[3:4] or ["1"])[0]), names=sys.argv[4:])
    else:
        main(sys.argv[1:])
