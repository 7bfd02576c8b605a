"""The group that holds all commands: their errors become clear lines and an exit status."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import click

from ..solver.errors import CaseError, OhmscapeError
from .common import bad_input, interrupted, untrustworthy
from .streams import say, spell_out_missing_signs


class Commands(click.Group):
    """Commands whose errors become clear lines on stderr and an exit status."""

    def main(self, *arguments: Any, **named: Any) -> Any:
        """Take the command line."""
        spell_out_missing_signs()
        return super().main(*arguments, **named)

    def make_context(self, *arguments: Any, **named: Any) -> click.Context:
        """Take arguments and options apart."""
        with _errors_as_lines():
            return super().make_context(*arguments, **named)

    def invoke(self, context: click.Context) -> object:
        """Run a command."""
        with _errors_as_lines():
            return super().invoke(context)


@contextmanager
def _errors_as_lines() -> Iterator[None]:
    try:
        yield
    except CaseError as error:
        _complain(*(str(problem) for problem in error.problems))
        sys.exit(bad_input)
    except OhmscapeError as error:
        _complain(str(error))
        sys.exit(untrustworthy)
    except OSError as error:
        _complain(f"cannot read or write: {error}")
        sys.exit(untrustworthy)
    except KeyboardInterrupt:
        _complain("interrupted; no half-written result is left")
        sys.exit(interrupted)
    except MemoryError:
        _complain("out of memory; ask for a coarser mesh (numerics.accuracy: coarse)")
        sys.exit(untrustworthy)


def _complain(*lines: str) -> None:
    for line in lines:
        say(f"ohmscape: {line}", to_stderr=True)
