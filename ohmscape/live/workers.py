"""Processes that do the work of a page, ended cleanly whatever they do.

One call into a library cannot be interrupted from outside, so work that nobody wants any more
is ended with its process, and with those that it has started. A process whose page is gone,
however that went, ends by itself: the pipe it is told through is closed.
"""

import asyncio
import os
import pickle
import signal
import struct
import sys
from collections.abc import AsyncGenerator
from contextlib import suppress
from typing import Any

from ..solver.errors import OhmscapeError

# The same code as here, wherever Python would look for it.
_program = (
    "import pickle, sys; sys.path[:] = pickle.load(sys.stdin.buffer); "
    "from ohmscape.live.bench import serve; serve()"
)
_size = struct.Struct("!Q")
_most_ahead = 2**22  # bytes of an answer taken in before they are asked for
Answer = tuple[Any, ...]


class WorkerGoneError(OhmscapeError, RuntimeError):
    """A process that worked has ended, by itself or from outside."""


class Worker:
    """A process that works on one thing at a time.

    Parameters
    ----------
    bench : Bench
        What it works with, see `bench`.
    gentle : bool
        Whether it makes way for other processes.
    """

    def __init__(self, bench: object, *, gentle: bool = False) -> None:
        self._bench, self._gentle = bench, gentle
        self._process: asyncio.subprocess.Process | None = None
        self.busy = False
        """Whether it works on something."""

    async def start(self) -> None:
        """Start the process, unless it runs; it loads what it needs while nobody waits."""
        if self._process is not None and self._process.returncode is None:
            return
        self._process = await asyncio.create_subprocess_exec(
            sys.executable,
            "-c",
            _program,
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.DEVNULL,
            start_new_session=True,  # an interrupt is for the command, which ends this one
            limit=_most_ahead,
        )
        stdin = self._process.stdin
        assert stdin is not None
        stdin.write(pickle.dumps(sys.path))
        stdin.write(framed((self._bench, self._gentle, os.getpid())))

    async def answers(self, task: str, **given: Any) -> AsyncGenerator[Answer, None]:
        """Start on a task, a method of the bench; what it says, one after the other.

        Raises
        ------
        WorkerGoneError
            If the process ends before the task does.
        """
        await self.start()
        process = self._process
        assert process is not None
        assert process.stdin is not None
        assert process.stdout is not None
        self.busy = True
        try:
            process.stdin.write(framed((task, given)))
            await process.stdin.drain()
            while True:
                (size,) = _size.unpack(await process.stdout.readexactly(_size.size))
                answer = pickle.loads(await process.stdout.readexactly(size))
                if answer is None:
                    self.busy = False
                    return
                yield answer
        except (asyncio.IncompleteReadError, OSError) as error:
            await self.end()
            msg = f"the process that works on '{task}' has ended; out of memory perhaps"
            raise WorkerGoneError(msg) from error
        finally:
            if self.busy:  # nobody waits for the rest
                await self.end()

    async def end(self) -> None:
        """End the process and those it has started, whatever they do."""
        process, self._process, self.busy = self._process, None, False
        if process is None:
            return
        with suppress(ProcessLookupError):
            if hasattr(os, "killpg"):
                os.killpg(process.pid, signal.SIGKILL)
            else:
                process.kill()
        await asyncio.shield(process.wait())


def framed(what: Any) -> bytes:
    """Something as it goes through a pipe."""
    content = pickle.dumps(what, protocol=pickle.HIGHEST_PROTOCOL)
    return _size.pack(len(content)) + content


def unframed(pipe: Any) -> Any:
    """The next thing from a pipe; `EOFError` at its end."""
    size = pipe.read(_size.size)
    if len(size) < _size.size:
        raise EOFError
    return pickle.loads(pipe.read(_size.unpack(size)[0]))
