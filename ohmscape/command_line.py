"""The command line: check, run, soil, compare, earth-test, new … No physics here."""

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from . import __version__
from .errors import CaseError, OhmscapeError, Problem

if TYPE_CHECKING:
    from .cases.case import Case
    from .solver.result import Result

_untrustworthy, _bad_input, _unsafe, _interrupted = 1, 2, 3, 130
# Options that several commands have.
_accuracy = click.option(
    "--accuracy",
    type=click.Choice(["coarse", "normal", "fine"]),
    help="Mesh, in place of the case's own.",
)
_no_pictures = click.option("--no-pictures", is_flag=True, help="Write data files only.")
_quiet = click.option("-q", "--quiet", is_flag=True, help="Print nothing but errors.")


class _Commands(click.Group):
    """Commands whose errors become clear lines on stderr and an exit status."""

    def invoke(self, context: click.Context) -> object:
        try:
            return super().invoke(context)
        except CaseError as error:
            _complain(*(str(problem) for problem in error.problems))
            sys.exit(_bad_input)
        except OhmscapeError as error:
            _complain(str(error))
            sys.exit(_untrustworthy)
        except OSError as error:
            _complain(f"cannot read or write: {error}")
            sys.exit(_untrustworthy)
        except KeyboardInterrupt:
            _complain("interrupted; no half-written result is left")
            sys.exit(_interrupted)
        except MemoryError:
            _complain("out of memory; ask for a coarser mesh (numerics.accuracy: coarse)")
            sys.exit(_untrustworthy)


def _complain(*lines: str) -> None:
    for line in lines:
        click.echo(f"ohmscape: {line}", err=True)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="ohmscape %(version)s")
def main() -> None:
    """Find out what happens when fault current enters the earth.

    A case file describes layered soil and the electrodes in it. A run computes
    resistance to remote earth, potential rise, and maps of surface potential,
    touch and step voltage.

    Results are for a qualified engineer to check; they do not replace the code
    in force, the authority or licensed practice.

    Exit status: 0 a result that can be trusted, safe or not; 1 none; 2 bad
    input; 3 unsafe, where --fail-unsafe asks for it; 130 interrupted.
    """


def _case(name: str) -> "Case":
    """Case of a file, or of a shipped case where no file has that name."""
    from .cases.loading import load_case
    from .cases.shipped import shipped_case_path, shipped_cases

    if not Path(name).exists() and name in shipped_cases():
        return load_case(shipped_case_path(name))
    if not Path(name).exists():
        listed = ", ".join(shipped_cases())
        msg = f"no file '{name}' here; give a case file or a shipped case: {listed}"
        raise CaseError([Problem(msg)])
    return load_case(name)


@contextmanager
def _progress(*, quiet: bool) -> Iterator[Callable[[str], None]]:
    """Show what is being done, on a terminal only."""
    if quiet or not sys.stderr.isatty():
        yield lambda step: None
        return
    from rich.console import Console

    console = Console(stderr=True)
    with console.status("reading the case") as status:
        yield lambda step: status.update(step)


@main.command()
@click.argument("case")
def check(case: str) -> None:
    """Read CASE and say what was understood, without solving it.

    CASE is a file, or the name of a shipped case.
    """
    from .understood import understood

    click.echo(understood(_case(case)))


@main.command()
@click.argument("case")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="Folder for the result; by default NAME-result in the present folder.",
)
@_accuracy
@click.option(
    "--mesh",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Save the mesh too, as .vtu or .msh.",
)
@_no_pictures
@click.option(
    "--fail-unsafe",
    is_flag=True,
    help="Exit with 3 when an exposure of the case or a variant does not pass.",
)
@_quiet
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
    read = _case(case)
    if fail_unsafe:
        _require_safety(read)
    from .folder import check_free
    from .meshes import check_mesh_path, save_mesh
    from .run import run_variants

    folder = output or Path(f"{Path(case).stem}-result")
    check_free(folder)
    if mesh is not None:
        check_mesh_path(mesh)
    with _progress(quiet=quiet) as progress:
        results = run_variants(read, accuracy=accuracy, progress=progress)
        files = _saved(results, folder, pictures=not no_pictures, progress=progress)
        if mesh is not None:
            files += (save_mesh(results[0].solution.mesh, mesh, soil=read.soil),)
    if not quiet:
        _tell(results, folder, files)
    if fail_unsafe:
        _exit_unless_safe(results)


def _saved(
    results: "Sequence[Result]",
    folder: Path,
    *,
    pictures: bool,
    progress: Callable[[str], None],
) -> tuple[Path, ...]:
    """Write the results of a case and its variants."""
    from .folder import save_result

    result, *variants = results
    return save_result(result, folder, variants=variants, pictures=pictures, progress=progress)


