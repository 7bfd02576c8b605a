"""Elements, memory and processor time that `check` predicts, beside what cases drawn take.

Usage: python benchmarks/predictions.py [SEED [COUNT [MOST]]]

Single rods to grids of 2 km and 5,000 rods in one to six layers of 0.1 to 10 m and 3 to 5000
ohm m, at the three presets in turn; those with more than MOST predicted elements (200,000) are
left out. One row each, in a process of its own: what was made over what was predicted, of the
mesh, of the peak of memory, and of the seconds of processor time to solve and evaluate.
"""

import json
import subprocess
import sys

import numpy as np

PRESETS = ("coarse", "normal", "fine")


def drawn(random: np.random.Generator) -> tuple[str, str]:
    """Name and text of a case."""
    count = int(random.integers(1, 7))
    resistivity = np.exp(random.uniform(np.log(3.0), np.log(5000.0), count))
    thickness = np.exp(random.uniform(np.log(0.1), np.log(10.0), count - 1))
    layers = [f"{{resistivity: {value:.4g} ohm*m" for value in resistivity]
    layers = [
        f"{layer}, thickness: {thick:.3g} m}}"
        for layer, thick in zip(layers, thickness, strict=False)
    ] + [layers[-1] + "}"]
    kind = random.choice(["rod", "rods", "grid"])
    length = float(random.uniform(1.0, 10.0))
    if kind == "rod":
        name = f"rod {length:.1f} m"
        part = f"kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: {length:.3g} m"
    elif kind == "rods":
        side = int(np.exp(random.uniform(np.log(2), np.log(71))))
        apart = float(random.uniform(2.0, 10.0))
        name = f"{side * side} rods {apart * (side - 1):.0f} m"
        part = (
            f"kind: rods, length: {length:.3g} m, top_depth: 0 m, rectangle: {{corner: "
            f"[0 m, 0 m], size: [{apart * (side - 1):.4g} m, {apart * (side - 1):.4g} m], "
            f"per_side: [{side}, {side}], filled: true}}"
        )
    else:
        side = float(np.exp(random.uniform(np.log(5.0), np.log(2000.0))))
        meshes = int(random.integers(1, 21))
        name = f"grid {side:.0f} m, {meshes} a side"
        part = (
            f"kind: grid, corner: [0 m, 0 m], size: [{side:.4g} m, {side:.4g} m], "
            f"meshes: [{meshes}, {meshes}], depth: {random.uniform(0.3, 1.0):.2g} m"
        )
    return (
        f"{name}, {count} layers",
        f"""
ohmscape: 1
title: drawn
soil: {{layers: [{", ".join(layers)}]}}
electrodes:
  - {{name: electrode, drive: {{current: 1 kA}}, parts: [{{{part}, diameter: 12 mm}}]}}
study: {{area: {{margin: 10 m}}}}
numerics: {{tolerance: 0.1}}
""",
    )


def measure(text: str, accuracy: str) -> dict[str, float]:
    """Run a case in this process: what was predicted, and what it took."""
    from time import process_time

    from ohmscape.cases.loading import load_case_text
    from ohmscape.jobs.expected_time import computing_time
    from ohmscape.jobs.run import run_case
    from ohmscape.jobs.solving import plan

    case = load_case_text(text)
    planned = plan(case, accuracy=accuracy)
    seconds = computing_time(case, accuracy=accuracy)
    began = process_time()
    result = run_case(case, accuracy=accuracy)
    return {
        "predicted": planned.elements,
        "elements": len(result.solution.mesh.tetrahedra) / planned.elements,
        "memory": result.peak_memory / planned.memory,
        "time": (process_time() - began) / seconds,
        "seconds": process_time() - began,
    }


def predicted(text: str, accuracy: str) -> float:
    """Elements predicted; no number where the case is refused."""
    from ohmscape.cases.loading import load_case_text
    from ohmscape.jobs.solving import plan
    from ohmscape.solver.errors import CaseError

    try:
        return plan(load_case_text(text), accuracy=accuracy).elements
    except CaseError:
        return float("nan")


def main(seed: int = 1, count: int = 60, most: int = 200_000) -> None:
    random = np.random.default_rng(seed)
    rows = []
    print(f"{'':<40}{'predicted':>10}{'elements':>9}{'memory':>8}{'time':>7}{'s':>7}")
    for number in range(count):
        name, text = drawn(random)
        accuracy = PRESETS[number % 3]
        name = f"{name}, {accuracy}"
        if not (elements := predicted(text, accuracy)) <= most:
            print(f"{name:<40}{elements:>10,.0f}  left out", flush=True)
            continue
        command = [sys.executable, __file__, "--one", accuracy]
        done = subprocess.run(command, input=text, capture_output=True, text=True, check=False)
        if done.returncode:
            print(f"{name:<40}{elements:>10,.0f}  {done.stderr.strip()[-150:]}", flush=True)
            continue
        row = json.loads(done.stdout)
        rows.append([row["elements"], row["memory"], row["time"]])
        print(
            f"{name:<40}{row['predicted']:>10,}{row['elements']:>9.2f}{row['memory']:>8.2f}"
            f"{row['time']:>7.2f}{row['seconds']:>7.1f}",
            flush=True,
        )
    far = np.exp(np.abs(np.log(np.array(rows))))
    for place, what in enumerate(("elements", "memory", "time")):
        within = int((far[:, place] <= 1.5).sum())
        print(f"{what}: {within} of {len(far)} within 1.5, largest {far[:, place].max():.2f}")


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        print(json.dumps(measure(sys.stdin.read(), sys.argv[2])))
    else:
        main(*(int(value) for value in sys.argv[1:4]))
