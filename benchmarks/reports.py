"""Time of making a report again from a finished result, for each shipped case.

Usage: python benchmarks/reports.py [CASE ...]

Each case is run once without pictures, then its report is made in a process of its own, as a
person would with `ohmscape report`. Ends with status 1 if one takes longer than is promised.
"""

import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter

_promised = 15.0  # [s]


def _ohmscape(*arguments: str) -> None:
    subprocess.run([sys.executable, "-m", "ohmscape", *arguments, "--quiet"], check=True)


def main() -> None:
    from ohmscape.cases.shipped import shipped_cases

    slow = []
    print(f"{'case':24} {'time':>6}  page     paper")
    for name in sys.argv[1:] or shipped_cases():
        with tempfile.TemporaryDirectory() as folder:
            out = Path(folder) / name
            _ohmscape("run", name, "-o", str(out), "--no-pictures")
            begun = perf_counter()
            _ohmscape("report", str(out))
            seconds = perf_counter() - begun
            page, paper = ((out / f"report.{kind}").stat().st_size for kind in ("html", "pdf"))
        print(
            f"{name:24} {seconds:4.1f} s  {page / 1e6:.1f} MB   {paper / 1e6:.1f} MB",
            flush=True,
        )
        slow += [name] if seconds > _promised else []
    if slow:
        sys.exit(f"longer than {_promised:g} s: {', '.join(slow)}")


if __name__ == "__main__":
    main()
