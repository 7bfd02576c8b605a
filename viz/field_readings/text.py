"""A comparison as text: the sections of its report without their pictures."""

from ...solver.field_readings import Compared
from ..report.terminal_lines import section_lines
from ..words.lines import page
from .sections import comparison_sections


def compared_text(compared: Compared) -> str:
    """A comparison as lines of text."""
    sections = comparison_sections(compared)
    return page(
        compared.title, [section_lines(each, units=compared.units) for each in sections]
    )
