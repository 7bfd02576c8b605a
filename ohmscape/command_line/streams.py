"""What is printed, on every terminal: signs it lacks spelled out, a closed pipe no error."""

import codecs
import os
import signal
import sys
from contextlib import suppress

import click

_spelled = {
    "Ω": "ohm", "·": "*", "×": "x", "÷": "/", "−": "-", "–": "-", "—": "-", "…": "...",
    "±": "+/-", "²": "^2", "³": "^3", "√": "sqrt ", "∠": "at", "°": " deg", "µ": "u",
    "ρ": "rho", "φ": "phi", "π": "pi", "λ": "lambda", "₀": "0", "✓": "ok", "✕": "x",
    "“": '"', "”": '"', "‘": "'", "’": "'",
}  # fmt: skip
_errors = "ohmscape-spelled"


def _spell(error: UnicodeError) -> tuple[str, int]:
    """Signs in place of those that an encoding lacks, and where to go on."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    missing = error.object[error.start : error.end]
    return "".join(_spelled.get(sign, "?") for sign in missing), error.end


def spell_out_missing_signs() -> None:
    """Have stdout and stderr spell what their encoding has no sign for."""
    codecs.register_error(_errors, _spell)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # not where a caller put something of its own
            stream.reconfigure(errors=_errors)


def say(text: str, *, to_stderr: bool = False) -> None:
    """Print a text; once nobody reads on, as behind `head`, into nothing.

    The command goes on: its files and its exit status do not hang on who reads its words.
    """
    # The mesh generator has a closed pipe kill the process; only the main thread can undo it.
    with suppress(AttributeError, ValueError):
        signal.signal(signal.SIGPIPE, signal.SIG_IGN)
    try:
        click.echo(text, err=to_stderr)
    except BrokenPipeError:
        stream = sys.stderr if to_stderr else sys.stdout
        nowhere = os.open(os.devnull, os.O_WRONLY)
        # What is left in the buffer is flushed when the program ends, and would fail again.
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
