"""Fits what each step of a run costs to runs of drawn cases that are told apart by steps."""

import json
import tempfile
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from time import perf_counter
from typing import Any

import numpy as np
from scipy.optimize import nnls

from .drawn_cases import plain_case, whole_case
from .watched_runs import watched_run

_kept = Path(tempfile.gettempdir()) / "ohmscape-step-costs.jsonl"
_written = Path(__file__).parents[2] / "ohmscape" / "jobs" / "step_costs.py"
_most_elements = 250_000  # of a plain case
_rounds = 20  # of weights that follow the fit
# Steps as a run tells of them, and what those are called that `check` counts the work of.
_computing = {
    "mesh": "mesh",
    "second opinion": "mesh",
    "solution": "solution",
    "solution along the metal": "solution along the metal",
    "maps": "maps",
    "worst places": "worst places",
    "accuracy": "accuracy",
    "second opinion at the worst places": "accuracy",
    "voltage along the metal": "accuracy",
    "verdict": "verdict",
    "result.npz": "numbers",
    "shares of the soil": "shares of the soil",
    "solved feet": "solved feet",
}
_drawing = {
    "maps": "map pictures",
    "margins": "map pictures",
    "scene": "3-D view",
    "profiles": "curves",
    "along metal": "curves",
    "section": "curves",
    "comparison": "comparison",
    "still": "report pictures",
    "pictures of the report": "report pictures",
    "maps_on_paper": "maps on paper",
    "maps on paper": "maps on paper",
    "live": "live maps",
    "live maps": "live maps",
    "report.pdf": "paper",
    "report.html": "page",
    "add": "further results",
}
_once = {
    "start": "start",
    "summary": "summary",
    "second process": "second process",
    "files": "files",
    "end": "files",
}
_endings = {"csv": "numbers", "vtu": "volumes"}


def step_of(told: str) -> tuple[bool, str]:
    """Whether a step comes once in a run, and its name in what `check` counts.

    Raises
    ------
    LookupError
        If `check` counts nothing of the kind.
    """
    name = told.rpartition(": ")[2]
    drawn = told.startswith(("drawing: ", "apart: "))
    known = _drawing if drawn else _once if told in _once else _computing
    found = known.get(name) or ("" if drawn else _endings.get(name.rpartition(".")[2], ""))
    if not found:
        msg = f"no step in ohmscape/jobs/expected_*.py has the work of {told!r}"
        raise LookupError(msg)
    return known is not _computing, found


def steps_of(case, trace: list[tuple[str, float]]) -> dict[tuple[str, str], float]:
    """Seconds of each step of each result, by its variant; what comes once has none."""
    seconds: dict[tuple[str, str], float] = {}
    for told, value in trace:
        once, step = step_of(told)
        variant = next(
            (
                each.variant
                for each in case.variants
                if told.startswith(f"{each.variant}: ") or f", {each.variant}: " in told
            ),
            "",
        )
        key = ("" if once else variant, step)
        seconds[key] = seconds.get(key, 0.0) + value
    return seconds


def fit(minutes: int = 6, seed: int = 1) -> None:
    """Run drawn cases for so long, and write what each step costs."""
    begun = perf_counter()
    with _kept.open("w") as file:
        for name, row in _measured(seed):
            said = f"{row['wall']:6.1f} s {row['failed'][-100:]}"
            print(f"{perf_counter() - begun:6.0f} {name:<70}{said}", flush=True)
            # Nobody can know before that a run has to refine: those are left out.
            refined = any(told.endswith("error indicator") for told, _ in row["trace"])
            if not row["failed"] and not refined:
                case, works = _works(row)
                list(_by_step(row, case=case, works=works))  # or it is said now, not at the end
                file.write(json.dumps(row) + "\n")
                file.flush()
            if perf_counter() - begun > 60 * minutes:
                break
    fit_again()


def _measured(seed: int) -> Iterator[tuple[str, dict[str, Any]]]:
    """Names of cases, plain and whole in turn, and what each took."""
    from ohmscape.jobs.expected_time import time_of_yardstick

    random, number = np.random.default_rng(seed), 0
    while True:
        number += 1
        whole = number % 3 == 0
        name, text = (whole_case if whole else plain_case)(random)
        accuracy = ("coarse", "normal", "fine")[number % 4 % 3]
        if not whole and _is_large(text, accuracy):
            continue
        drawn = whole and number % 12 > 0  # memory of variants that are not drawn counts too
        before = time_of_yardstick()
        taken = asdict(watched_run(text, accuracy=accuracy, pictures=drawn, traced=True))
        pace = 0.5 * (before + time_of_yardstick())
        row = {"text": text, "accuracy": accuracy, "pictures": drawn, "pace": pace}
        yield f"{name}, {accuracy}", taken | row


