"""What a real `ohmscape run` takes in a process of its own: time, memory, and by its steps.

Memory is that of all its processes at one moment, what they share counted once, looked at every
twentieth of a second; time is that of all of them too. With a trace the same command is told
apart into its steps: those that it shows on its bar, what it does before, between and after
them, and what the second process draws, which no bar knows of while the first still solves.
"""

import contextlib
import json
import os
import resource
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter, sleep
from typing import Any

_between_looks = 0.05  # s
_page = os.sysconf("SC_PAGE_SIZE")
_tick = 1.0 / os.sysconf("SC_CLK_TCK")
# Files that a step of the bar is told of by: each is part of the step before it.
_pictures = (".png", ".svg")


@dataclass(frozen=True)
class Taken:
    """What a command took.

    Attributes
    ----------
    wall, processor : float
        From start to end, and of all its processes. [s]
    memory : float
        Of all its processes together, at most. [byte]
    failed : str
        What it said if it failed.
    trace : list of (str, float)
        Steps in their order and the processor time of each, where asked for. [s]
    made : list of int
        Elements of the meshes of the case as it stands, finer and coarser.
    """

    wall: float
    processor: float
    memory: float
    failed: str
    trace: list[tuple[str, float]]
    made: list[int]


def watched_run(
    case: str, *, accuracy: str | None = None, pictures: bool = True, traced: bool = False
) -> Taken:
    """Run a shipped case by its name, or the text of one, as a user does."""
    with tempfile.TemporaryDirectory() as folder:
        file, out, trace = (Path(folder) / name for name in ("case.yaml", "out", "trace"))
        if "\n" in case:
            file.write_text(case)
            case = str(file)
        given = ["run", case, "-o", str(out)]
        given += ["--accuracy", accuracy] if accuracy else []
        given += [] if pictures else ["--no-pictures"]
        how = [__file__, str(trace)] if traced else ["-m", "ohmscape"]
        begun, least, memory = perf_counter(), _waited_for(), 0.0
        with (Path(folder) / "said").open("w+") as said:
            command = [sys.executable, *how, *given]
            process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=said)
            while process.poll() is None:
                memory = max(memory, memory_of_family(process.pid))
                sleep(_between_looks)
            wall = perf_counter() - begun
            said.seek(0)
            failed = said.read().strip() if process.returncode else ""
        return Taken(
            wall=wall,
            processor=_waited_for() - least,
            memory=memory,
            failed=failed,
            trace=json.loads(trace.read_text()) if trace.is_file() else [],
            made=[] if failed else _made(out),
        )


def memory_of_family(pid: int) -> float:
    """Memory of a process and all that descend from it, what they share counted once. [byte]"""
    parents: dict[int, list[int]] = {}
    for path in Path("/proc").iterdir():
        if path.name.isdigit():
            with contextlib.suppress(OSError):  # it has ended
                fields = (path / "stat").read_text().rpartition(")")[2].split()
                parents.setdefault(int(fields[1]), []).append(int(path.name))
    family, own, shared = [pid], 0, 0
    for member in family:
        family += parents.get(member, [])
        with contextlib.suppress(OSError):
            _, resident, common = Path(f"/proc/{member}/statm").read_text().split()[:3]
            own += int(resident) - int(common)
            shared = max(shared, int(common))
    return float((own + shared) * _page)


def _waited_for() -> float:
    """Processor time of processes that have ended, and of those that they waited for. [s]"""
    return sum(resource.getrusage(resource.RUSAGE_CHILDREN)[:2])


def _made(folder: Path) -> list[int]:
    from ohmscape.viz.result_folder import load_result

    result = load_result(folder)
    return [len(each.mesh.tetrahedra) for each in (result.solution, result.coarse)]


class _Trace:
    """Takes the processor time at the beginning of each step of this process and the other."""

    def __init__(self) -> None:
        self.steps: list[tuple[str, float]] = []
        self.helper: subprocess.Popen[bytes] | None = None
        self._phase, self._name, self._since = "", "start", 0.0
        self._helper_since = 0.0
        self._thread = threading.get_ident()

    def begin(self, name: str) -> None:
        """End the step before and begin another."""
        now = self._now()
        self.steps.append((self._name, now - self._since))
        self._name, self._since = name, now

    def leave_out(self) -> None:
        """Count nothing of what came since the step began."""
        self._since = self._now()

    @staticmethod
    def _now() -> float:
        each = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
        return sum(sum(resource.getrusage(who)[:2]) for who in each)

    def told(self, step: str, share: float) -> None:
        """Progress as the command tells it; what the other process does is taken elsewhere."""
        if threading.get_ident() == self._thread:
            part = self._phase and step.endswith(_pictures)
            self.begin(self._name if part else self._phase + step)

    def drew(self, name: str, arguments: tuple[Any, ...]) -> None:
        """Take what the other process did since the last time, loading what it needs too."""
        assert self.helper is not None
        fields = Path(f"/proc/{self.helper.pid}/stat").read_text().rpartition(")")[2].split()
        now = (int(fields[11]) + int(fields[12])) * _tick
        step = arguments[0][0] if name == "draw" else name
        first = self._helper_since == 0.0
        self.steps.append(
            ("second process" if first else f"apart: {step}", now - self._helper_since)
        )
        self._helper_since = now

    @contextlib.contextmanager
    def shown(self, *, quiet: bool) -> Iterator[Any]:
        """In place of the bar: what is computed first, then what is drawn."""
        yield self.told
        self.begin("files" if self._phase else "summary")
        self._phase = "drawing: "


def _traced(path: str, arguments: list[str]) -> None:
    """Run the command in this process and leave its steps in a file."""
    from ohmscape.command_line import running, second_process
    from ohmscape.viz.result_folder import Saving
    from ohmscape.viz.studio.process import Helper

    trace, ask, drawing = _Trace(), Helper.ask, second_process.drawing_process
    add = Saving.add

    def asked(helper: Helper, name: str, *given: Any) -> Any:
        try:
            return ask(helper, name, *given)
        finally:
            trace.drew(name, given)

    @contextlib.contextmanager
    def drawing_process(*, wanted: bool) -> Iterator[Any]:
        with drawing(wanted=wanted) as trace.helper:
            yield trace.helper
            trace.begin("end")
        trace.leave_out()  # the other process, whose time has come to this one's

    def added(saved: Saving, result: Any) -> None:
        add(saved, result, progress=trace.told)  # nobody is told where a user runs it

    Helper.ask, Saving.add = asked, added
    running.drawing_process, running.progress_shown = drawing_process, trace.shown
    try:
        running.run.main(arguments[1:], standalone_mode=False)
    finally:
        trace.begin("")
        Path(path).write_text(json.dumps(trace.steps))


if __name__ == "__main__":
    _traced(sys.argv[1], sys.argv[2:])
