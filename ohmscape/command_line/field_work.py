"""Commands for what is measured on site: soil, survey, compare, earth-test."""

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
    read_case,
    tell_written,
)
from .streams import say


@click.command()
@click.argument("survey")
@output_option("soil")
@click.option(
    "--layers",
    type=click.Choice(["supported", *map(str, range(1, 7))]),
    help="Number of layers; by default what the case asks for, or as many as are supported.",
)
@click.option("--robust", is_flag=True, help="Let readings off the curve count less.")
@click.option(
    "--sheet", help="Sheet of a workbook; by default the only one that holds something."
)
@quiet_option
def soil(
    survey: str,
    output: Path | None,
    layers: str | None,
    robust: bool,
    sheet: str | None,
    quiet: bool,
) -> None:
    """Fit layered soil to the readings of SURVEY.

    SURVEY is a table (CSV or workbook) of readings, or a case or shipped case whose soil is
    a survey. Prints the models and how far they can be trusted; writes the sounding curve
    beside the layers, tables, and a soil block to paste into a case.
    """
    from ..jobs.soil_survey import check_soil_folder, save_soil, survey_soil
    from ..viz.soil_survey.text import sounding_text

    folder = output or folder_by_default(survey, "soil")
    check_soil_folder(folder)
    number = int(layers) if layers not in (None, "supported") else layers
    with progress_shown(quiet=quiet) as progress:
        progress("reading the survey, fitting layers", 0.0)
        found = survey_soil(
            survey,
            layers=number,  # type: ignore[arg-type]
            robust=robust,
            sheet=sheet,
        )
        files = save_soil(found, folder, progress=parts(progress, [1.0, 1.0])[1])
    if not quiet:
        say(sounding_text(found.sounding, title=found.title, units=found.units))
        tell_written(folder, files)


@click.command()
@click.argument("case")
@output_option("survey")
@accuracy_option
@no_pictures_option
@quiet_option
def survey(
    case: str, output: Path | None, accuracy: str | None, no_pictures: bool, quiet: bool
) -> None:
    """Simulate the soil survey that CASE plans, over its ground with bodies.

    CASE is a file or a shipped case with a 'survey_plan' block. Writes the readings as a
    table for 'soil', fits layers to them, and prints how far the electrodes of the case are
    off in those layers; with a picture.
    """
    with progress_shown(quiet=quiet) as progress:
        read = read_case(case)
        from ..jobs.planned_survey import simulate_survey
        from ..viz.soil_survey.simulated_files import check_survey_folder, save_survey
        from ..viz.soil_survey.simulated_text import simulated_text

        folder = output or folder_by_default(case, "survey")
        check_survey_folder(folder)
        simulating, saving = parts(progress, [12.0, 1.0])
        found = simulate_survey(read, accuracy=accuracy, progress=simulating)
        files = save_survey(
            found,
            folder,
            conductors=read.conductors,
            title=read.title,
            units=read.units,
            pictures=not no_pictures,
            progress=saving,
        )
    if not quiet:
        say(simulated_text(found, title=read.title, units=read.units))
        tell_written(folder, files)


@click.command()
@click.argument("case")
@output_option("compare")
@click.option(
    "--fit",
    multiple=True,
    metavar="UNKNOWN",
    help="Fit this in place of what the case says; repeat for more: 'soil scale', "
    "resistivities, thicknesses, 'resistivity of layer 1', contact, reference, divider, "
    "current.",
)
@accuracy_option
@quiet_option
def compare(
    case: str, output: Path | None, fit: tuple[str, ...], accuracy: str | None, quiet: bool
) -> None:
    """Hold CASE against its field readings, and fit the model to them.

    CASE is a file or a shipped case with a 'measured' block. Prints each reading
    beside the model, what alone would explain the difference, and the fitted
    unknowns with their ranges; writes tables, the overlay picture and a report.
    """
    with progress_shown(quiet=quiet) as progress:
        read = read_case(case)
        from ..jobs.case_origin import case_origin
        from ..jobs.field_readings import compare_case
        from ..viz.field_readings.files import check_compare_folder, save_compared
        from ..viz.field_readings.text import compared_text

        folder = output or folder_by_default(case, "compare")
        check_compare_folder(folder)
        comparing, saving = parts(progress, [4.0, 1.0])
        compared = compare_case(read, unknowns=fit, accuracy=accuracy, progress=comparing)
        files = save_compared(compared, folder, origin=case_origin(read), progress=saving)
    if not quiet:
        say(compared_text(compared))
        tell_written(folder, files)


@click.command("earth-test")
@click.argument("case")
@output_option("earth-test")
@click.option(
    "--elements",
    is_flag=True,
    help="Solve the field by finite elements in place of thin conductors.",
)
@no_pictures_option
@quiet_option
def earth_test(
    case: str, output: Path | None, elements: bool, no_pictures: bool, quiet: bool
) -> None:
    """Predict what an earth tester reads in each of the earth tests of CASE.

    CASE is a file or a shipped case with an 'earth_tests' block. Prints readings,
    true values and errors, and where the potential probe would read true; writes
    tables, pictures of what pulls the readings off, and a report.
    """
    with progress_shown(quiet=quiet) as progress:
        read = read_case(case)
        from ..jobs.case_origin import case_origin
        from ..jobs.earth_tests import predict_tests
        from ..viz.earth_tests.files import check_test_folder, save_predictions
        from ..viz.earth_tests.text import predictions_text

        folder = output or folder_by_default(case, "earth-test")
        check_test_folder(folder)
        # The field of thin conductors takes less than drawing, of finite elements far more.
        costs = [8.0 if elements else 1.0, 0.3 if no_pictures else 2.0]
        predicting, saving = parts(progress, costs)
        found = predict_tests(read, elements=elements, progress=predicting)
        files = save_predictions(
            found,
            folder,
            origin=case_origin(read),
            pictures=not no_pictures,
            progress=saving,
        )
    if not quiet:
        say(predictions_text(found, title=read.title, units=read.units))
        tell_written(folder, files)
