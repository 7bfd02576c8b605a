"""What `check` predicts of a run beside what the run takes: elements, memory, time.

Usage: python -m benchmarks.predictions [SEED [COUNT [MOST]]]
       python -m benchmarks.predictions --whole [SEED [COUNT]]
       python -m benchmarks.predictions --shipped [NAME ...]
       python -m benchmarks.predictions --meshes [SEED [COUNT [MOST]]]
       python -m benchmarks.predictions --fit [MINUTES [SEED]]

The first runs plain cases drawn at random (`drawn_cases.py`), single rods to grids of 2 km and
fields of 5,000 rods, in one to six layers of 0.1 to 10 m and 3 to 5000 ohm m, at the three
presets in turn, without pictures; those with more than MOST predicted elements (200,000) are
left out. --whole runs drawn cases with limits, profiles, variants and more, with pictures and
report, --shipped the shipped ones. Each row is the command `ohmscape run` as a user starts it:
elements, peak of memory of all its processes, processor and wall seconds, each with what it is
over what `check` predicted just before; wall seconds mean something only where nothing else
runs. --meshes makes the meshes alone.

--fit runs drawn cases, two plain ones and a whole one in turn, for so many minutes (6) on end,
and writes what each step costs to `ohmscape/jobs/step_costs.py`: after a change that makes a
step quicker, on a machine where nothing else runs, and never judged by the cases it was fitted
to (seed 1). `--fit --again` fits anew to what the last such run measured, kept in
`/tmp/ohmscape-step-costs.jsonl`, after a change of what is counted.
"""

import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from .drawn_cases import plain_case, whole_case
from .step_fit import fit, fit_again
from .watched_runs import Taken, watched_run

PRESETS = ("coarse", "normal", "fine")
_root = Path(__file__).parents[2]
_heads = ("elements", "GB", "processor s", "wall s")


def predicted(text: str, *, accuracy: str | None, pictures: bool) -> list[float]:
    """What `check` says: elements, memory, processor and wall time; alone in this process."""
    from ohmscape.cases.fitting import fit_soil
    from ohmscape.cases.loading import case_of, load_case_text
    from ohmscape.jobs.expected_time import expected_run

    case = fit_soil(load_case_text(text) if "\n" in text else case_of(text))
    expected = expected_run(case, accuracy=accuracy)
    cost = expected.drawn if pictures else expected.plain
    return [expected.planned.elements, cost.memory, cost.processor, cost.seconds]


def mesh_only(text: str, *, accuracy: str | None) -> list[list[float]]:
    """How many elements were predicted of a mesh, and made."""
    from ohmscape.cases.loading import load_case_text
    from ohmscape.jobs.solving import plan
    from ohmscape.meshes import build_mesh

    planned = plan(load_case_text(text), accuracy=accuracy)
    return [[planned.elements], [len(build_mesh(planned).tetrahedra)]]


def in_process(way: str, text: str, accuracy: str | None, *, pictures: bool = False):
    """What a function above gives in a process of its own; what it said if it fails."""
    given = [way, accuracy or "", str(int(pictures))]
    command = [sys.executable, "-W", "ignore", "-m", "benchmarks.predictions", *given]
    done = subprocess.run(
        command, input=text, capture_output=True, text=True, check=False, cwd=_root
    )
    return json.loads(done.stdout) if not done.returncode else done.stderr.strip()


def elements_of(text: str, accuracy: str) -> float | str:
    """Elements predicted; what is said where the case is refused."""
    from ohmscape.cases.loading import load_case_text
    from ohmscape.jobs.solving import plan
    from ohmscape.solver.errors import OhmscapeError

    try:
        return plan(load_case_text(text), accuracy=accuracy).elements
    except OhmscapeError as error:
        return f"refused: {error}"


def cases(seed: int, count: int, most: int) -> Iterator[tuple[str, str, str]]:
    """Name, text and preset of each plain case drawn that is small enough; tells of others."""
    random = np.random.default_rng(seed)
    for number in range(count):
        name, text = plain_case(random)
        accuracy = PRESETS[number % 3]
        name = f"{name}, {accuracy}"
        elements = elements_of(text, accuracy)
        if not isinstance(elements, str) and elements <= most:
            yield name, text, accuracy
        else:
            what = elements[:80] if isinstance(elements, str) else f"{elements:,.0f} left out"
            print(f"{name:<46}{what}", flush=True)


