"""The group that holds all commands: their errors become clear lines and an exit status."""

import sys

import click

from ..solver.errors import CaseError, OhmscapeError
from .common import bad_input, interrupted, untrustworthy


class Commands(click.Group):
    """Commands whose errors become clear lines on stderr and an exit status."""

    def invoke(self, context: click.Context) -> object:
        """Run a command."""
        try:
            return super().invoke(context)
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
        click.echo(f"ohmscape: {line}", err=True)
