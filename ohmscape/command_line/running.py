"""Commands that make a result: run, reassess."""

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
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
    with _making(pictures=not no_pictures, quiet=quiet) as making:
        read = read_case(case)
        if fail_unsafe:
            _require_safety(read)
        from ..jobs.free_folder import check_free
        from ..jobs.run import run_variants
        from ..meshes import check_mesh_path, save_mesh

        folder = output or folder_by_default(case, "result")
        check_free(folder, case=read, pictures=making.pictures)
        if mesh is not None:
            check_mesh_path(mesh)
        solving = partial(run_variants, read, accuracy=accuracy)
        results, files = making.made(solving, folder, case=read, command="run")
        if mesh is not None:
            files += (save_mesh(results[0].solution.mesh, mesh, soil=results[0].solution.soil),)
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
    with _making(pictures=not no_pictures, quiet=quiet) as making:
        read = read_case(case, results=folder)
        if fail_unsafe:
            _require_safety(read)
        from ..jobs.free_folder import check_free
        from ..jobs.run import reassess as judged_again
        from ..viz.result_folder import load_results

        check_free(output, case=read, pictures=making.pictures)
        making.progress("reading the result", 0.0)
        judging = partial(judged_again, read, load_results(folder))
        results, files = making.made(judging, output, case=read, command="reassess")
    if not quiet:
        _tell_files(results, output, files)
    if fail_unsafe:
        _exit_unless_safe(results)


@dataclass(frozen=True)
class _Making:
    """Results being made, their progress shown and a second process waiting to draw them."""

    pictures: bool  # whether to draw
    quiet: bool
    helper: "Popen[bytes] | None"  # that draws
    shown: ExitStack  # holds the bar that shows the progress, which makes way for words
    progress: Progress

    def made(
        self,
        results_of: "Callable[..., tuple[Result, ...]]",
        folder: Path,
        *,
        case: "Case",
        command: str,
    ) -> "tuple[tuple[Result, ...], tuple[Path, ...]]":
        """Results of a case and its variants with their files; told before they are drawn.

        Parameters
        ----------
        results_of : callable
            Gives the results, and each as soon as it is found to what it is given as `found`.
        """
        from ..viz.result_folder import saving

        names = [variant.variant for variant in case.variants]
        with saving(
            folder, variants=names, pictures=self.pictures, command=command, helper=self.helper
        ) as saved:
            results = results_of(progress=self.progress, found=saved.add)
            self.shown.close()
            if not self.quiet:
                _tell(results)
            saved.draw(progress=self.shown.enter_context(progress_shown(quiet=self.quiet)))
        return results, saved.files


@contextmanager
def _making(*, pictures: bool, quiet: bool) -> Iterator[_Making]:
    """What makes results, for as long as it takes."""
    with drawing_process(wanted=pictures) as helper, ExitStack() as shown:
        progress = shown.enter_context(progress_shown(quiet=quiet))
        yield _Making(pictures, quiet, helper, shown, progress)


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
