"""Predicted earth tests as text: the sections of their report without their pictures."""

from collections.abc import Sequence

from ...solver.earth_tests import Prediction
from ..report.terminal_lines import section_lines
from ..words.lines import page
from .sections import apart_sections
from .sections import percent as percent


def predictions_text(predictions: Sequence[Prediction], *, title: str, units: str) -> str:
    """Predicted tests as lines of text.

    Parameters
    ----------
    units : {"SI", "US"}
        Lengths in metres or feet.
    """
    return page(
        title, [section_lines(each, units=units) for each in apart_sections(predictions)]
    )
