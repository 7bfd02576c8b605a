"""Lets ``python -m ohmscape`` be the command line."""

from .command_line import main

if __name__ == "__main__":
    main()
