"""The folder a run leaves: the result in one file, tables, volumes and pictures."""

import csv
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from ..solver.errors import DrawingError, OhmscapeError, ResultError
from ..solver.progress import Progress, headed, parts, unwatched
from ..solver.results.result import Result
from ..solver.results.storage import load, load_sounding, save
from ..solver.soil_survey import Sounding
from .files.staging import restore
from .files.whole import check_folder, whole, write_whole
from .tables.csv_files import harmless
from .wording import file_stems

if TYPE_CHECKING:
    from subprocess import Popen

    from .studio.board import Board

result_kind = "result"
result_name, report_name = "result.npz", "report.html"
variants_name = "variants"
comparison_name = "comparison.csv"
options_name = "options.csv"
# What numbers cost, and all that is drawn.
_data_cost, _drawing_cost = 1.0, 12.0


def load_result(folder: str | Path) -> Result:
    """Result from the folder of a finished run, or from its result file.

    Parameters
    ----------
    folder : str or Path
        The folder, or the file ``result.npz`` in it.

    Returns
    -------
    result : Result

    Raises
    ------
    ResultError
        If there is no readable result.
    """
    path = Path(folder)
    if not path.is_dir():
        return load(path)
    restore(path)
    if not (path / result_name).is_file():
        msg = (
            f"{path} is not a readable ohmscape result: there is no {result_name} in it; name "
            "the folder that a run left"
        )
        raise ResultError(msg)
    return load(path / result_name)


def holds_result(folder: Path, *, text: str | None, page: bool) -> bool:
    """Whether a folder has the result of the case file of a text, with its report if asked."""
    names = (result_name, "case.yaml", *[report_name] * page)
    if text is None or not all((folder / name).is_file() for name in names):
        return False
    return (folder / names[1]).read_bytes() == text.encode()


def load_results(folder: str | Path) -> tuple[Result, ...]:
    """Result of a finished run and those of its variants, in the order of the case.

    Parameters
    ----------
    folder : str or Path
        The folder of the run, or its result file alone.

    Raises
    ------
    ResultError
        If there is no readable result.
    """
    first = load_result(folder)
    found = [
        load(path) for path in sorted(Path(folder).glob(f"{variants_name}/*/{result_name}"))
    ]
    order = _order_of_variants(Path(folder))
    found.sort(key=lambda result: order.get(harmless(result.variant), len(order)))
    return (first, *found)


def kept_soundings(folder: str | Path) -> tuple[Sounding, ...]:
    """Fitted surveys that the results in a folder keep; none where there are no results."""
    paths = [Path(folder) / result_name]
    paths += sorted(Path(folder).glob(f"{variants_name}/*/{result_name}"))
    found = []
    for path in paths:
        # A result that cannot be read has no fit to give; who wants the result is told why.
        with suppress(ResultError):
            found.append(load_sounding(path))
    return tuple(sounding for sounding in found if sounding is not None)


def _order_of_variants(folder: Path) -> dict[str, int]:
    """Place of each variant in the case, as the comparison lists them; empty without one."""
    table = folder / comparison_name
    if not table.is_file():
        return {}
    with table.open(encoding="utf-8", errors="replace", newline="") as file:
        rows = csv.reader(line for line in file if not line.startswith("#"))
        with suppress(csv.Error):  # somebody's own, or damaged: the order is all it would give
            return {row[0]: number for number, row in enumerate(rows) if row}
    return {}


def save_result(
    result: Result,
    folder: str | Path,
    *,
    variants: Sequence[Result] = (),
    pictures: bool = True,
    command: str = "run",
    progress: Progress = unwatched,
) -> tuple[Path, ...]:
    """Write a result, its tables, volumes, pictures and report to a folder, all or nothing.

    Parameters
    ----------
    result : Result
        What `run_case` gave.
    folder : str or Path
        Folder to make, or where what a run left before is replaced. Other files in it stay.
    variants : sequence of Result
        Results of the variants, each for a folder of its own in ``variants``.
    pictures : bool, default True
        Whether to draw and to write the report.
    command : str, default "run"
        What the list of files says made them.
    progress : callable, optional
        Told the name of each file as it is begun, and the share of the work done by then.

    Returns
    -------
    files : tuple of Path
        The files written.

    Raises
    ------
    ResultError
        If somebody's file, or one that was changed since a run left it, is where one of
        these must go, or if another kind of command left the folder.
    DrawingError
        If pictures or report cannot be drawn; all else is then in the folder.
    """
    results = (result, *variants)
    data, drawing = parts(progress, [_data_cost, _drawing_cost if pictures else 0.0])
    names = [one.variant for one in variants]
    with saving(folder, variants=names, pictures=pictures, command=command) as saved:
        for one, each in zip(results, parts(data, [1.0] * len(results)), strict=True):
            saved.add(one, progress=each)
        saved.draw(progress=drawing)
    return saved.files


