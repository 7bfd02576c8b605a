"""Lets ``python -m ohmscape`` be the command line."""

import signal
import sys


def main() -> None:
    """Run the command line; an interrupt as it begins or ends is no traceback."""
    try:
        from .command_line import main as commands
    except KeyboardInterrupt:
        sys.exit(130)
    try:
        commands()
    finally:
        signal.signal(signal.SIGINT, signal.SIG_IGN)


if __name__ == "__main__":
    main()