def compared(seed: int = 2, count: int = 60, most: int = 200_000) -> None:
    """Print the table of plain cases drawn."""
    _table((_row(*case, pictures=False) for case in cases(seed, count, most)), _heads)


def whole(seed: int = 2, count: int = 15) -> None:
    """Print the table of whole cases drawn."""
    random = np.random.default_rng(seed)
    drawn = (whole_case(random) for _ in range(count))
    _table((_row(*case, None, pictures=True) for case in drawn), _heads)


def shipped(*names: str) -> None:
    """Print the table of shipped cases."""
    from ohmscape.cases.shipped import shipped_cases

    _table((_row(name, name, None, pictures=True) for name in names or shipped_cases()), _heads)


def meshes(seed: int = 2, count: int = 60, most: int = 3_000_000) -> None:
    """Print the table of meshes alone."""

    def row(name: str, text: str, accuracy: str) -> "Row":
        found = in_process("--mesh", text, accuracy)
        return (name, found, []) if isinstance(found, str) else (name, *found)

    _table((row(*case) for case in cases(seed, count, most)), _heads[:1])


Row = tuple[str, list[float] | str, list[float]]
"""Name, what was predicted, or what was said where it failed, and what came."""


def _row(name: str, text: str, accuracy: str | None, *, pictures: bool) -> Row:
    """A case predicted, then run."""
    expected = in_process("--predicted", text, accuracy, pictures=pictures)
    if isinstance(expected, str):
        return name, expected, []
    taken = watched_run(text, accuracy=accuracy, pictures=pictures)
    return (name, taken.failed, []) if taken.failed else (name, expected, found(taken))


def found(taken: Taken) -> list[float]:
    """What came, in the order in which it was predicted."""
    return [taken.made[0], taken.memory, taken.processor, taken.wall]


def _table(rows: Iterator[Row], heads: tuple[str, ...]) -> None:
    """Print rows as they come: each value, and what it is over the prediction."""
    ratios = []
    print(f"{'':<60}" + "".join(f"{head:>20}" for head in heads))
    for name, expected, values in rows:
        if isinstance(expected, str):
            print(f"{name:<60}{expected[-150:]}", flush=True)
            continue
        ratios.append(np.divide(values, expected))
        text = ""
        for head, value, ratio in zip(heads, values, ratios[-1], strict=True):
            shown = f"{value / 1e9:.2f}" if head == "GB" else f"{value:,.0f}"
            if head.endswith(" s"):
                shown = f"{value:.1f}"
            text += f"{shown:>13}{ratio:>7.2f}"
        print(f"{name:<60}{text}", flush=True)
    for head, own in zip(heads, np.array(ratios).T, strict=True):
        within = int((np.exp(np.abs(np.log(own))) <= 1.5).sum())
        print(
            f"{head}: {within} of {len(own)} within 1.5, {own.min():.2f} to {own.max():.2f}, "
            f"median {np.median(own):.2f}"
        )


def main(way: str, given: list[str]) -> None:
    """What the command line asks for."""
    if way in ("--predicted", "--mesh"):
        text, accuracy = sys.stdin.read(), given[0] or None
        answer = (
            mesh_only(text, accuracy=accuracy)
            if way == "--mesh"
            else predicted(text, accuracy=accuracy, pictures=given[1] == "1")
        )
        print(json.dumps(answer))
    elif way == "--shipped":
        shipped(*given)
    elif way == "--fit":
        fit_again() if given == ["--again"] else fit(*map(int, given))
    else:
        {"--meshes": meshes, "--whole": whole, "": compared}[way](*map(int, given))


if __name__ == "__main__":
    first, *others = sys.argv[1:] or [""]
    if first.startswith("--"):
        main(first, others)
    else:
        main("", [first, *others] if first else [])
