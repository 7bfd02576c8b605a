"""The folder a run leaves: the result in one file, tables, volumes and pictures."""

import csv
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from pathlib import Path

from ..solver.errors import ResultError
from ..solver.progress import Progress, headed, parts, unwatched
from ..solver.results.result import Result
from ..solver.results.storage import load, load_sounding, save
from ..solver.results.variants import comparison
from ..solver.soil_survey import Sounding
from .files.staging import restore
from .files.whole import check_folder, write_whole
from .tables.csv_files import harmless
from .wording import file_stems

result_kind = "result"
result_name = "result.npz"
variants_name = "variants"
comparison_name = "comparison.csv"
# What tables, volumes and pictures of a result cost, and the report. [s, on a plain machine]
_costs = (0.2, 0.2, 6.0)
_report_cost = 4.5


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
    MissingLibraryError
        If a system library for the pictures is missing.
    """
    from . import draw, write_tables, write_volumes  # pictures take time to load

    steps = [write_tables, write_volumes, *([draw] if pictures else [])]
    costs = _costs[: len(steps)]
    *writing, reporting = parts(
        progress, [sum(costs)] * (1 + len(variants)) + [_report_cost if pictures else 0.0]
    )

    def write(one: Result, into: Path, progress: Progress) -> list[Path]:
        progress(result_name, 0.0)
        save(one, into / result_name)
        (into / "case.yaml").write_text(one.case_text, encoding="utf-8")
        files = [into / result_name, into / "case.yaml"]
        for step, each in zip(steps, parts(progress, costs), strict=True):
            files += step(one, into, progress=each)
        return files

    def write_all(into: Path) -> list[Path]:
        files = write(result, into, writing[0])
        if variants:
            files += _write_variants(
                [result, *variants],
                into,
                pictures=pictures,
                write=write,
                progresses=writing[1:],
            )
        if pictures:
            from .report import write_report

            files += write_report([result, *variants], into, progress=reporting)
        return files

    return write_whole(Path(folder), write=write_all, kind=result_kind, command=command)


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


def _write_variants(
    results: Sequence[Result],
    folder: Path,
    *,
    pictures: bool,
    write: Callable[[Result, Path, Progress], list[Path]],
    progresses: Sequence[Progress],
) -> list[Path]:
    """Write the comparison, and each variant to a folder of its own."""
    from .variants import draw_comparison, write_comparison  # pictures take time to load

    progresses[0](comparison_name, 0.0)
    compared, title = comparison(results), results[0].title
    files = [write_comparison(results, path=folder / comparison_name)]
    if pictures:
        files += [
            draw_comparison(compared, title=title, path=folder / f"comparison.{kind}")
            for kind in ("png", "svg")
        ]
    stems = file_stems(tuple(result.variant for result in results[1:]))
    for result, stem, each in zip(results[1:], stems, progresses, strict=True):
        inner = folder / variants_name / stem
        inner.mkdir(parents=True)
        files += write(result, inner, headed(each, result.variant))
    return files


def check_addition(folder: str | Path, *, names: Iterable[str]) -> None:
    """Raise unless `add_to_result` can write files of these names.

    Raises
    ------
    ResultError
        If something is in the way.
    """
    check_folder(Path(folder), kind=result_kind, expected=dict.fromkeys(names), adding=True)
