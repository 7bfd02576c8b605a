"""What several commands share: options, reading a case, saying what was written."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from .streams import say

if TYPE_CHECKING:
    from ..cases.case import Case

_Command = TypeVar("_Command", bound=Callable[..., Any])
# Exit status: nothing that can be trusted, bad input, unsafe where asked for, interrupted.
untrustworthy, bad_input, unsafe, interrupted = 1, 2, 3, 130

accuracy_option = click.option(
    "--accuracy",
    type=click.Choice(["coarse", "normal", "fine"]),
    help="Mesh, in place of the case's own.",
)
no_pictures_option = click.option("--no-pictures", is_flag=True, help="Write data files only.")
quiet_option = click.option("-q", "--quiet", is_flag=True, help="Print nothing but errors.")


def output_option(ending: str) -> Callable[[_Command], _Command]:
    """Option for the folder of a command's files, `folder_by_default` where left out."""
    return click.option(
        "-o",
        "--output",
        type=click.Path(path_type=Path),
        help=f"Folder for the files; by default NAME-{ending} in the present folder.",
    )


def folder_by_default(name: str, ending: str) -> Path:
    """Folder in the present one for what comes of a case or table."""
    return Path(f"{Path(name).stem}-{ending}")


def read_case(name: str, *, results: Path | None = None) -> "Case":
    """Case of a file, or of a shipped case where no file has that name, its survey fitted.

    Parameters
    ----------
    name : str
        Path of a case file, or name of a shipped case.
    results : Path, optional
        Folder of an earlier run, whose fit is taken where readings and options are the same;
        left out, the one that `run` writes by default.
    """
    from ..cases.fitting import fit_soil, is_fitted
    from ..cases.loading import load_case

    case = load_case(name)
    if is_fitted(case):
        return case
    from ..viz.result_folder import kept_soundings

    return fit_soil(case, kept=kept_soundings(results or folder_by_default(name, "result")))


def tell_written(folder: Path, files: Sequence[Path]) -> None:
    """Print where the files went."""
    say(f"\nWritten to {folder}: " + ", ".join(path.name for path in files))
