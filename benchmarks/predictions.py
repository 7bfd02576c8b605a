"""What `check` predicts of a run beside what the run takes: elements, memory, time.

Usage: python benchmarks/predictions.py [SEED [COUNT [MOST]]]
       python benchmarks/predictions.py --meshes [SEED [COUNT [MOST]]]
       python benchmarks/predictions.py --shipped [NAME ...]
       python benchmarks/predictions.py --fit [SEED [COUNT [MOST]]]

The first runs cases drawn at random, single rods to grids of 2 km and fields of 5,000 rods, in
one to six layers of 0.1 to 10 m and 3 to 5000 ohm m, at the three presets in turn; those with
more than MOST predicted elements (200,000) are left out. One row each, in a process of its own:
elements, peak of memory (of that process alone), processor and wall seconds, each with what it
is over what was predicted; wall seconds mean something only where nothing else runs. Every
tenth is with pictures and report. --meshes makes the meshes alone. --shipped runs shipped
cases, the whole command with pictures, report and variants.

--fit runs all shipped cases and those drawn (80 of seed 1), and writes what each step costs to
`ohmscape/jobs/step_costs.py`: after a change that makes a step quicker, and never judged by the
cases it was fitted to. `--fit --again` fits anew to what the last such run measured, kept in
`/tmp/ohmscape-step-costs.jsonl`, after a change of what is counted.
"""

import json
import os
import resource
import subprocess
import sys
import tempfile
from itertools import pairwise
from pathlib import Path
from time import perf_counter

import numpy as np
from scipy.optimize import nnls

PRESETS = ("coarse", "normal", "fine")
_contrast = 1000.0  # of layers; cases of more are refused
_kept = Path(tempfile.gettempdir()) / "ohmscape-step-costs.jsonl"
_written = Path(__file__).parent.parent / "ohmscape" / "jobs" / "step_costs.py"
# Steps of a run, as it tells of them, and the step of `expected_work` that each belongs to.
_steps = {
    "second opinion": "mesh",
    "second opinion at the worst places": "accuracy",
    "result.npz": "numbers",
    "comparison.csv": "comparison",
    "pictures": "plans",
}
_endings = {"csv": "numbers", "vtu": "volumes", "html": "report", "pdf": "report"}
_curves = ("profile", "section", "sounding")


