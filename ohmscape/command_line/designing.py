"""Commands that choose: size, curve."""

from pathlib import Path

import click

from ..solver.errors import CaseError, Problem
from ..solver.progress import parts
from .bar import progress_shown
from .common import (
    accuracy_option,
    folder_by_default,
    no_pictures_option,
    output_option,
    quiet_option,
    read_case,
    tell_written,
    unsafe,
)
from .streams import say


@click.command()
@click.argument("case")
@output_option("size")
@accuracy_option
@no_pictures_option
@click.option(
    "--fail-unsafe", is_flag=True, help="Exit with 3 when no design is found that passes."
)
@quiet_option
def size(
    case: str,
    output: Path | None,
    accuracy: str | None,
    no_pictures: bool,
    fail_unsafe: bool,
    quiet: bool,
) -> None:
    """Find the cheapest design of CASE that passes in the case and all its variants.

    CASE is a file or a shipped case with a 'design' block. Designs are tried by thin
    conductors; the front of cost against limits, and what is said to pass, are solved
    by finite elements. Writes the design as a case, tables, pictures and a report. A
    search that was stopped goes on where it was when the same command is given again.
    """
    with progress_shown(quiet=quiet) as progress:
        read = read_case(case)
        from ..jobs.sizing import size_case, sized_text
        from ..viz.design.files import check_design_folder, save_sizing
        from ..viz.design.text import sizing_text

        folder = output or folder_by_default(case, "size")
        check_design_folder(folder)
        sizing, saving = parts(progress, [20.0, 0.2 if no_pictures else 2.0])
        found = size_case(read, accuracy=accuracy, folder=folder, progress=sizing)
        files = save_sizing(
            found.sizing,
            folder,
            text=sized_text(read, found),
            results=found.results,
            pictures=not no_pictures,
            progress=saving,
        )
    if not quiet:
        say(sizing_text(found.sizing))
        tell_written(folder, files)
    if fail_unsafe and found.sizing.cheapest is None:
        raise SystemExit(unsafe)


@click.command()
@click.argument("case")
@click.argument("choice")
@click.option(
    "--with",
    "others",
    multiple=True,
    metavar="'CHOICE: OPTION'",
    help="Option of another choice; repeat for more. Others stay as the case has them.",
)
@output_option("curve")
@no_pictures_option
@quiet_option
def curve(
    case: str,
    choice: str,
    others: tuple[str, ...],
    output: Path | None,
    no_pictures: bool,
    quiet: bool,
) -> None:
    """Draw ohms, largest share of a limit and price of CASE against one CHOICE.

    CASE is a file or a shipped case with a 'design' block, CHOICE the name of one of
    its choices. By thin conductors, in seconds; says where more metal stops paying.
    """
    with progress_shown(quiet=quiet) as progress:
        read = read_case(case)
        from ..jobs.curves import curve_of
        from ..viz.design.curves import check_curve_folder, curve_text, save_curve

        folder = output or folder_by_default(case, "curve")
        check_curve_folder(folder)
        trying, saving = parts(progress, [3.0, 1.0])
        found = curve_of(read, choice, others=_options(others), progress=trying)
        files = save_curve(found, folder, pictures=not no_pictures, progress=saving)
    if not quiet:
        say(curve_text(found))
        tell_written(folder, files)


def _options(given: tuple[str, ...]) -> dict[str, str]:
    """Options by the choices they are of, as 'CHOICE: OPTION' says."""
    found = {}
    for words in given:
        name, colon, option = words.partition(":")
        if not colon:
            msg = f"--with {words!r}: write the choice, a colon and the option of it"
            raise CaseError([Problem(msg)])
        found[name.strip()] = option.strip()
    return found
