"""How many workers a batch keeps busy: rows that only take time, on 1 to 64 workers.

    python benchmarks/batch_workers.py [ROWS [SECONDS]]

Workers are threads that sleep for as long as a row of a pad takes by thin conductors, so that
what is measured is scheduler, client and the window in which rows are given out, not cores.
Prints rows a second and the share of the time in which a worker has a row.
"""

import sys
from time import monotonic, sleep

from distributed import LocalCluster

from ohmscape.jobs.family_engines import Lost, Workers

COUNTS = (1, 2, 4, 16, 64)


def row(seconds: float) -> tuple[float, ...]:
    """A small record after some seconds."""
    sleep(seconds)
    return (seconds,) * 20


def main(rows: int, seconds: float) -> None:
    """Print the table."""
    print(f"{rows:,} rows of {seconds} s for each 16 workers")
    for count in COUNTS:
        items = [seconds] * max(8 * count, rows * count // 16)
        with (
            LocalCluster(
                n_workers=count, threads_per_worker=1, processes=False, dashboard_address=None
            ) as cluster,
            Workers(scheduler=cluster.scheduler_address) as engine,
        ):
            began = monotonic()
            lost = sum(isinstance(found, Lost) for _, found in engine.answers(row, items))
            took = monotonic() - began
        busy = len(items) * seconds / (took * count)
        print(f"{count:3} workers: {len(items) / took:6.1f} rows a second, busy {busy:.0%}, "
              f"{lost} lost")  # fmt: skip


if __name__ == "__main__":
    main(int((sys.argv[1:2] or ["400"])[0]), float((sys.argv[2:3] or ["0.2"])[0]))
