"""Time of whole commands, each a process of its own, as a person waits for them.

Usage: python benchmarks/commands.py [CASE ...]

For each shipped case: `check`, `run` without pictures, `run` with all pictures and the report,
and `report` from the finished result; before them `--help`, which loads nothing.
"""

import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter


def _seconds(*arguments: str) -> float:
    begun = perf_counter()
    command = [sys.executable, "-m", "ohmscape", *arguments]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return perf_counter() - begun


def main() -> None:
    from ohmscape.cases.shipped import shipped_cases

    print(f"run --help: {min(_seconds('run', '--help') for _ in range(5)):.2f} s")
    heads = f"{'check':>7} {'run, data':>10} {'run, all':>9} {'report':>7}"
    print(f"{'case':24} {heads}  page, paper")
    for name in sys.argv[1:] or shipped_cases():
        with tempfile.TemporaryDirectory() as folder:
            out, bare = Path(folder) / name, Path(folder) / "bare"
            row = [
                _seconds("check", name),
                _seconds("run", name, "-o", str(bare), "--no-pictures", "--quiet"),
                _seconds("run", name, "-o", str(out), "--quiet"),
                _seconds("report", str(out), "--quiet"),
            ]
            page, paper = ((out / f"report.{kind}").stat().st_size for kind in ("html", "pdf"))
        check, data, whole, report = (f"{value:.1f} s" for value in row)
        print(
            f"{name:24} {check:>7} {data:>10} {whole:>9} {report:>7}  "
            f"{page / 1e6:.1f}, {paper / 1e6:.1f} MB",
            flush=True,
        )


if __name__ == "__main__":
    main()
