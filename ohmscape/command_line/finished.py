"""Commands that show a finished result again: draw, report, export."""

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from ..solver.progress import parts
from .bar import progress_shown
from .common import quiet_option, read_case
from .streams import say

if TYPE_CHECKING:
    from ..viz.report.contents import Section

_output_option = click.option(
    "-o",
    "--output",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for the files; by default that of the result.",
)


@click.command()
@click.argument("folder", type=click.Path(exists=True, path_type=Path))
@_output_option
@quiet_option
def draw(folder: Path, output: Path | None, quiet: bool) -> None:
    """Draw the pictures of a finished result again, without solving.

    FOLDER is what a run wrote.
    """
    from ..viz import draw as draw_pictures
    from ..viz.result_folder import add_to_result, check_addition, load_result

    target = output or (folder if folder.is_dir() else folder.parent)
    check_addition(target, names=())
    with progress_shown(quiet=quiet) as progress:
        progress("reading the result", 0.0)
        result = load_result(folder)
        drawing = partial(draw_pictures, result, progress=progress)
        files = add_to_result(target, write=drawing, command="draw")
    if not quiet:
        say("\n".join(str(path) for path in files))


@click.command()
@click.argument("folder", type=click.Path(exists=True, path_type=Path))
@_output_option
@click.option(
    "--field",
    metavar="CASE",
    help="Hold the readings of the case against its model and predict its earth tests, for "
    "the report; CASE is that of the result.",
)
@click.option("--units", type=click.Choice(["SI", "US"]), help="Metres or feet.")
@click.option("--terms", type=click.Choice(["earth", "ground"]), help="Words of the trade.")
@click.option("--paper", type=click.Choice(["A4", "Letter"]), help="Size of report.pdf.")
@quiet_option
def report(
    folder: Path,
    output: Path | None,
    field: str | None,
    units: Literal["SI", "US"] | None,
    terms: Literal["earth", "ground"] | None,
    paper: Literal["A4", "Letter"] | None,
    quiet: bool,
) -> None:
    """Write the report of a finished result again, without solving.

    FOLDER is what a run wrote. The report is one page that opens offline, report.html, and
    the same on paper, report.pdf. Only what --field asks for is solved. Units, terms and
    paper go by the units of the case unless they are asked for: SI, earth and A4, or US,
    ground and Letter. On the page a reader can change units and terms.
    """
    from ..viz.report import page_name, paper_name, write_report
    from ..viz.report.reader import Reader
    from ..viz.result_folder import add_to_result, check_addition, load_results

    target = output or (folder if folder.is_dir() else folder.parent)
    check_addition(target, names=(page_name, paper_name))
    with progress_shown(quiet=quiet) as progress:
        progress("reading the result", 0.0)
        results = load_results(folder)
        _, solving, writing = parts(progress, [1.0, 20.0 if field else 0.0, 20.0])
        chapters: tuple[Section, ...] = ()
        if field:
            from ..jobs.field_chapters import field_chapters

            case = read_case(field, results=folder)
            chapters = field_chapters(case, result=results[0], progress=solving)
        reader = Reader.of(results[0].units, units=units, vocabulary=terms, paper=paper)
        reporting = partial(
            write_report, results, field=chapters, reader=reader, progress=writing
        )
        files = add_to_result(target, write=reporting, command="report")
    if not quiet:
        say("\n".join(str(path) for path in files))


@click.command()
@click.argument("folder", type=click.Path(exists=True, path_type=Path))
@click.option(
    "--as",
    "kinds",
    type=click.Choice(["dxf", "geojson", "gpkg", "xlsx"]),
    multiple=True,
    default=["dxf"],
    help="What to write, dxf when left out; more than once for several.",
)
@_output_option
@quiet_option
def export(folder: Path, kinds: tuple[str, ...], output: Path | None, quiet: bool) -> None:
    """Write a finished result for other programs, without solving.

    FOLDER is what a run wrote. A drawing, plan.dxf, has metal, contours, limit lines, unsafe
    areas and worst places on layers by name; it is in the coordinates of the drawing that
    the metal came from, where there is one. Maps hold the same, plan.geojson in longitude and
    latitude and plan.gpkg in the coordinate system of the site, which the case has to say. A
    workbook, result.xlsx, has the tables, the verdict first.
    """
    from ..viz.exports import export_writers
    from ..viz.exports.models import export_result
    from ..viz.result_folder import check_addition, load_result

    target = output or (folder if folder.is_dir() else folder.parent)
    check_addition(target, names=[export_writers[kind].name for kind in kinds])
    files = export_result(load_result(folder), target, kinds=kinds)
    if not quiet:
        say("\n".join(str(path) for path in files))