def _is_large(text: str, accuracy: str) -> bool:
    """Whether a plain case would take too long, or is refused."""
    from ohmscape.cases.loading import load_case_text
    from ohmscape.jobs.solving import plan
    from ohmscape.solver.errors import OhmscapeError

    try:
        return plan(load_case_text(text), accuracy=accuracy).elements > _most_elements
    except OhmscapeError:
        return True


def fit_again() -> None:
    """Write what each step costs by what was measured last."""
    from ohmscape.jobs import step_costs

    rows = [json.loads(line) for line in _kept.read_text().splitlines()]
    pace = float(np.median([row["pace"] for row in rows]))
    measured: dict[str, list] = {}
    memory: dict[str, list] = {}
    for row in rows:
        case, works = _works(row)
        for step, amounts, seconds in _by_step(row, case=case, works=works):
            measured.setdefault(step, []).append((amounts, seconds * pace / row["pace"]))
        for step, amounts, value in _memory_of(row, works=works):
            memory.setdefault(step, []).append((amounts, value))
    # A step that no case drawn takes costs what it did, on the machine of these costs.
    kept = {
        step: {what: cost * pace / step_costs.yardstick for what, cost in each.items()}
        for step, each in step_costs.seconds_for.items()
    }
    lines = [
        '"""What each step of a run costs, by ``python -m benchmarks.predictions --fit``."""',
        "",
        "# What `expected_time.time_of_yardstick` gives on the machine of the costs. [s]",
        f"yardstick = {pace:.3g}",
        "# Of one of each amount, named as in `expected_work` and `expected_drawing`. [s]",
        *_as_code("seconds_for", kept | _fitted(measured, least=0.1)),
        "# The same of memory. [byte]",
        *_as_code("bytes_for", _fitted(memory, least=1e7)),
    ]
    _written.write_text("\n".join([*lines, ""]), encoding="utf-8")
    print(f"written to {_written}")


def _as_code(name: str, costs: dict[str, dict[str, float]]) -> list[str]:
    """Lines that define a table of costs."""
    lines = [f"{name}: dict[str, dict[str, float]] = {{"]
    for step, each in costs.items():
        lines += [f'    "{step}": {{']
        for what, cost in each.items():
            lines.append(f'        "{what}": {f"{cost:.3g}".replace("e+", "e")},')
        lines += ["    },"]
    return [*lines, "}"]


def _works(row: dict[str, Any]):
    """The case of a row, with what each of its results takes."""
    from ohmscape.cases.fitting import fit_soil
    from ohmscape.cases.loading import load_case_text
    from ohmscape.jobs.expected_time import works_of

    case = fit_soil(load_case_text(row["text"]))
    return case, works_of(case, accuracy=row["accuracy"])


def _by_step(row: dict[str, Any], *, case, works) -> Iterator[tuple[str, dict, float]]:
    """Each step of each result of a run: its amounts and seconds."""
    from ohmscape.jobs.expected_course import once_amounts, result_amounts

    seconds = steps_of(case, row["trace"])
    for work, own, saved in result_amounts(works):
        for step, amounts in (own | saved).items():
            yield step, amounts, seconds.pop((work.case.variant, step), 0.0)
    for step, amounts in once_amounts(works, drawn=row["pictures"]).items():
        yield step, amounts, seconds.pop(("", step), 0.0)
    if seconds:
        msg = f"steps that `check` does not count in this case: {sorted(seconds)}"
        raise LookupError(msg)


def _memory_of(row: dict[str, Any], *, works) -> Iterator[tuple[str, dict, float]]:
    """Amounts of memory and how much it was."""
    from ohmscape.jobs.expected_time import memory_amounts

    computing, drawing = memory_amounts(works)
    yield from (
        (step, amounts, row["memory"])
        for step, amounts in (drawing if row["pictures"] else computing).items()
    )


def _fitted(measured: dict[str, list], *, least: float) -> dict[str, dict[str, float]]:
    """Costs above zero with the least relative deviations; below `least` they count as that."""
    costs = {}
    for step, rows in measured.items():
        whats = list(dict.fromkeys(what for amounts, _ in rows for what in amounts))
        table = np.array([[amounts.get(what, 0.0) for what in whats] for amounts, _ in rows])
        value = np.array([value for _, value in rows])
        scale = np.maximum(np.abs(table).max(axis=0), 1e-300)
        # Over the mean of found and fitted: over what is found alone, too little would win.
        cost, weight = np.zeros(len(whats)), 1.0 / np.maximum(value, least)
        for _ in range(_rounds):
            cost = nnls(table / scale * weight[:, None], value * weight)[0] / scale
            fitted = np.maximum(table @ cost, least)
            weight = 1.0 / np.sqrt(np.maximum(value, least) * fitted)
        off = np.log(np.maximum(table @ cost, least) / np.maximum(value, least))
        costs[step] = dict(zip(whats, cost.tolist(), strict=True))
        print(f"{step:<20}{len(rows):>5} values, off by {off.std():.0%}")
    return costs
