"""Time of a batch of pads drawn at random, three seasons each, and what the command holds.

    python benchmarks/batches.py 400 77 [--workers 2] [--bad]

Draws so many rows by the seed for the template of `forty-pads`, every twentieth of them bad
where asked, and judges them as `ohmscape batch` does. Prints the seconds of each stage, rows
solved by finite elements, and the memory of the command itself.
"""

import argparse
import math
import random
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from time import monotonic

from ohmscape.cases.family.reading import read_family
from ohmscape.cases.shipped import shipped_family_path
from ohmscape.jobs.family import batch_of
from ohmscape.jobs.family_engines import Workers
from ohmscape.jobs.peak_memory import peak_memory
from ohmscape.viz.family.files import save_batch
from ohmscape.viz.family.words import counts_text, tiers_text


def rows(count: int, seed: int, *, bad: bool) -> Iterator[str]:
    """Lines of a table for the template `forty-pads`."""
    table = shipped_family_path("forty-pads", ending=".csv").read_text("utf-8")
    yield next(line for line in table.splitlines() if not line.startswith("#"))
    draw = random.Random(seed)

    def within(low: float, high: float) -> float:
        return float(f"{math.exp(draw.uniform(math.log(low), math.log(high))):.3g}")

    for number in range(count):
        top, thickness, low = within(40, 420), within(0.7, 3.2), within(30, 260)
        frozen = max(600.0, top * draw.uniform(4, 8)), within(0.4, 0.8), low * 1.1
        dry = top * draw.uniform(1.5, 3), thickness, low * draw.uniform(1.05, 1.3)
        soils = [f"{value:.3g}" for value in (top, thickness, low, *dry, *frozen)]
        if bad and number % 20 == 7:
            soils[0] = draw.choice(["-5", "", "damp"])
        place = f"{54 + draw.random():.5f},{4 + draw.random():.5f}"
        rods, current = within(2, 8), within(8, 60)
        time = draw.choice([0.2, 0.3, 0.4, 0.5, 0.8])
        yield f"pad {number},{place},F1,{','.join(soils)},{rods},{current},{time}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("count", type=int)
    parser.add_argument("seed", type=int)
    parser.add_argument("--workers", type=int)
    parser.add_argument("--bad", action="store_true")
    asked = parser.parse_args()
    with TemporaryDirectory() as place:
        table = Path(place) / "pads.csv"
        table.write_text("\n".join(rows(asked.count, asked.seed, bad=asked.bad)) + "\n")
        began = monotonic()
        stages: dict[str, float] = {}

        def told(step: str, share: float) -> None:
            stages[step.partition(":")[0]] = monotonic() - began

        family = read_family("forty-pads", table)
        with Workers(count=asked.workers) as workers:
            print(f"{workers.workers} workers after {monotonic() - began:.1f} s")
            batch = batch_of(family, folder=Path(place) / "out", engine=workers, progress=told)
        save_batch(batch, Path(place) / "out")
        for stage, seconds in stages.items():
            print(f"{stage}: done after {seconds:.1f} s")
        print(f"all written after {monotonic() - began:.1f} s")
        print(counts_text(batch), *tiers_text(batch), sep="\n")
        print(f"memory of the command: {peak_memory() / 1e6:.0f} MB")


if __name__ == "__main__":
    main()