def _tell(results: "Sequence[Result]", folder: Path, files: tuple[Path, ...]) -> None:
    """Print the summary, the comparison, and what was written."""
    from .solver.comparison import comparison
    from .sounding_text import band_lines
    from .summarising import comparison_table, summary
    from .verdict_text import variant_verdicts

    click.echo(summary(results[0], variants=results[1:]))
    if len(results) > 1:
        click.echo("\n" + comparison_table(comparison(results)))
        for line in (*band_lines(results), *variant_verdicts(results)):
            click.echo(line)
    _tell_written(folder, [path for path in files if path.parent in (folder, Path())])
    if len(results) > 1:
        click.echo(f"and each variant to a folder in {folder / 'variants'}")


def _tell_written(folder: Path, files: "Sequence[Path]") -> None:
    """Print where the files went."""
    click.echo(f"\nWritten to {folder}: " + ", ".join(path.name for path in files))


def _exit_unless_safe(results: "Sequence[Result]") -> None:
    """Exit with a status of its own unless every exposure of every result passes."""
    if not all(result.verdict is not None and result.verdict.passes for result in results):
        sys.exit(_unsafe)


def _require_safety(case: "Case") -> None:
    """Raise on a case that judges nothing, before it is solved."""
    if case.safety is None:
        msg = "--fail-unsafe needs a case with a 'safety' block; there is nothing to judge"
        raise CaseError([Problem(msg)])


@main.command()
@click.argument("survey")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="Folder for the files; by default NAME-soil in the present folder.",
)
@click.option(
    "--layers",
    type=click.Choice(["supported", *map(str, range(1, 7))]),
    help="Number of layers; by default what the case asks for, or as many as are supported.",
)
@click.option("--robust", is_flag=True, help="Let readings off the curve count less.")
@_quiet
def soil(
    survey: str, output: Path | None, layers: str | None, robust: bool, quiet: bool
) -> None:
    """Fit layered soil to the readings of SURVEY.

    SURVEY is a table (CSV) of readings, or a case or shipped case whose soil is a survey.
    Prints the models and how far they can be trusted; writes the sounding curve beside the
    layers, tables, and a soil block to paste into a case.
    """
    from .cases.shipped import shipped_cases
    from .sounding_text import sounding_text
    from .surveying import check_soil_folder, from_case, from_table, save_soil

    folder = output or Path(f"{Path(survey).stem}-soil")
    check_soil_folder(folder)
    number = int(layers) if layers not in (None, "supported") else None
    shipped = not Path(survey).exists() and survey in shipped_cases()
    with _progress(quiet=quiet) as progress:
        if shipped or Path(survey).suffix.lower() in (".yaml", ".yml"):
            found = from_case(
                _case(survey), layers=number or ("supported" if layers else None), robust=robust
            )
        else:
            found = from_table(Path(survey), layers=number, robust=robust)
        files = save_soil(found, folder, progress=progress)
    if not quiet:
        click.echo(sounding_text(found.sounding, title=found.title, units=found.units))
        _tell_written(folder, files)


@main.command()
@click.argument("case")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="Folder for the files; by default NAME-compare in the present folder.",
)
@click.option(
    "--fit",
    multiple=True,
    metavar="UNKNOWN",
    help="Fit this in place of what the case says; repeat for more: 'soil scale', "
    "resistivities, thicknesses, 'resistivity of layer 1', contact, reference, divider, "
    "current.",
)
@_accuracy
@_quiet
def compare(
    case: str, output: Path | None, fit: tuple[str, ...], accuracy: str | None, quiet: bool
) -> None:
    """Hold CASE against its field readings, and fit the model to them.

    CASE is a file or a shipped case with a 'measured' block. Prints each reading
    beside the model, what alone would explain the difference, and the fitted
    unknowns with their ranges; writes tables and the overlay picture.
    """
    read = _case(case)
    from .measuring import compare_case
    from .measuring_outputs import check_compare_folder, save_compared
    from .measuring_text import compared_text

    folder = output or Path(f"{Path(case).stem}-compare")
    check_compare_folder(folder)
    with _progress(quiet=quiet) as progress:
        compared = compare_case(read, unknowns=fit, accuracy=accuracy, progress=progress)
        files = save_compared(compared, folder, progress=progress)
    if not quiet:
        click.echo(compared_text(compared))
        _tell_written(folder, files)