class Saving:
    """Results that are being written to a folder, as `saving` gives it.

    Parameters
    ----------
    new : Path
        Where they are written.
    variants : sequence of str
        Names of the variants, in the order of the case.
    board : Board or None
        Draws them, where they are drawn.
    """

    def __init__(self, new: Path, *, variants: Sequence[str], board: "Board | None") -> None:
        self._new, self._board = new, board
        self._places = [
            "",
            *(f"{variants_name}/{stem}/" for stem in file_stems(tuple(variants))),
        ]
        self._results: list[Result] = []
        self.files: tuple[Path, ...] = ()
        """Files, in their order; at their place once all are written."""
        self.error: Exception | None = None
        """Why pictures or report are not there."""

    def add(self, result: Result, *, progress: Progress = unwatched) -> None:
        """Write numbers and begin to draw, of the case first and then of each variant."""
        from . import write_tables, write_volumes  # as only here
        from .tables.volumes import same_volumes

        place = self._places[len(self._results)]
        alike = next(
            (k for k, one in enumerate(self._results) if same_volumes(one, result)), None
        )
        self._results.append(result)
        into = self._new / place
        into.mkdir(parents=True, exist_ok=True)
        progress = headed(progress, result.variant)
        progress(result_name, 0.0)
        save(result, into / result_name)
        (into / "case.yaml").write_text(result.case_text, encoding="utf-8")
        self.files += (into / result_name, into / "case.yaml")
        # Whoever draws can begin, also where nothing is drawn in this process yet.
        if self._board is not None:
            self._board.add(result, path=into / result_name, place=place)
        tables, volumes = parts(progress, [1.0, 1.0])
        self.files += tuple(write_tables(result, into, progress=tables))
        written = None if alike is None else self._new / self._places[alike]
        self.files += tuple(write_volumes(result, into, written=written, progress=volumes))

    def draw(self, *, progress: Progress = unwatched) -> None:
        """Finish what is there once of all results, and all that is drawn."""
        if len(self._results) > 1:
            from .variants import write_comparison  # takes time to load

            table = write_comparison(self._results, path=self._new / comparison_name)
            self.files += (table, *self._options())
        if self._board is None:
            return
        try:
            drawn = self._board.finish(progress=progress)
        except Exception as error:  # the numbers are there, and need no picture
            self.error = error
            return
        for name, data in drawn.items():
            (self._new / name).write_bytes(data)
        self.files += tuple(self._new / name for name in drawn)

    def _options(self) -> tuple[Path, ...]:
        """The table of options, where the case has any."""
        from ..solver.results.options import options_of
        from .options.table import write_options  # takes time to load

        options = options_of(self._results)
        if options is None:
            return ()
        return (write_options(options, self._results, path=self._new / options_name),)


@contextmanager
def saving(
    folder: str | Path,
    *,
    variants: Sequence[str] = (),
    pictures: bool = True,
    command: str = "run",
    helper: "Popen[bytes] | None" = None,
) -> Iterator[Saving]:
    """Take results as they are found, and have all in a folder in the end, or nothing.

    Parameters
    ----------
    folder, pictures, command
        As for `save_result`.
    variants : sequence of str
        Names of the variants to come, in the order of the case.
    helper : Popen, optional
        A second process that draws, in ``viz.studio.process.serve``.

    Raises
    ------
    ResultError, DrawingError
        As `save_result`.
    """
    target, board = Path(folder), None
    if pictures:
        from .studio.board import board_for  # pictures take time to load

        board = board_for(helper)
    with whole(target, kind=result_kind, command=command) as new:
        saved = Saving(new, variants=variants, board=board)
        yield saved
    saved.files = tuple(target / path.relative_to(new) for path in saved.files)
    if saved.error is not None:
        msg = (
            f"pictures and report could not be drawn: {_why(saved.error)}; numbers and "
            f"tables are in {target}; ohmscape draw {target} and ohmscape report {target} "
            "try again"
        )
        raise DrawingError(msg) from saved.error


def _why(error: Exception) -> str:
    """What an error says; of one that is not ours, its kind too."""
    return (
        str(error) if isinstance(error, OhmscapeError) else f"{type(error).__name__}: {error}"
    )


def add_to_result(
    folder: str | Path, *, write: Callable[[Path], Sequence[Path]], command: str
) -> tuple[Path, ...]:
    """Write more files of a result to a folder, that of the result or any other.

    Parameters
    ----------
    write : callable
        Writes into the folder it is given; returns the files it wrote.
    command : str
        The command that writes.

    Returns
    -------
    files : tuple of Path
        The files, in the folder.

    Raises
    ------
    ResultError
        As for `save_result`.
    """
    return write_whole(
        Path(folder), write=write, kind=result_kind, command=command, adding=True
    )


def check_addition(folder: str | Path, *, names: Iterable[str]) -> None:
    """Raise unless `add_to_result` can write files of these names.

    Raises
    ------
    ResultError
        If something is in the way.
    """
    check_folder(Path(folder), kind=result_kind, expected=dict.fromkeys(names), adding=True)
