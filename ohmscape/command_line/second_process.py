"""A second process that draws while the command solves; started before anything is loaded."""

import gc
import pickle
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress

# The same code as here, wherever Python would look for it.
_program = (
    "import gc, pickle, sys; sys.path[:] = pickle.load(sys.stdin.buffer); "
    "gc.set_threshold(*pickle.load(sys.stdin.buffer)); "
    "from ohmscape.viz.studio.process import serve; serve()"
)


@contextmanager
def drawing_process(*, wanted: bool) -> "Iterator[subprocess.Popen[bytes] | None]":
    """Give a process that waits for results to draw, which ends with the command.

    None where nothing will be drawn, or where this Python cannot start another.
    """
    if not wanted or not sys.executable:
        yield None
        return
    process = subprocess.Popen(
        [sys.executable, "-c", _program],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        start_new_session=True,  # an interrupt is for the command, which ends this one
    )
    assert process.stdin is not None
    assert process.stdout is not None
    try:
        with suppress(OSError):  # it has ended already, which whoever asks it is told
            pickle.dump(sys.path, process.stdin)
            pickle.dump(gc.get_threshold(), process.stdin)
            process.stdin.flush()
        yield process
    finally:
        process.kill()
        process.wait()
        process.stdout.close()
        with suppress(OSError):  # what was not sent yet
            process.stdin.close()