@main.command("earth-test")
@click.argument("case")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="Folder for the files; by default NAME-earth-test in the present folder.",
)
@click.option(
    "--elements",
    is_flag=True,
    help="Solve the field by finite elements in place of thin conductors.",
)
@click.option("--no-pictures", is_flag=True, help="Write tables only.")
@_quiet
def earth_test(
    case: str, output: Path | None, elements: bool, no_pictures: bool, quiet: bool
) -> None:
    """Predict what an earth tester reads in each of the earth tests of CASE.

    CASE is a file or a shipped case with an 'earth_tests' block. Prints readings,
    true values and errors, and where the potential probe would read true; writes
    tables, and a picture of what pulls the readings off.
    """
    read = _case(case)
    from .testing import predict_tests
    from .testing_files import check_test_folder, save_predictions
    from .testing_text import predictions_text

    folder = output or Path(f"{Path(case).stem}-earth-test")
    check_test_folder(folder)
    with _progress(quiet=quiet) as progress:
        found = predict_tests(read, elements=elements, progress=progress)
        files = save_predictions(
            found,
            folder,
            title=read.title,
            units=read.units,
            pictures=not no_pictures,
            progress=progress,
        )
    if not quiet:
        click.echo(predictions_text(found, title=read.title, units=read.units))
        _tell_written(folder, files)


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--like", metavar="NAME", help="Start from a shipped case instead.")
def new(file: Path, like: str | None) -> None:
    """Write a commented case to FILE, to start from."""
    from .cases.shipped import shipped_case_path, shipped_cases
    from .cases.starter import starter_case

    if file.exists():
        msg = f"'{file}' exists; name another file"
        raise CaseError([Problem(msg)])
    if not file.parent.is_dir():
        msg = f"no folder '{file.parent}'; make it first"
        raise CaseError([Problem(msg)])
    if like is not None and like not in shipped_cases():
        msg = f"no shipped case '{like}'; there are {', '.join(shipped_cases())}"
        raise CaseError([Problem(msg)])
    text = (
        starter_case() if like is None else shipped_case_path(like).read_text(encoding="utf-8")
    )
    file.write_text(text, encoding="utf-8")
    click.echo(f"Written to {file}. Check it with: ohmscape check {file}")


@main.command()
@click.argument("folder", type=click.Path(exists=True, path_type=Path))
@click.argument("case")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    required=True,
    help="Folder for the new result.",
)
@_no_pictures
@click.option("--fail-unsafe", is_flag=True, help="As for run.")
@_quiet
def reassess(
    folder: Path, case: str, output: Path, no_pictures: bool, fail_unsafe: bool, quiet: bool
) -> None:
    """Judge a finished result by other currents or limits, without solving.

    FOLDER is what a run wrote. CASE is its case file, edited: currents, circuit,
    protection, limits, bonds and maps may differ; metal and soil may not.
    """
    read = _case(case)
    if fail_unsafe:
        _require_safety(read)
    from .folder import check_free, load_results
    from .run import run_again

    check_free(output)
    with _progress(quiet=quiet) as progress:
        results = run_again(read, load_results(folder), progress=progress)
        files = _saved(results, output, pictures=not no_pictures, progress=progress)
    if not quiet:
        _tell(results, output, files)
    if fail_unsafe:
        _exit_unless_safe(results)


@main.command()
@click.argument("folder", type=click.Path(exists=True, path_type=Path))
@click.option(
    "-o",
    "--output",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for the pictures; by default that of the result.",
)
@_quiet
def draw(folder: Path, output: Path | None, quiet: bool) -> None:
    """Draw the pictures of a finished result again, without solving.

    FOLDER is what a run wrote.
    """
    from .folder import load_result
    from .viz import draw as draw_pictures

    result = load_result(folder)
    target = output or (folder if folder.is_dir() else folder.parent)
    target.mkdir(parents=True, exist_ok=True)
    with _progress(quiet=quiet) as progress:
        files = draw_pictures(result, target, progress=progress)
    if not quiet:
        click.echo("\n".join(str(path) for path in files))


@main.command()
@click.argument("folder", type=click.Path(exists=True, path_type=Path))
@click.option(
    "-o",
    "--output",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for the report; by default that of the result.",
)
@_quiet
def report(folder: Path, output: Path | None, quiet: bool) -> None:
    """Write the report of a finished result again, without solving.

    FOLDER is what a run wrote. The report is one page that opens offline, report.html, and
    the same on paper, report.pdf.
    """
    from .folder import load_results
    from .viz.report import write_report

    target = output or (folder if folder.is_dir() else folder.parent)
    with _progress(quiet=quiet) as progress:
        progress("reading the result")
        results = load_results(folder)
        target.mkdir(parents=True, exist_ok=True)
        files = write_report(results, target, progress=progress)
    if not quiet:
        click.echo("\n".join(str(path) for path in files))


@main.command()
def schema() -> None:
    """Print the JSON Schema of case files, for editors that complete and check."""
    import json

    from .cases.schema import case_file_schema

    click.echo(json.dumps(case_file_schema(), indent=2, ensure_ascii=False))
