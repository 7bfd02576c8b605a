"""Runs slices of the benchmark, prints its table, or prints the file of one case.

    python -m benchmarks.coverage --classes rods tips --cases 30 --preset normal --jobs 2
    python -m benchmarks.coverage --table
    python -m benchmarks.coverage --show tips 4

Rows are appended to the CSV; cases that it has already are not run again.
"""

import argparse
import os
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path

os.environ.setdefault("OMP_NUM_THREADS", "1")  # small matrices: threads only get in the way

from .drawing import CLASSES, drawn
from .judging import Row, judged
from .table import append_rows, read_rows, report


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.coverage")
    parser.add_argument("--classes", nargs="+", choices=list(CLASSES), default=list(CLASSES))
    parser.add_argument("--cases", type=int, default=30, help="of each class, up to")
    parser.add_argument("--first", type=int, default=0, help="number of the first case")
    parser.add_argument("--preset", nargs="+", default=["normal"])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--results", type=Path, default=Path("coverage.csv"))
    parser.add_argument("--table", action="store_true")
    parser.add_argument("--show", nargs="+", metavar="CLASS NUMBER [ATTEMPT]")
    asked = parser.parse_args()
    if asked.show:
        kind, *numbers = asked.show
        number, attempt = (*(int(value) for value in numbers), 0)[:2]
        print(drawn(kind, seed=asked.seed, number=number, attempt=attempt), end="")
        return
    if asked.table:
        print(report(read_rows(asked.results)))
        return
    known = {(row.kind, row.number, row.preset, row.seed) for row in read_rows(asked.results)}
    with ProcessPoolExecutor(asked.jobs) as pool:
        tasks = []
        for number in range(asked.first, asked.cases):
            for kind in asked.classes:
                left = [p for p in asked.preset if (kind, number, p, asked.seed) not in known]
                tasks.append(pool.submit(_presets, kind, asked.seed, number, left))
        for task in as_completed(tasks):
            append_rows(asked.results, task.result())


def _presets(kind: str, seed: int, number: int, presets: list[str]) -> list[Row]:
    """Rows of one case at some presets, which share its reference."""
    each = (judged(kind, seed=seed, number=number, preset=preset) for preset in presets)
    return [row for rows in each for row in rows]


if __name__ == "__main__":
    main()
