"""The command that opens a case as a page on which it is edited: live."""

import os
import sys
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING

import click

from ..solver.wording import number_text
from .streams import say

if TYPE_CHECKING:
    from ..live.guard import Guard
    from ..live.opening import Opened


@click.command()
@click.argument("case", type=click.Path(path_type=Path))
@click.option("--no-open", is_flag=True, help="Print the address, open no browser.")
@click.option(
    "--set-aside",
    is_flag=True,
    help="Write edits that were not saved to a case file of their own, and begin without them.",
)
def live(case: Path, no_open: bool, set_aside: bool) -> None:
    """Open CASE as a page on which it is edited, until Ctrl-C.

    CASE is a file of your own. Metal, layers, bonds and any value of the file follow the
    mouse or what is typed; resistance, rise, touch and step voltages are drafted by thin
    conductors at once and confirmed by finite elements once nothing moves. What is a draft
    says so and decides nothing.

    The page is served to this machine alone, and an address of it works once. Edits are
    kept beside the case until they are saved into it, whatever ends the command.

    Exit status: 0 ended by Ctrl-C, 1 failed, 2 bad input, else 128 and the number of the
    signal that ended it.
    """
    import asyncio
    import signal

    from ..live.opening import opened as open_case
    from ..live.server import lived
    from ..live.session import Session

    opened = open_case(case, set_aside=set_aside)
    _tell_kept(opened)

    def tell(guard: "Guard") -> None:
        say(f"{case.name} is open at {guard.address()}")
        say("That address works once, on this machine. Ctrl-C ends it.")
        if not no_open:
            _open_browser(guard)

    async def work() -> tuple[int, int]:
        return await lived(Session(opened), told=tell)

    number, unsaved = asyncio.run(work())
    _tell_ended(opened, unsaved)
    if number != signal.SIGINT:
        sys.exit(128 + number)


def _tell_kept(opened: "Opened") -> None:
    """Say what was found of an earlier session."""
    if opened.taken_up:
        say(
            f"Taken up again: {number_text(opened.taken_up, 'edit')} that an earlier session "
            "did not save; the page can undo or discard all of that."
        )
    if opened.aside is not None:
        say(f"Edits that were not saved are in {opened.aside.name}.")


def _tell_ended(opened: "Opened", unsaved: int) -> None:
    """Say what is left; the terminal may be gone."""
    text = "Ended; nothing is left unsaved."
    if unsaved:
        text = (
            f"Ended; {number_text(unsaved, 'change')} not saved into {opened.file.name}, kept "
            f"in {opened.journal.path.name} and taken up when it is opened again."
        )
    try:
        say(text)
    except OSError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _open_browser(guard: "Guard") -> None:
    """Open an address of its own in the browser, where there is a screen to open one on."""
    screens = ("DISPLAY", "WAYLAND_DISPLAY", "BROWSER")
    if sys.platform == "linux" and not any(map(os.environ.get, screens)):
        return

    def try_it() -> None:
        import webbrowser

        try:
            found = webbrowser.open(guard.address())
        except (OSError, webbrowser.Error):
            found = False
        if not found:
            say("No browser could be opened; open the address above in one.")

    Thread(target=try_it, daemon=True).start()
