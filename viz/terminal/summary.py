"""The words of a result: what was found, between which points, how good, what to mind."""

from collections.abc import Iterator, Sequence

from ...solver.results.result import Result
from ...solver.results.variants import Comparison
from ..cautions import caution_texts
from ..job import job_line
from ..report.contents import Section
from ..report.sections.along_metal import along_section
from ..report.sections.distances import distances_section
from ..report.sections.fault import circuit_section, protection_section
from ..report.sections.feet import feet_section
from ..report.sections.heating import heating_section
from ..report.sections.limits import limits_section
from ..report.sections.result import resistance_section, variants_table
from ..report.sections.site import fitted_soil
from ..report.sections.soil_shares import soil_shares_section
from ..report.sections.trust import accuracy_section, second_opinion_section
from ..report.terminal_lines import block_lines, section_lines
from ..verdict_words import WORST_TITLE, worst_texts
from ..words.lines import hanging, listed, page, terminal_text
from .verdict import verdict_lines


def summary(result: Result, *, variants: Sequence[Result] = ()) -> str:
    """Summary of a result as lines of text.

    Parameters
    ----------
    result : Result
        What `run_case` gave.
    variants : sequence of Result, optional
        Of its variants, whose verdicts are told beside its own.

    Returns
    -------
    text : str
        Electrodes, fault circuit, worst voltages, order checks, accuracy and cautions.
    """
    blocks = [
        hanging(job_line(result.job)),
        verdict_lines([result, *variants]),
        section_lines(resistance_section([result]), units=result.units),
        _circuit(result),
        _worst(result),
        *(
            section_lines(section, units=result.units)
            for section in _sections(result, variants)
        ),
        listed("Mind", caution_texts([result])),
    ]
    return page(result.title, blocks)


def comparison_table(compared: Comparison) -> str:
    """Variants side by side as lines of text, the worst of each quantity marked.

    Parameters
    ----------
    compared : Comparison
        What `comparison` gave.
    """
    table = variants_table(compared)
    heading, lines = str(table.header[0]), block_lines(table, units="SI")
    # Columns too wide for a terminal become words, which have no heading.
    return "\n".join(lines if heading in lines[0] else [heading, *lines])


def _circuit(result: Result) -> list[str]:
    if result.operation is None:
        return []
    return section_lines(circuit_section([result]), units=result.units)


def _worst(result: Result) -> list[str]:
    """The worst voltages, each on one line however long."""
    found = worst_texts(result)
    lines = [f"  {terminal_text(text, units=result.units)}" for text in found]
    return [WORST_TITLE, *lines]


def _sections(result: Result, variants: Sequence[Result]) -> Iterator[Section]:
    """What the page says of one result below its worst voltages."""
    if result.clearing is not None:
        yield protection_section([result])
    if result.verdict is not None:
        yield limits_section([result, *variants])
        if (feet := feet_section([result, *variants])) is not None:
            yield feet
        if (heating := heating_section([result, *variants])) is not None:
            yield heating
    if (along := along_section([result])) is not None:
        yield along
    if (distances := distances_section([result, *variants])) is not None:
        yield distances
    if (shares := soil_shares_section([result])) is not None:
        yield shares
    if result.sounding is not None:
        yield fitted_soil(result.sounding)
    yield accuracy_section([result])
    yield second_opinion_section([result])
