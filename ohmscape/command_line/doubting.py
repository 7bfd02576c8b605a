"""Commands on what is not known: uncertainty."""

from contextlib import ExitStack
from pathlib import Path

import click

from ..solver.progress import parts
from .bar import progress_shown
from .common import (
    accuracy_option,
    folder_by_default,
    no_pictures_option,
    output_option,
    quiet_option,
    tell_written,
)
from .streams import say

_most_workers = 1024


@click.command()
@click.argument("case")
@output_option("uncertainty")
@accuracy_option
@click.option(
    "--workers",
    type=click.IntRange(0, _most_workers),
    help="Processes here; by default one for each core, 0 for none beside this one.",
)
@click.option("--scheduler", metavar="ADDRESS", help="Dask scheduler that has workers instead.")
@click.option("--no-proof", is_flag=True, help="Solve no draw by finite elements.")
@no_pictures_option
@quiet_option
def uncertainty(
    case: str,
    output: Path | None,
    accuracy: str | None,
    workers: int | None,
    scheduler: str | None,
    no_proof: bool,
    no_pictures: bool,
    quiet: bool,
) -> None:
    """Tell how far the answers of CASE spread, and which input or reading matters.

    Its block 'uncertainty' says what is not known; the soil of a survey is drawn as
    probable as the readings leave it. Thin conductors try every draw, three draws are
    solved by finite elements beside them. A command that was stopped goes on where it was.
    """
    with ExitStack() as stack:
        progress = stack.enter_context(progress_shown(quiet=quiet))
        from ..cases.loading import load_case
        from ..jobs.uncertainty import uncertainty_of_case
        from ..viz.uncertainty.files import check_uncertainty_folder, save_uncertainty
        from ..viz.uncertainty.text import uncertainty_text
        from .families import engine_of

        loaded = load_case(case)
        folder = output or folder_by_default(case, "uncertainty")
        check_uncertainty_folder(folder)
        working, saving = parts(progress, [20.0, 1.0])
        found = uncertainty_of_case(
            loaded,
            folder=folder,
            engine=stack.enter_context(engine_of(scheduler, workers)),
            accuracy=accuracy,
            proofs=not no_proof,
            progress=working,
        )
        files = save_uncertainty(found, folder, pictures=not no_pictures, progress=saving)
    if not quiet:
        say(uncertainty_text(found))
        tell_written(folder, files)
