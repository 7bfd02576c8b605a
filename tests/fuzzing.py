"""Mutates cases, surveys and results, and tells what is not refused as it should be.

    .venv/bin/python tests/fuzzing.py cases 20261128 4000 60

The kind, a seed, how many, and for how many seconds of processor at most. Prints JSON: how many
were tried and accepted, what went wrong with which, the peak of memory, the longest time.
"""

import json
import os
import random
import re
import signal
import sys
import tempfile
import time
import warnings
from pathlib import Path

import numpy as np

from ohmscape.cases.loading import load_case
from ohmscape.cases.shipped import shipped_case_path, shipped_cases
from ohmscape.cases.soil_survey.readings import load_survey
from ohmscape.jobs.peak_memory import peak_memory
from ohmscape.jobs.understood import understood
from ohmscape.solver.errors import OhmscapeError
from ohmscape.solver.results.packing import pack
from ohmscape.solver.results.result import Result
from ohmscape.solver.results.storage import load

LONGEST = 10.0  # for one, of processor time [s]
SAMPLES = Path(__file__).parent / "solver" / "results" / "samples"
SURVEYS = (
    "spacing [m],resistance [ohm]\n1,31.5\n2,14.2\n4,6.1\n8,2.9\n16,1.4\n",
    "traverse;a [m];pin_depth [m];apparent_resistivity [ohm*m]\nn;1,5;0,1;140\nn;3;0,1;155,5\n",
    "half_current_spacing [ft],half_potential_spacing [ft],resistance [ohm]\n10,1,9.5\n",
    "driven_length [m],diameter [mm],resistance [ohm]\n1,16,95\n2,16,52\n3,16,33\n",
)
NASTY = (
    "", "-", "nan", "inf", "-inf m", "1e308", "1e999 m", "-0 m", "0 m", "1/0 m", "8 1/1 ft",
    "9" * 400, "1e-320 m", "true", "null", "~", "{}", "[]", "[[]]", "*a", "&a b", "!!float 1",
    "\x00", "\ud7ff", "\ufeff", "\u2028", "\u202e", "\\U00110000", '"\\ud800"', "=1+1",
    "- - -", "100 km", "1e-9 m", "-5 A", "1e9 ohm*m", "0 ohm*m", "50 lb", "4/0 AWG",
    "{circuit: true}", "remote earth", "'", '"', "{a: 1, a: 2}", ": ", "#", "\t", ";", ",",
    "[" * 30, "endless", "1 m]", "..", "/etc/passwd", "x" * 300, "0.5 µm", "½ m", "１ m",
    "1,5 m", "m", "1 m m",
)  # fmt: skip
_value = re.compile(r"(?<=[:,\[{;\n ])[^:,\[\]{};\n]+")


def mutated_text(text, random):
    """Text with one to five mutations of values, lines or characters."""
    for _ in range(random.choice((1, 1, 1, 2, 5))):
        how = random.randrange(7)
        at = random.randrange(len(text) + 1)
        lines = text.split("\n")
        k, other = random.randrange(len(lines)), random.randrange(len(lines))
        if how <= 2:
            found = list(_value.finditer(text))
            if found:
                spot, twin = random.choice(found), random.choice(found)
                new = twin.group() if how == 2 else random.choice(NASTY)
                text = text[: spot.start()] + new + text[spot.end() :]
        elif how == 3:
            text = "\n".join(lines[:k] + lines[k + 1 :])
        elif how == 4:
            text = "\n".join([*lines[:k], lines[other], *lines[k:]])
        elif how == 5:
            text = text[:at] + random.choice(NASTY) + text[at:]
        else:
            text = text[:at] + text[at + random.choice((1, 2, 30)) :]
    return text


def mutated_bytes(data, random):
    """Bytes with some changed, left out or put in."""
    data = bytearray(data)
    for _ in range(random.choice((1, 1, 2, 10))):
        at = random.randrange(len(data) + 1)
        how = random.randrange(4)
        if how <= 1 and at < len(data):
            data[at] = random.randrange(256)
        elif how == 2:
            del data[at : at + random.choice((1, 4, 1000))]
        else:
            data[at:at] = random.randbytes(random.choice((1, 4, 100)))
    return bytes(data)


