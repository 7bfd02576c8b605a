"""The second process: draws what it is told while the first solves or draws something else.

It is a Python of its own, not a fork: the libraries of the first have threads, and this one
loads those that draw while there is nothing to draw yet. It writes nothing but its answers, so
that whenever the first one dies no file is half written, and it ends when nobody is left.
"""

import os
import pickle
import subprocess
import sys
import threading
from contextlib import suppress
from datetime import datetime
from queue import SimpleQueue
from typing import Any

from ...solver.errors import DrawingError, OhmscapeError
from ...solver.memory import hold_to_usable_memory
from ...solver.results.storage import load
from ...solver.threads import shared_by
from .parts import Studio

_short = (
    "refused the memory it asked for, which is nine tenths of the machine's at most; a larger "
    "spacing of study.area takes less"
)


class Helper:
    """What draws in another process.

    Parameters
    ----------
    process : Popen
        A Python that waits in `serve`.
    """

    def __init__(self, process: "subprocess.Popen[bytes]", *, made: datetime) -> None:
        assert process.stdin is not None
        assert process.stdout is not None
        self._process, self._to, self._from = process, process.stdin, process.stdout
        self._first: Any = made

    def ask(self, name: str, *arguments: Any) -> Any:
        """What a function of the other process gives.

        Raises
        ------
        DrawingError
            If it raises, or if the process has ended.
        """
        try:
            if self._first is not None:
                self._send(self._first)
                self._first = None
            self._send((name, arguments))
            answer, error = pickle.load(self._from)
        except (EOFError, OSError, ValueError, pickle.UnpicklingError) as failure:
            raise DrawingError(self._why_ended()) from failure
        if error:
            raise DrawingError(error)
        return answer

    def _why_ended(self) -> str:
        """What is known of a process that gives no answer any more."""
        with suppress(subprocess.TimeoutExpired):  # its pipe is closed a moment before it ends
            self._process.wait(1.0)
        status = self._process.poll()
        # Not all libraries say it when they are refused memory, and a system short of it kills.
        short = f"; it may have been {_short}" if status and status < 0 else ""
        return f"the process that draws has ended (exit status {status}){short}"

    def _send(self, message: Any) -> None:
        """Write past the buffer, which would be written again, and fail again, when closed."""
        data = memoryview(pickle.dumps(message))
        while data:
            data = data[os.write(self._to.fileno(), data) :]


def serve() -> None:
    """Draw for the process that started this one, until it has no more or dies."""
    answers = os.fdopen(os.dup(1), "wb")
    hold_to_usable_memory()  # both draw, and neither may have the other killed
    os.dup2(2, 1)  # whatever a library prints is no answer
    told: SimpleQueue[Any] = SimpleQueue()
    threading.Thread(target=_listen, args=(told,), daemon=True).start()
    _load_libraries()
    studio = Studio(told.get())

    def add(path: str, place: str, alike: int | None = None) -> None:
        studio.add(load(path), place=place, alike=alike)

    while True:
        name, arguments = told.get()
        try:
            with shared_by(2):
                answer = (add if name == "add" else getattr(studio, name))(*arguments), ""
        except OhmscapeError as error:
            answer = None, str(error)
        except MemoryError:
            answer = None, f"the process that draws was {_short}"
        except Exception as error:
            answer = None, f"{type(error).__name__}: {error}"
        with suppress(BrokenPipeError):  # nobody waits for it
            pickle.dump(answer, answers)
            answers.flush()


def _listen(told: "SimpleQueue[Any]") -> None:
    """Hear what is to be drawn; once the other side is closed nobody waits for it."""
    try:
        while True:
            told.put(pickle.load(sys.stdin.buffer))
    finally:
        os._exit(0)


def _load_libraries() -> None:
    """Load what draws, which takes longer than to draw a picture."""
    import matplotlib.backends.backend_agg
    import matplotlib.backends.backend_svg
    import matplotlib.figure  # noqa: F401

    from ..canvas.sheet import Sheet
    from ..canvas.smoothing import layer, smooth_picture
    from ..maps import maps  # noqa: F401
    from ..report import assembly, page, paper, paper_pictures  # noqa: F401

    sheet = Sheet((64, 64))
    sheet.text((8, 8), "ohm", backed=True)
    sheet.pixels()
    with suppress(OhmscapeError):  # whoever wants a picture is told
        smooth_picture(layer(), size=(64, 64))  # opens the window
