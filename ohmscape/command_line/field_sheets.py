"""The command that writes sheets for the crew: sheets."""

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from ..solver.progress import parts
from .bar import progress_shown
from .common import (
    accuracy_option,
    folder_by_default,
    output_option,
    quiet_option,
    read_case,
    tell_written,
)

if TYPE_CHECKING:
    from ..cases.reading.quantities import Kind


@click.command()
@click.argument("case")
@click.option(
    "--cable",
    required=True,
    metavar="LENGTH",
    help="Length of each of the crew's two cables, with its unit: '50 m', '165 ft'.",
)
@click.option("--electrode", help="Electrode to test, in place of the first that is driven.")
@click.option(
    "--direction",
    metavar="ANGLE",
    help="Of the current lead, from the x axis towards the y axis: '30 deg'.",
)
@output_option("sheets")
@accuracy_option
@click.option("--elements", is_flag=True, help="Solve for the probes by finite elements.")
@click.option("--units", type=click.Choice(["SI", "US"]), help="Metres or feet.")
@click.option("--terms", type=click.Choice(["earth", "ground"]), help="Words of the trade.")
@click.option("--paper", type=click.Choice(["A4", "Letter"]), help="Size of the sheets.")
@quiet_option
def sheets(
    case: str,
    cable: str,
    electrode: str | None,
    direction: str | None,
    output: Path | None,
    accuracy: str | None,
    elements: bool,
    units: Literal["SI", "US"] | None,
    terms: Literal["earth", "ground"] | None,
    paper: Literal["A4", "Letter"] | None,
    quiet: bool,
) -> None:
    """Write field sheets for CASE: what to measure on site, and what to expect there.

    CASE is a file or a shipped case. The paper, sheets.pdf, has a soil survey, a
    fall-of-potential test under the cable at hand with what makes each reading true, touch
    and step readings with the band that agrees, stray voltages, and a record of the years.
    What was written on it goes into the tables beside it, and by measured.yaml into 'compare'.
    """
    with progress_shown(quiet=quiet) as progress:
        read = read_case(case)
        from ..cases.reading.quantities import ANGLE, LENGTH
        from ..jobs.case_origin import case_origin
        from ..jobs.sheets import plan_sheets
        from ..viz.report.reader import Reader
        from ..viz.sheets.files import check_sheets_folder, save_sheets

        folder = output or folder_by_default(case, "sheets")
        check_sheets_folder(folder)
        planning, saving = parts(progress, [4.0, 1.0])
        planned = plan_sheets(
            read,
            cable=_option("--cable", cable, LENGTH),
            electrode=electrode,
            azimuth=None if direction is None else _option("--direction", direction, ANGLE),
            accuracy=accuracy,
            elements=elements,
            units=units,
            progress=planning,
        )
        files = save_sheets(
            planned.sheets,
            folder,
            result=planned.result,
            origin=case_origin(read),
            reader=Reader.of(read.units, units=units, vocabulary=terms, paper=paper),
            progress=saving,
        )
    if not quiet:
        tell_written(folder, files)


def _option(name: str, text: str, kind: "Kind") -> float:
    """Quantity of an option; `CaseError` that names it if it is none. In SI."""
    from ..cases.reading.quantities import quantity
    from ..solver.errors import CaseError

    try:
        return quantity(text, kind=kind)
    except CaseError as error:
        msg = f"{name}: {error}"
        raise CaseError(msg) from error
