"""The folder of an uncertainty: draws, answers, picture, written whole or not at all."""

from collections.abc import Iterator
from pathlib import Path

from ...solver.progress import Progress, parts, unwatched
from ...solver.uncertainty.found import Uncertainty
from ..files.whole import check_folder, write_whole
from ..tables.csv_files import write_table
from .picture import draw_uncertainty
from .words import ABOUT_UNCERTAINTY, answer_name, notes

_units = {"resistance": "ohm", "rise": "V", "share": "1", "worst": "1"}
_nan = float("nan")


def check_uncertainty_folder(folder: Path) -> None:
    """Raise `ResultError` unless `save_uncertainty` can write to a folder."""
    check_folder(folder, kind="uncertainty")


def save_uncertainty(
    found: Uncertainty, folder: Path, *, pictures: bool = True, progress: Progress = unwatched
) -> tuple[Path, ...]:
    """Write tables and picture to a folder, all or nothing.

    `ResultError` if something is in the way.
    """

    def write(into: Path) -> list[Path]:
        files = [_answers(found, into / "answers.csv"), _draws(found, into / "draws.csv")]
        endings = ("png", "svg") if pictures else ()
        for ending, each in zip(endings, parts(progress, [1.0] * len(endings)), strict=True):
            each(f"uncertainty.{ending}", 0.0)
            files.append(draw_uncertainty(found, path=into / f"uncertainty.{ending}"))
        return files

    return write_whole(folder, write=write, kind="uncertainty", command="uncertainty")


def _notes(found: Uncertainty) -> list[str]:
    title = f"{' '.join(found.title.split())}: {found.case_file}"
    return [title, *notes(found), *ABOUT_UNCERTAINTY]


def _answers(found: Uncertainty, path: Path) -> Path:
    header = (
        "answer", "unit", "5 %", "50 %", "95 %", "sampling error of 5 %", "of 50 %", "of 95 %",
        "probability within the limit", "its sampling error",
        *(
            f"{what} {name}"
            for name in found.inputs
            for what in ("first-order share of", "total share of", "at 5 % of", "at 95 % of")
        ),
    )  # fmt: skip

    def rows() -> Iterator[tuple[object, ...]]:
        for item in found.answers:
            spread, passes, told = item.spread, item.passes, item.importance
            within = (_nan, _nan) if passes is None else (passes.share, passes.error)
            of_inputs = [
                value
                for k in range(len(found.inputs))
                for value in (told.first[k], told.total[k], *item.swings[k])
            ]
            yield (
                answer_name(item), _units[item.what], spread.low, spread.median, spread.high,
                *spread.errors, *within, *map(float, of_inputs),
            )  # fmt: skip

    return write_table(path, notes=_notes(found), header=header, rows=rows())


def _draws(found: Uncertainty, path: Path) -> Path:
    header = (
        "draw",
        *(f"probability share of {name}" for name in found.inputs),
        *(f"{answer_name(item)} [{_units[item.what]}]" for item in found.answers),
    )
    rows = (
        (
            k + 1,
            *map(float, found.shares[k]),
            *(float(item.values[k]) for item in found.answers),
        )
        for k in range(len(found.shares))
    )
    return write_table(path, notes=_notes(found), header=header, rows=rows)
