"""Lets ``python -m ohmscape`` be the command line."""

import gc
import signal
import sys


def main() -> None:
    """Run the command line; an interrupt as it begins or ends is no traceback."""
    # Each look for objects that hold nothing but each other goes through all that is loaded: a
    # tenth of a short run. Once every few pictures is enough for the memory that they leave.
    gc.set_threshold(100_000, 10, 10)
    try:
        from .command_line import main as commands
    except KeyboardInterrupt:
        sys.exit(130)
    try:
        commands()
    finally:
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        # As Python ends it would look once more for what goes with the process anyway: 0.3 s.
        gc.freeze()


if __name__ == "__main__":
    main()
