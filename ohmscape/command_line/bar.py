"""Progress on a terminal: a bar with the step, the share done and the time so far."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from ..solver.progress import Progress, unwatched

if TYPE_CHECKING:
    from rich.console import Console


@contextmanager
def progress_shown(*, quiet: bool) -> Iterator[Progress]:
    """Give what shows the progress of a command; nothing is shown but on a terminal.

    Parameters
    ----------
    quiet : bool
        Whether to show nothing there either.
    """
    if quiet or not sys.stderr.isatty():
        yield unwatched
        return
    from rich.console import Console  # takes a tenth of a second

    with bar_on(Console(stderr=True)) as progress:
        yield progress


@contextmanager
def bar_on(console: "Console") -> Iterator[Progress]:
    """Give what moves a bar on a console, which goes when the work has ended."""
    from rich.progress import (
        BarColumn,
        SpinnerColumn,
        TaskProgressColumn,
        TextColumn,
        TimeElapsedColumn,
    )
    from rich.progress import Progress as Bar
    from rich.text import Text

    # The bar keeps its place: the step is cut to what the terminal leaves it.
    bar_width = min(30, console.width // 4)
    room = max(1, console.width - bar_width - 19)
    columns = (
        SpinnerColumn(),
        TaskProgressColumn("[progress.percentage]{task.percentage:>3.0f} %"),
        BarColumn(bar_width=bar_width),
        TimeElapsedColumn(),
        TextColumn("{task.description}", markup=False),
    )

    def shown(step: str) -> str:
        text = Text(step)
        text.truncate(room, overflow="ellipsis")
        return text.plain

    with Bar(*columns, console=console, transient=True) as bar:
        task = bar.add_task(shown("reading the case"), total=1.0)
        yield lambda step, share: bar.update(task, description=shown(step), completed=share)
