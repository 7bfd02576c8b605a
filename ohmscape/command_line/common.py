"""What several commands share: options, reading a case, saying what was written."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from ..solver.errors import CaseError, Problem

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


def read_case(name: str) -> "Case":
    """Case of a file, or of a shipped case where no file has that name."""
    from ..cases.loading import load_case
    from ..cases.shipped import shipped_case_path, shipped_cases

    if not Path(name).is_file() and name in shipped_cases():
        return load_case(shipped_case_path(name))
    if not Path(name).exists():
        listed = ", ".join(shipped_cases())
        msg = f"no file '{name}' here; give a case file or a shipped case: {listed}"
        raise CaseError([Problem(msg)])
    return load_case(name)


def tell_written(folder: Path, files: Sequence[Path]) -> None:
    """Print where the files went."""
    click.echo(f"\nWritten to {folder}: " + ", ".join(path.name for path in files))
