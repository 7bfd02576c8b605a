"""Table of what became of the drawing that metal came from."""

from pathlib import Path

from ...solver.results.result import Result
from .result_table import write_result_table


def write_drawing(result: Result, path: Path) -> None:
    """Write what was taken from the drawing, joined, left out and not taken, a row each."""
    write_result_table(
        path,
        result=result,
        notes=["What is not drawn, or not taken, is not in the model; places are of the case."],
        header=["what", "of the drawing"],
        rows=result.drawn,
    )
