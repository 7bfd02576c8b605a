"""Commands that make a result: run, reassess."""

import sys
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..solver.errors import CaseError, Problem
from ..solver.progress import Progress
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
from .second_process import drawing_process
from .streams import say

if TYPE_CHECKING:
    from subprocess import Popen

    from ..cases.case import Case
    from ..solver.results.result import Result


@click.command()
@click.argument("case")
@output_option("result")
@accuracy_option
@click.option(
    "--mesh",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Save the mesh too, as .vtu or .msh.",
)
@no_pictures_option
@click.option(
    "--fail-unsafe",
    is_flag=True,
    help="Exit with 3 when an exposure of the case or a variant does not pass.",
)
@quiet_option
def run(
    case: str,
    output: Path | None,
    accuracy: str | None,
    mesh: Path | None,
    no_pictures: bool,
    fail_unsafe: bool,
    quiet: bool,
) -> None:
    """Solve CASE and write result, tables, volumes and pictures to a folder.

    CASE is a file, or the name of a shipped case.
    """
    drawn = not no_pictures
    with drawing_process(wanted=drawn) as helper, ExitStack() as shown:
        progress = shown.enter_context(progress_shown(quiet=quiet))
        read = read_case(case)
        if fail_unsafe:
            _require_safety(read)
        from ..jobs.free_folder import check_free
        from ..jobs.run import run_variants
        from ..meshes import check_mesh_path, save_mesh

        folder = output or folder_by_default(case, "result")
        check_free(folder, case=read, pictures=drawn)
        if mesh is not None:
            check_mesh_path(mesh)
        results, files = _made(
            partial(run_variants, read, accuracy=accuracy),
            folder,
            case=read,
            command="run",
            helper=helper,
            drawn=drawn,
            quiet=quiet,
            shown=shown,
            progress=progress,
        )
        if mesh is not None:
            files += (save_mesh(results[0].solution.mesh, mesh, soil=read.soil),)
    if not quiet:
        _tell_files(results, folder, files)
    if fail_unsafe:
        _exit_unless_safe(results)


@click.command()
@click.argument("folder", type=click.Path(exists=True, path_type=Path))
@click.argument("case")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    required=True,
    help="Folder for the new result.",
)
@no_pictures_option
@click.option("--fail-unsafe", is_flag=True, help="As for run.")
@quiet_option
def reassess(
    folder: Path, case: str, output: Path, no_pictures: bool, fail_unsafe: bool, quiet: bool
) -> None:
    """Judge a finished result by other currents or limits, without solving.

    FOLDER is what a run wrote. CASE is its case file, edited: currents, circuit,
    protection, limits, bonds and maps may differ; metal and soil may not.
    """
    drawn = not no_pictures
    with drawing_process(wanted=drawn) as helper, ExitStack() as shown:
        progress = shown.enter_context(progress_shown(quiet=quiet))
        read = read_case(case, results=folder)
        if fail_unsafe:
            _require_safety(read)
        from ..jobs.free_folder import check_free
        from ..jobs.run import reassess as judged_again
        from ..viz.result_folder import load_results

        check_free(output, case=read, pictures=drawn)
        progress("reading the result", 0.0)
        results, files = _made(
            partial(judged_again, read, load_results(folder)),
            output,
            case=read,
            command="reassess",
            helper=helper,
            drawn=drawn,
            quiet=quiet,
            shown=shown,
            progress=progress,
        )
    if not quiet:
        _tell_files(results, output, files)
    if fail_unsafe:
        _exit_unless_safe(results)


def _made(
    results_of: "Callable[..., tuple[Result, ...]]",
    folder: Path,
    *,
    case: "Case",
    command: str,
    helper: "Popen[bytes] | None",
    drawn: bool,
    quiet: bool,
    shown: ExitStack,
    progress: Progress,
) -> "tuple[tuple[Result, ...], tuple[Path, ...]]":
    """Results of a case and its variants with their files; told before they are drawn.

    Parameters
    ----------
    results_of : callable
        Gives the results, and each as soon as it is found to what it is given as `found`.
    shown : ExitStack
        Holds the bar that shows the progress, which makes way for what is told.
    """
    from ..viz.result_folder import saving

    names = [variant.variant for variant in case.variants]
    with saving(
        folder, variants=names, pictures=drawn, command=command, helper=helper
    ) as saved:
        results = results_of(progress=progress, found=saved.add)
        shown.close()
        if not quiet:
            _tell(results)
        saved.draw(progress=shown.enter_context(progress_shown(quiet=quiet)))
    return results, saved.files


def _tell(results: "Sequence[Result]") -> None:
    """Print the summary and the comparison."""
    from ..solver.results.variants import comparison
    from ..viz.report.sections.options import options_section
    from ..viz.report.terminal_lines import section_lines
    from ..viz.soil_survey.text import band_lines
    from ..viz.terminal.summary import comparison_table, summary
    from ..viz.terminal.verdict import variant_verdicts

    say(summary(results[0], variants=results[1:]))
    if len(results) > 1:
        say("\n" + comparison_table(comparison(results)))
        for line in (*band_lines(results), *variant_verdicts(results)):
            say(line)
    if (section := options_section(results)) is not None:
        say("\n" + "\n".join(section_lines(section, units=results[0].units)))


def _tell_files(results: "Sequence[Result]", folder: Path, files: tuple[Path, ...]) -> None:
    """Print what was written."""
    tell_written(folder, [path for path in files if path.parent in (folder, Path())])
    if len(results) > 1:
        say(f"and each variant to a folder in {folder / 'variants'}")


def _exit_unless_safe(results: "Sequence[Result]") -> None:
    """Exit with a status of its own unless every exposure of every result passes."""
    from ..viz.verdict_words import headline_of

    if headline_of(results).finding != "passes":
        sys.exit(unsafe)


def _require_safety(case: "Case") -> None:
    """Raise on a case that judges nothing, before it is solved."""
    if case.safety is None:
        msg = "--fail-unsafe needs a case with a 'safety' block; there is nothing to judge"
        raise CaseError([Problem(msg)])
