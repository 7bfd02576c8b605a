"""A whole run of a grid with voltages along it, beside one of the same grid at one potential.

Usage: python benchmarks/along_run.py [TIMES]

Both by the command, without pictures, taking turns in processes of their own: a copper grid of
200 m with 10 by 10 meshes, fed at one corner, with the current taken out at the other, which
makes two ports. Prints processor and wall seconds of each turn, the medians, and their ratio.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median
from time import perf_counter

CASE = """
ohmscape: 1
title: Grid of 200 m
soil: {layers: [{resistivity: 100 ohm*m, thickness: 3 m}, {resistivity: 40 ohm*m}]}
electrodes:
  - name: grid
    drive: {circuit: true}
    fed_at: [0 m, 0 m]
    parts:
      - kind: grid
        name: mesh
        corner: [0 m, 0 m]
        size: [200 m, 200 m]
        meshes: [10, 10]
        depth: 0.8 m
        diameter: 11 mm
        material: annealed copper
circuit:
  frequency: 50 Hz
  supply: {current: 10 kA, to: grid}
"""
ALONG = """
  paths:
    - name: shield wire
      between: [far corner, remote earth]
      impedance: {resistance: 1 ohm, reactance: 2 ohm}
along_metal:
  places:
    - {name: far corner, electrode: grid, at: [200 m, 200 m]}
"""
EVEN = ALONG.split("along_metal:")[0].replace("far corner", "grid")
ROOT = Path(__file__).resolve().parent.parent


def run(text, folder):
    """Processor and wall seconds and peak memory in GB of one run without pictures."""
    case = Path(folder) / "case.yaml"
    case.write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "ohmscape", "run", str(case), "--no-pictures"]
    begun = perf_counter()
    with subprocess.Popen(command, cwd=folder, stdout=subprocess.DEVNULL) as started:
        _, status, used = os.wait4(started.pid, 0)
        started.returncode = os.waitstatus_to_exitcode(status)
    if started.returncode:
        msg = f"the run ended with {started.returncode}"
        raise RuntimeError(msg)
    return used.ru_utime + used.ru_stime, perf_counter() - begun, used.ru_maxrss / 1e6


def main(times="3"):
    """Print the table."""
    found = {"at one potential": [], "with voltages along it": []}
    for turn in range(int(times)):
        for (name, seconds), text in zip(found.items(), (EVEN, ALONG), strict=True):
            with tempfile.TemporaryDirectory() as folder:
                seconds.append(run(CASE.rstrip("\n") + text, folder))
            cpu, wall, memory = seconds[-1]
            print(
                f"turn {turn + 1}  {name:24s} {cpu:7.2f} s of processor, {wall:7.2f} s,"
                f" {memory:.2f} GB",
                flush=True,
            )
    even, along = (
        [median(each[k] for each in seconds) for k in (0, 1)] for seconds in found.values()
    )
    print(f"medians: processor {even[0]:.2f} and {along[0]:.2f} s")
    print(f"ratio: processor {along[0] / even[0]:.2f}, wall {along[1] / even[1]:.2f}")


if __name__ == "__main__":
    main(*sys.argv[1:])
