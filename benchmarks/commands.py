"""Time of whole commands, each a process of its own, as a person waits for them.

Usage: python benchmarks/commands.py [CASE ...]
       python benchmarks/commands.py --beside FOLDER [TIMES [CASE ...]]

For each shipped case: `check`, `run` without pictures, `run` with all pictures and the report,
and `report` from the finished result; before them `--help`, which loads nothing. Each has
seconds of the clock, and of processor on all cores with the processes that it started.

With --beside, this code and the checkout of another release in FOLDER take turns at `run` with
all pictures and the report: seconds to the verdict on the terminal and to the end, and of
processor, medians over TIMES. Only processor time tells where others use the machine.
"""

import resource
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter

import numpy as np

TURNS = ("driven-rod", "pad-transformer", "switchyard")


@dataclass(frozen=True)
class Spent:
    """Seconds to the first line printed and to the end, and of processor."""

    verdict: float
    wall: float
    processor: float

    def __str__(self) -> str:
        return f"{self.wall:.1f} ({self.processor:.1f})"


def _used() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def spent(*arguments: str, code: str = "") -> Spent:
    """What a command takes; of the checkout in a folder, where one is given."""
    begun, used = perf_counter(), _used()
    command = [sys.executable, "-m", "ohmscape", *arguments]
    # Python looks for a module where it is started, before all else.
    with subprocess.Popen(command, stdout=subprocess.PIPE, cwd=code or None) as process:
        assert process.stdout is not None
        process.stdout.readline()
        verdict = perf_counter() - begun
        process.stdout.read()
    if process.returncode:
        raise subprocess.CalledProcessError(process.returncode, command)
    return Spent(verdict, perf_counter() - begun, _used() - used)


def beside(other: str, *, times: int, names: list[str]) -> None:
    """Print this code beside that of another folder, in alternation."""
    folders = (str(Path(other).resolve()), str(Path(__file__).resolve().parent.parent))
    for name in names or TURNS:
        rows: list[list[Spent]] = [[], []]
        for _ in range(times):
            for code, found in zip(folders, rows, strict=True):
                with tempfile.TemporaryDirectory() as folder:
                    found.append(spent("run", name, "-o", f"{folder}/out", code=code))
        text = f"{name:<22}"
        for key in ("verdict", "wall", "processor"):
            old, new = (np.median([getattr(row, key) for row in found]) for found in rows)
            text += f"  {key} {old:.1f} -> {new:.1f} s"
        print(text, flush=True)


def main(names: list[str]) -> None:
    from ohmscape.cases.shipped import shipped_cases

    print(f"run --help: {min(spent('run', '--help').wall for _ in range(5)):.2f} s")
    print("seconds of the clock, and of processor in brackets")
    heads = f"{'check':>12} {'run, data':>12} {'run, all':>12} {'verdict':>8} {'report':>12}"
    print(f"{'case':24} {heads}  page, paper")
    for name in names or shipped_cases():
        with tempfile.TemporaryDirectory() as folder:
            out, bare = Path(folder) / name, Path(folder) / "bare"
            check = spent("check", name)
            data = spent("run", name, "-o", str(bare), "--no-pictures", "--quiet")
            whole = spent("run", name, "-o", str(out))
            report = spent("report", str(out), "--quiet")
            page, paper = ((out / f"report.{kind}").stat().st_size for kind in ("html", "pdf"))
        print(
            f"{name:24} {check!s:>12} {data!s:>12} {whole!s:>12} {whole.verdict:>8.1f} "
            f"{report!s:>12}  {page / 1e6:.1f}, {paper / 1e6:.1f} MB",
            flush=True,
        )


if __name__ == "__main__":
    if sys.argv[1:2] == ["--beside"]:
        beside(sys.argv[2], times=int((sys.argv[3:4] or ["1"])[0]), names=sys.argv[4:])
    else:
        main(sys.argv[1:])