def drawn(random: np.random.Generator) -> tuple[str, str]:
    """Name and text of a case."""
    count = int(random.integers(1, 7))
    resistivity = np.exp(random.uniform(np.log(3.0), np.log(5000.0), count))
    while resistivity.max() > _contrast * resistivity.min():
        resistivity = np.exp(random.uniform(np.log(3.0), np.log(5000.0), count))
    thickness = np.exp(random.uniform(np.log(0.1), np.log(10.0), count - 1))
    layers = [f"{{resistivity: {value:.4g} ohm*m" for value in resistivity]
    layers = [
        f"{layer}, thickness: {thick:.3g} m}}"
        for layer, thick in zip(layers, thickness, strict=False)
    ] + [layers[-1] + "}"]
    kind = random.choice(["rod", "rods", "grid", "grid and rods", "ring"])
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
    elif kind == "ring":
        width = float(np.exp(random.uniform(np.log(3.0), np.log(500.0))))
        name = f"ring {width:.0f} m"
        part = f"kind: ring, centre: [0 m, 0 m], ring_diameter: {width:.4g} m, depth: 0.7 m"
    else:
        side = float(np.exp(random.uniform(np.log(5.0), np.log(2000.0))))
        meshes = int(random.integers(1, 21))
        name = f"grid {side:.0f} m, {meshes} a side"
        part = (
            f"kind: grid, corner: [0 m, 0 m], size: [{side:.4g} m, {side:.4g} m], "
            f"meshes: [{meshes}, {meshes}], depth: {random.uniform(0.3, 1.0):.2g} m"
        )
        if kind == "grid and rods":
            name += ", rods"
            part += (
                f", diameter: 12 mm, name: grid}}, {{kind: rods, length: {length:.3g} m, "
                "along: {part: grid, every: 2}"
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


def used() -> float:
    """Processor time of this process and those it waited for. [s]"""
    each = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    return sum(sum(resource.getrusage(who)[:2]) for who in each)


def measure(text: str, *, accuracy: str | None, pictures: bool) -> dict:
    """Run a case in this process, or the shipped one of that name: predicted and found."""
    begun, told = perf_counter(), []
    from ohmscape.cases.fitting import fit_soil
    from ohmscape.cases.loading import case_of, load_case_text
    from ohmscape.jobs.expected_time import expected_run, time_of_yardstick
    from ohmscape.jobs.peak_memory import peak_memory
    from ohmscape.jobs.run import run_variants
    from ohmscape.viz.result_folder import save_result

    def progress(step: str, share: float) -> None:
        told.append((step, used(), peak_memory()))

    case = fit_soil(load_case_text(text) if "\n" in text else case_of(text))
    progress("expectation", 0.0)
    at_start, wall = used(), perf_counter()
    pace = time_of_yardstick()
    expected = expected_run(case, accuracy=accuracy)
    checking, apart = used() - at_start, perf_counter() - wall
    progress("", 0.0)
    results = run_variants(case, accuracy=accuracy, progress=progress)
    progress("", 0.0)
    with tempfile.TemporaryDirectory() as folder:
        save_result(
            results[0],
            Path(folder) / "result",
            variants=results[1:],
            pictures=pictures,
            progress=progress,
        )
    progress("", 0.0)
    last = next(k for k, (step, _, _) in enumerate(told) if "result.npz" in step)
    cost = expected.drawn if pictures else expected.plain
    return {
        "text": text,
        "accuracy": accuracy,
        "pictures": pictures,
        "start": at_start,
        "steps": [
            (step, after - before)
            for (step, before, _), (_, after, _) in pairwise(told)
            if step not in ("", "expectation")
        ],
        "made": [
            len(each.mesh.tetrahedra) for each in (results[0].solution, results[0].coarse)
        ],
        "computing memory": told[last][2],
        "memory": peak_memory(),
        "processor": used() - checking,
        "wall": perf_counter() - begun - apart,
        "checking": checking,
        "pace": pace,
        "predicted": [expected.planned.elements, cost.memory, cost.processor, cost.seconds],
    }


def mesh_only(text: str, *, accuracy: str | None) -> dict:
    """Mesh of a case, and how many elements were predicted."""
    from ohmscape.cases.loading import load_case_text
    from ohmscape.jobs.solving import plan
    from ohmscape.meshes import build_mesh

    planned = plan(load_case_text(text), accuracy=accuracy)
    return {
        "predicted": [planned.elements],
        "made": [len(build_mesh(planned).tetrahedra)],
    }


def in_process(way: str, text: str, accuracy: str | None, *, pictures: bool = False) -> dict:
    """What a function above gives in a process of its own; what it said if it fails."""
    command = [sys.executable, __file__, way, accuracy or "", str(int(pictures))]
    done = subprocess.run(command, input=text, capture_output=True, text=True, check=False)
    return json.loads(done.stdout) if not done.returncode else {"said": done.stderr.strip()}


def elements_of(text: str, accuracy: str) -> float:
    """Elements predicted; no number where the case is refused."""
    from ohmscape.cases.loading import load_case_text
    from ohmscape.jobs.solving import plan
    from ohmscape.solver.errors import CaseError

    try:
        return plan(load_case_text(text), accuracy=accuracy).elements
    except CaseError:
        return float("nan")


def cases(seed: int, count: int, most: int):
    """Name, text and preset of each case drawn that is small enough; tells of the others."""
    random = np.random.default_rng(seed)
    for number in range(count):
        name, text = drawn(random)
        accuracy = PRESETS[number % 3]
        name = f"{name}, {accuracy}"
        elements = elements_of(text, accuracy)
        if elements <= most:
            yield name, text, accuracy
        else:
            what = "refused" if np.isnan(elements) else f"{elements:,.0f} elements, left out"
            print(f"{name:<46}{what}", flush=True)


def found(row: dict) -> list[float]:
    """What came, in the order in which it was predicted."""
    return [row["made"][0], row["memory"], row["processor"], row["wall"]]


def compared(seed: int = 1, count: int = 60, most: int = 200_000) -> None:
    """Print the table of cases drawn."""
    _table(
        (
            (name, in_process("--one", text, accuracy, pictures=number % 10 == 0))
            for number, (name, text, accuracy) in enumerate(cases(seed, count, most))
        ),
        ("elements", "GB", "processor s", "wall s"),
    )


def meshes(seed: int = 1, count: int = 60, most: int = 3_000_000) -> None:
    """Print the table of meshes alone."""
    _table(
        (
            (name, in_process("--mesh", text, accuracy))
            for name, text, accuracy in cases(seed, count, most)
        ),
        ("elements",),
    )


def shipped(*names: str) -> None:
    """Print the table of shipped cases, the whole command each."""
    _table(
        (
            (name, in_process("--one", name, None, pictures=True))
            for name in names or _shipped()
        ),
        ("elements", "GB", "processor s", "wall s"),
    )


def _shipped() -> tuple[str, ...]:
    from ohmscape.cases.shipped import shipped_cases

    return tuple(shipped_cases())


def _table(rows, heads: tuple[str, ...]) -> None:
    """Print rows as they come: each value, and what it is over the prediction."""
    ratios = []
    print(f"{'':<46}" + "".join(f"{head:>20}" for head in heads))
    for name, row in rows:
        if "said" in row:
            print(f"{name:<46}{row['said'][-150:]}", flush=True)
            continue
        values = found(row) if len(heads) > 1 else row["made"]
        ratios.append(np.divide(values, row["predicted"]))
        text = ""
        for head, value, ratio in zip(heads, values, ratios[-1], strict=True):
            shown = f"{value / 1e9:.2f}" if head == "GB" else f"{value:,.0f}"
            if head.endswith(" s"):
                shown = f"{value:.1f}"
            text += f"{shown:>13}{ratio:>7.2f}"
        print(f"{name:<46}{text}", flush=True)
    far = np.exp(np.abs(np.log(np.array(ratios))))
    for head, own in zip(heads, far.T, strict=True):
        within = int((own <= 1.5).sum())
        print(f"{head}: {within} of {len(own)} within 1.5, largest {own.max():.2f}")


def fit(seed: int = 1, count: int = 80, most: int = 120_000, *, again: bool = False) -> None:
    """Measure, unless it was done before, and write what each step costs."""
    if not again:
        with _kept.open("w") as file:
            wanted = [(name, name, None, True) for name in _shipped()]
            wanted += [(*case, False) for case in cases(seed, count, most)]
            for name, text, accuracy, pictures in wanted:
                row = in_process("--one", text, accuracy, pictures=pictures)
                print(f"{name:<46}{row.get('said', '')[-150:]}", flush=True)
                if "said" not in row:
                    file.write(json.dumps(row) + "\n")
                    file.flush()
    rows = [json.loads(line) for line in _kept.read_text().splitlines()]
    pace = float(np.median([row["pace"] for row in rows]))
    measured: dict[str, list] = {}
    memory: dict[str, list] = {}
    for row in rows:
        for step, amounts, seconds in _by_step(row):
            measured.setdefault(step, []).append((amounts, seconds * pace / row["pace"]))
        for step, amounts, value in _memory_of(row):
            memory.setdefault(step, []).append((amounts, value))
    lines = [
        '"""What each step of a run costs, by ``python benchmarks/predictions.py --fit``."""',
        "",
        "# What `expected_time.time_of_yardstick` gives on the machine of the costs. [s]",
        f"yardstick = {pace:.3g}",
        "# Of one of each amount, named as in `expected_work`. [s]",
        *_as_code("seconds_for", _fitted(measured, least=0.1)),
        "# The same of memory. [byte]",
        *_as_code("bytes_for", _fitted(memory, least=1e7)),
    ]
    _written.write_text("\n".join([*lines, ""]), encoding="utf-8")


def _as_code(name: str, costs: dict[str, dict[str, float]]) -> list[str]:
    """Lines that define a table of costs."""
    lines = [f"{name}: dict[str, dict[str, float]] = {{"]
    for step, each in costs.items():
        lines += [f'    "{step}": {{']
        for what, cost in each.items():
            lines.append(f'        "{what}": {f"{cost:.3g}".replace("e+", "e")},')
        lines += ["    },"]
    return [*lines, "}"]


def _works(row: dict):
    """The case of a row, with what each of its results takes."""
    from ohmscape.cases.fitting import fit_soil
    from ohmscape.cases.loading import case_of, load_case_text
    from ohmscape.jobs.expected_time import works_of

    text = row["text"]
    case = fit_soil(load_case_text(text) if "\n" in text else case_of(text))
    return case, works_of(case, accuracy=row["accuracy"])


def _by_step(row: dict):
    """Each step of each result of a run: its amounts and seconds."""
    case, works = _works(row)
    seconds: dict[tuple[str, str], float] = {}
    for told, value in row["steps"]:
        variant = next(
            (
                each.variant
                for each in case.variants
                if told.startswith(f"{each.variant}: ") or f", {each.variant}: " in told
            ),
            "",
        )
        key = (variant, _step(told.rsplit(": ", 1)[-1]))
        seconds[key] = seconds.get(key, 0.0) + value
    yield "start", {"run": 1.0, "survey": float(case.survey is not None)}, row["start"]
    for number, (work, solved) in enumerate(works):
        steps = work.evaluating() | work.saving()
        steps |= work.solving() if solved else {}
        steps |= work.drawing() if row["pictures"] else {}
        for step, amounts in steps.items():
            if step == "report":  # one for all results
                continue
            own = seconds.get((work.case.variant, step), 0.0)
            yield step, amounts | {"once": float(number == 0)}, own
    if case.variants and row["pictures"]:
        variants = {"once": 1.0, "variants": float(len(case.variants))}
        yield "comparison", variants, seconds["", "comparison"]
    if row["pictures"]:
        whole = {"once": 1.0}
        for work, _ in works:
            for what, amount in work.drawing()["report"].items():
                whole[what] = whole.get(what, 0.0) + amount
        yield "report", whole, seconds["", "report"]


def _step(told: str) -> str:
    """Step of `expected_work` that a step belongs to."""
    stem, _, ending = told.rpartition(".")
    if told in _steps or ending in _endings:
        return _steps.get(told) or _endings[ending]
    if ending in ("png", "svg"):
        return "scene" if stem == "scene" else "curves" if stem.startswith(_curves) else "plans"
    return told


def _memory_of(row: dict):
    """Amounts of memory and how much it was."""
    from ohmscape.jobs.expected_time import memory_amounts

    computing, drawing = memory_amounts(_works(row)[1])
    yield "computing", computing["computing"], row["computing memory"]
    if row["pictures"]:
        yield "drawing", drawing["drawing"], row["memory"]


def _fitted(measured: dict[str, list], *, least: float) -> dict[str, dict[str, float]]:
    """Costs above zero with the least relative deviations; below `least` they count as that."""
    costs = {}
    for step, rows in measured.items():
        whats = list(dict.fromkeys(what for amounts, _ in rows for what in amounts))
        table = np.array([[amounts.get(what, 0.0) for what in whats] for amounts, _ in rows])
        value = np.array([value for _, value in rows])
        weight = 1.0 / np.maximum(value, least)
        scale = np.maximum(np.abs(table).max(axis=0), 1e-300)
        cost = nnls(table / scale * weight[:, None], value * weight)[0] / scale
        off = np.log(np.maximum(table @ cost, least) / np.maximum(value, least))
        costs[step] = dict(zip(whats, cost.tolist(), strict=True))
        print(f"{step:<20}{len(rows):>5} values, off by {off.std():.0%}")
    return costs


if __name__ == "__main__":
    way, *given = sys.argv[1:] or [""]
    if way in ("--one", "--mesh"):
        os.environ["PYTHONWARNINGS"] = "ignore"
        read = sys.stdin.read()
        accuracy = given[0] or None
        if way == "--mesh":
            print(json.dumps(mesh_only(read, accuracy=accuracy)))
        else:
            print(json.dumps(measure(read, accuracy=accuracy, pictures=given[1] == "1")))
    elif way == "--shipped":
        shipped(*given)
    elif way == "--fit":
        numbers = [int(value) for value in given if value != "--again"]
        fit(*numbers, again="--again" in given)
    elif way == "--meshes":
        meshes(*map(int, given))
    else:
        compared(*map(int, sys.argv[1:]))
