"""Designs per second of the cases to be sized, against solving each by finite elements.

Usage: python benchmarks/designs.py [--accuracy PRESET] [--some N] [NAME ...]

Each case is sized in a process of its own, with its helpers. Then some of its designs, evenly
spread over all, are solved by finite elements in all variants, as a run without pictures
would; what all of them would take follows from that. Prints wall and processor seconds,
memory, and by how much thin conductors and finite elements differ on those designs in the
largest share of what is allowed. Compare processor seconds where a machine has other work.
"""

import argparse
import json
import os
import resource
import subprocess
import sys
from time import perf_counter

import numpy as np

from ohmscape.cases.designs import design_case
from ohmscape.cases.loading import load_case
from ohmscape.jobs.run import run_variants
from ohmscape.jobs.sizing import size_case
from ohmscape.jobs.trying import Trials, evaluation_of

NAMES = ("pad-to-size", "yard-to-size")


def main() -> None:
    reader = argparse.ArgumentParser()
    reader.add_argument("names", nargs="*", default=NAMES)
    reader.add_argument("--accuracy", default="coarse")
    reader.add_argument("--some", type=int, default=4)
    reader.add_argument("--in", dest="inside", choices=("sized", "solved"))
    given = reader.parse_args()
    if given.inside:
        work = {"sized": sized, "solved": solved}[given.inside]
        print(json.dumps(work(given.names[0], given.accuracy, given.some)))
        return
    for name in given.names:
        found, each = (_apart(kind, name, given) for kind in ("sized", "solved"))
        wall, processor = (each[key] * found["designs"] for key in ("wall", "processor"))
        pace, other = found["designs"] / found["wall"], found["designs"] / wall
        print(
            f"{name}: {found['designs']} designs in {found['conditions']} conditions, "
            f"{found['given up']} of them not in all,\n"
            f"  {found['proofs']} solved by finite elements too\n"
            f"  sized   {found['wall']:8.0f} s  {found['processor']:8.0f} s of processor  "
            f"{found['memory']:.1f} GB  {pace:.2f} designs per second\n"
            f"  each by finite elements, from {given.some} of them\n"
            f"          {wall:8.0f} s  {processor:8.0f} s of processor  "
            f"{each['memory']:.1f} GB  {other:.2f} designs per second\n"
            f"  {processor / found['processor']:.1f} times the processor; largest difference "
            f"of a share {each['difference']:.2%}",
            flush=True,
        )


def _apart(kind: str, name: str, given: argparse.Namespace) -> dict[str, float]:
    words = ["--in", kind, "--accuracy", given.accuracy, "--some", str(given.some), name]
    done = subprocess.run(
        [sys.executable, __file__, *words], check=True, capture_output=True, text=True
    )
    return json.loads(done.stdout.splitlines()[-1])


def sized(name: str, accuracy: str, _: int) -> dict[str, float]:
    """What sizing a case takes."""
    case = load_case(name)
    begin, used = perf_counter(), _processor()
    found = size_case(case, accuracy=accuracy).sizing
    return {
        "designs": found.possible,
        "conditions": 1 + len(case.variants),
        "given up": sum(item.given_up for item in found.tried),
        "proofs": sum(item.proof is not None for item in found.tried),
        "wall": perf_counter() - begin,
        "processor": _processor() - used,
        "memory": _memory(),
    }


def solved(name: str, accuracy: str, some: int) -> dict[str, float]:
    """What one design by finite elements takes, and how far thin conductors are off."""
    case = load_case(name)
    designs = list(case.design.designs())
    chosen = [designs[k] for k in np.linspace(0, len(designs) - 1, some).astype(int)]
    cases = [design_case(case, one) for one in chosen]
    begin, used = perf_counter(), _processor()
    proofs = [evaluation_of(each, run_variants(each, accuracy=accuracy)) for each in cases]
    wall, processor = perf_counter() - begin, _processor() - used
    targets, trials = case.design.targets, Trials()
    apart = [
        abs(trials.evaluation(each).worst(targets) / proof.worst(targets) - 1)
        for each, proof in zip(cases, proofs, strict=True)
    ]
    return {
        "wall": wall / some,
        "processor": processor / some,
        "memory": _memory(),
        "difference": max(apart),
    }


def _processor() -> float:
    """Processor time of this process and of all that it has ended. [s]"""
    return sum(os.times()[:4])


def _memory() -> float:
    """Largest memory of this process so far, and of the largest that it has ended. [GB]"""
    kinds = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    return sum(resource.getrusage(kind).ru_maxrss for kind in kinds) / 1e6


if __name__ == "__main__":
    main()