class Cases:
    """Shipped cases, with the tables some of them name beside them."""

    ending = ".yaml"

    def __init__(self, folder):
        self.originals = [
            shipped_case_path(name).read_text("utf-8") for name in shipped_cases()
        ]
        for table in shipped_case_path("driven-rod").parent.glob("*.csv"):
            (folder / table.name).write_bytes(table.read_bytes())
        self._read = 0

    def mutated(self, random):
        text = mutated_text(random.choice(self.originals), random)
        return text.encode("utf-8", "surrogatepass")

    def read(self, path):
        """A case that can be: finite, in the soil, of some size."""
        case = load_case(path)
        metal, soil = case.conductors, case.layers
        ends = np.concatenate([metal.start, metal.end])
        assert np.isfinite(ends).all()
        assert (ends[:, 2] <= 0).all()
        assert (ends[:, 2] >= -1000.0001).all()
        assert (metal.length > 0).all()
        assert (metal.radius > 0).all()
        assert (metal.sheath_radius >= metal.radius).all()
        if soil is not None:
            assert all(0 < value < 1e16 for value in soil.resistivity)
            assert all(0 < value <= 1e5 for value in soil.thickness)
        for drive in case.drives:
            assert np.isfinite(drive.value)
            assert abs(drive.value) <= 1e7
        assert case.title.isprintable()
        self._read += 1
        if self._read % 10 == 0 and case.survey is None:
            assert understood(case).encode()


class Surveys:
    """Tables of readings."""

    ending = ".csv"

    def __init__(self, folder):
        self.originals = list(SURVEYS)

    def mutated(self, random):
        text = random.choice(self.originals)
        if random.random() < 0.2:
            return mutated_bytes(text.encode(), random)
        return mutated_text(text, random).encode("utf-8", "surrogatepass")

    def read(self, path):
        """Readings that can be: all positive and finite."""
        survey = load_survey(path).survey
        assert 0 < len(survey.apparent_resistivity) <= 2000
        for values in (survey.apparent_resistivity, survey.spacing):
            assert np.isfinite(values).all()
            assert (values > 0).all()


class Results:
    """The sample of the present format."""

    ending = ".npz"

    def __init__(self, folder):
        self._path = max(SAMPLES.glob("format-*.npz"), key=lambda p: int(p.stem.split("-")[1]))
        self._original = self._path.read_bytes()
        self._packed = self._as_text(load(self._path))

    def mutated(self, random):
        return mutated_bytes(self._original, random)

    @staticmethod
    def _as_text(result):
        tree, arrays = pack(Result, result, name="result")
        return json.dumps(tree), {name: array.tobytes() for name, array in arrays.items()}

    def read(self, path):
        """The same result as was saved, or none."""
        assert self._as_text(load(path)) == self._packed


def _overdue(*_):
    msg = f"took {LONGEST:g} s of processor"
    raise TimeoutError(msg)


def main(kind, seed, count, seconds):
    """Try them, and print what was found."""
    random_ = random.Random(int(seed))
    signal.signal(signal.SIGPROF, _overdue)
    accepted, wrong, longest, tried = 0, [], 0.0, 0
    with tempfile.TemporaryDirectory() as folder:
        kinds = {"cases": Cases, "surveys": Surveys, "results": Results}
        one = kinds[kind](Path(folder))
        path = Path(folder) / f"mutated{one.ending}"
        while tried < int(count) and time.process_time() < float(seconds):
            content = one.mutated(random_)
            path.write_bytes(content)
            began = time.process_time()
            signal.setitimer(signal.ITIMER_PROF, LONGEST)
            try:
                with warnings.catch_warnings():
                    warnings.simplefilter("error")
                    one.read(path)
                accepted += 1
            except OhmscapeError as error:
                str(error).encode()
            except BaseException as error:
                wrong.append(f"{tried}: {error!r:.200}")
                if "FUZZING_KEEP" in os.environ:
                    name = f"{kind}-{tried}{one.ending}"
                    (Path(os.environ["FUZZING_KEEP"]) / name).write_bytes(content)
            signal.setitimer(signal.ITIMER_PROF, 0)
            longest = max(longest, time.process_time() - began)
            tried += 1
    found = {"tried": tried, "accepted": accepted, "wrong": wrong, "peak": peak_memory()}
    sys.stdout.write(json.dumps({**found, "longest": longest}))


if __name__ == "__main__":
    main(*sys.argv[1:])
