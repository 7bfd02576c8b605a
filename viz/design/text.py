"""A search as text: the sections of its report without their pictures."""

from ...solver.design import Sizing
from ..report.terminal_lines import section_lines
from ..words.lines import page
from .sections import design_sections


def sizing_text(sizing: Sizing) -> str:
    """A search as lines of text, in the units of the case."""
    sections = design_sections(sizing)
    return page(sizing.title, [section_lines(each, units=sizing.units) for each in sections])
