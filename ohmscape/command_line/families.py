"""Commands on many cases at once: batch."""

from contextlib import ExitStack
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..solver.progress import Progress, headed, parts
from .bar import progress_shown
from .common import (
    accuracy_option,
    bad_input,
    folder_by_default,
    no_pictures_option,
    output_option,
    quiet_option,
    tell_written,
    unsafe,
    untrustworthy,
)
from .streams import say

if TYPE_CHECKING:
    from ..cases.family.reading import Family
    from ..cases.family.rows import Row
    from ..jobs.family_engines import Engine
    from ..solver.family import Batch

_most_workers, _most_sample = 1024, 10_000
_failing_word = "failing"


@click.command()
@click.argument("template")
@click.argument("table")
@output_option("batch")
@accuracy_option
@click.option("--sheet", help="Sheet of a workbook that has several.")
@click.option(
    "--keep",
    multiple=True,
    metavar="ROW",
    help="Run this row (name or number) in full and keep its result folder with its page, "
    "which tables and batch.html name; repeat for more. 'failing': all that do not pass.",
)
@click.option(
    "--band",
    type=click.FloatRange(0.0, 50.0),
    default=10.0,
    show_default=True,
    help="Per cent: rows whose worst share of a limit is so near to it are solved by finite "
    "elements.",
)
@click.option(
    "--sample",
    type=click.IntRange(0, _most_sample),
    default=5,
    show_default=True,
    help="So many other rows are solved too, drawn for proof.",
)
@click.option("--seed", type=int, default=1, show_default=True, help="Of what draws them.")
@click.option(
    "--workers",
    type=click.IntRange(0, _most_workers),
    help="Processes here; by default one for each core, 0 for none beside this one.",
)
@click.option("--scheduler", metavar="ADDRESS", help="Dask scheduler that has workers instead.")
@click.option(
    "--no-remedies",
    is_flag=True,
    help="Do not look for the option or design that would make each row pass.",
)
@click.option(
    "--reference-system",
    metavar="NAME",
    help="Of columns east and north, such as EPSG:25832; latitude and longitude are WGS 84.",
)
@no_pictures_option
@click.option("--fail-unsafe", is_flag=True, help="Exit with 3 when a row does not pass.")
@quiet_option
def batch(
    template: str,
    table: str,
    output: Path | None,
    accuracy: str | None,
    sheet: str | None,
    keep: tuple[str, ...],
    band: float,
    sample: int,
    seed: int,
    workers: int | None,
    scheduler: str | None,
    no_remedies: bool,
    reference_system: str | None,
    no_pictures: bool,
    fail_unsafe: bool,
    quiet: bool,
) -> None:
    """Judge a family of cases: TEMPLATE with what each row of TABLE says.

    TEMPLATE is a case file, TABLE a CSV or workbook (.xlsx) whose headings are places
    in the case with units, such as 'soil.layers[1].resistivity [ohm*m]'; or both the
    name of a shipped family. All rows are checked first; a bad one costs that row only.
    Thin conductors try every row, finite elements solve those near a limit. Writes
    tables, worst first, and sites. A batch that was stopped goes on where it was.

    Exit status 2 where a row is bad, 1 where one could not be solved, after all is written.
    """
    with ExitStack() as stack:
        progress = stack.enter_context(progress_shown(quiet=quiet))
        from ..cases.family.reading import read_family
        from ..jobs.family import batch_of
        from ..viz.family.files import check_batch_folder, save_batch
        from ..viz.family.text import batch_text

        family = read_family(template, table, sheet=sheet)
        rows, failing = _rows_named(family, keep)
        folder = output or folder_by_default(table, "batch")
        check_batch_folder(folder)
        judging, keeping = parts(progress, [20.0, len(rows) + (10.0 if failing else 0.0)])
        engine = stack.enter_context(engine_of(scheduler, workers))
        found = batch_of(
            family,
            folder=folder,
            engine=engine,
            accuracy=accuracy,
            band=band / 100,
            sample=sample,
            seed=seed,
            remedies=not no_remedies,
            progress=judging,
        )
        rows += _failing(family, found, rows) if failing else []
        save = partial(save_batch, found, folder, reference_system=reference_system)
        files = save(
            pages=_pages(family, folder, accuracy)
        )  # in case rows do not come to an end
        folders = _keep(family, rows, folder, accuracy, no_pictures, keeping)
        if folders:
            files = save(pages=_pages(family, folder, accuracy))
    if not quiet:
        say(batch_text(found))
        if found.coordinates == "plan" and not reference_system:
            say("\nNo sites.geojson: say what east and north are of (--reference-system).")
        tell_written(folder, [*files, *folders])
    if fail_unsafe and any(row.best.standing != "passes" for row in found.rows):
        raise SystemExit(unsafe)
    if found.bad or found.unanswered:
        raise SystemExit(bad_input if found.bad else untrustworthy)


def engine_of(scheduler: str | None, workers: int | None) -> "Engine":
    """Who does the work."""
    from ..jobs.family_engines import PlainLoop, Workers

    if workers == 0 and scheduler is None:
        return PlainLoop()
    return Workers(scheduler=scheduler, count=workers)


def _rows_named(family: "Family", names: tuple[str, ...]) -> "tuple[list[Row], bool]":
    """Rows by their names or numbers, and whether all that fail are asked for."""
    from ..jobs.family import row_named

    failing = _failing_word in names and all(row.name != _failing_word for row in family.rows)
    wanted = [name for name in names if not (failing and name == _failing_word)]
    return [row_named(family, name) for name in wanted], failing


def _failing(family: "Family", found: "Batch", rows: "list[Row]") -> "list[Row]":
    """Rows that do not pass, worst first, beside those that are run anyway."""
    by_number = {row.number: row for row in family.rows}
    failing = [by_number[row.number] for row in found.rows if row.best.fails]
    return [row for row in failing if row not in rows]


def _pages(family: "Family", folder: Path, accuracy: str | None) -> dict[int, str]:
    """Where the reports are of rows that were kept, now or before, as they are now."""
    from ..jobs.family import row_text_of
    from ..viz.family.files import row_folder
    from ..viz.result_folder import holds_result, report_name

    found = {}
    for row in family.rows:
        where = row_folder(folder, name=row.name, number=row.number)
        if where.is_dir() and holds_result(
            where, text=row_text_of(family, row, accuracy=accuracy), page=True
        ):
            found[row.number] = (where / report_name).relative_to(folder).as_posix()
    return found


def _keep(
    family: "Family",
    rows: "list[Row]",
    folder: Path,
    accuracy: str | None,
    no_pictures: bool,
    progress: Progress,
) -> list[Path]:
    """Run rows in full and save their results below the folder of the batch, once each."""
    from ..jobs.family import row_text_of, run_row
    from ..viz.family.files import row_folder
    from ..viz.result_folder import holds_result, save_result

    folders = []
    for row, each in zip(rows, parts(progress, [1.0] * len(rows)), strict=True):
        where = row_folder(folder, name=row.name, number=row.number)
        folders.append(where)
        text = row_text_of(family, row, accuracy=accuracy)
        if holds_result(where, text=text, page=not no_pictures):
            continue
        solving, saving = parts(headed(each, row.name), [2.0, 1.0])
        first, *variants = run_row(family, row, accuracy=accuracy, progress=solving)
        pictures = not no_pictures
        save_result(first, where, variants=variants, pictures=pictures, progress=saving)
    return folders
