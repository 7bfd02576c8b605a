"""The folder a run leaves: the result in one file, tables, volumes and pictures."""

import csv
import shutil
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from ...solver.errors import ResultError
from ...solver.progress import Progress, headed, parts, unwatched
from ...solver.results.result import Result
from ...solver.results.storage import load, save
from ...solver.results.variants import comparison
from ..wording import file_stems

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
    return load(path / result_name if path.is_dir() else path)


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
    variants = Path(folder) / variants_name
    inner = sorted(variants.iterdir()) if variants.is_dir() else []
    found = [load_result(path) for path in inner]
    order = _order_of_variants(Path(folder))
    found.sort(key=lambda result: order.get(result.variant, len(order)))
    return (load_result(folder), *found)


def _order_of_variants(folder: Path) -> dict[str, int]:
    """Place of each variant in the case, as the comparison lists them; empty without one."""
    table = folder / comparison_name
    if not table.is_file():
        return {}
    with table.open(encoding="utf-8", newline="") as file:
        rows = csv.reader(line for line in file if not line.startswith("#"))
        return {row[0]: number for number, row in enumerate(rows) if row}


def save_result(
    result: Result,
    folder: str | Path,
    *,
    variants: Sequence[Result] = (),
    pictures: bool = True,
    progress: Progress = unwatched,
) -> tuple[Path, ...]:
    """Write a result, its tables, volumes, pictures and report to a folder, all or nothing.

    Parameters
    ----------
    result : Result
        What `run_case` gave.
    folder : str or Path
        Folder to make. One that a run left before is replaced.
    variants : sequence of Result
        Results of the variants, each for a folder of its own in ``variants``.
    pictures : bool, default True
        Whether to draw and to write the report.
    progress : callable, optional
        Told the name of each file as it is begun, and the share of the work done by then.

    Returns
    -------
    files : tuple of Path
        The files written.

    Raises
    ------
    ResultError
        If the folder exists and is not one that a run left.
    MissingLibraryError
        If a system library for the pictures is missing.
    """
    from .. import draw, write_tables, write_volumes  # pictures take time to load

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
                [result, *variants], into, write=write, progresses=writing[1:]
            )
        if pictures:
            from ..report import write_report

            files += write_report([result, *variants], into, progress=reporting)
        return files

    return write_whole(Path(folder), write=write_all)


def _write_variants(
    results: Sequence[Result],
    folder: Path,
    *,
    write: Callable[[Result, Path, Progress], list[Path]],
    progresses: Sequence[Progress],
) -> list[Path]:
    """Write the comparison, and each variant to a folder of its own."""
    from ..variants import draw_comparison, write_comparison

    compared, title = comparison(results), results[0].title
    files = [
        write_comparison(results, path=folder / comparison_name),
        draw_comparison(compared, title=title, path=folder / "comparison.png"),
        draw_comparison(compared, title=title, path=folder / "comparison.svg"),
    ]
    stems = file_stems(tuple(result.variant for result in results[1:]))
    for result, stem, each in zip(results[1:], stems, progresses, strict=True):
        inner = folder / variants_name / stem
        inner.mkdir(parents=True)
        files += write(result, inner, headed(each, result.variant))
    return files


def check_free(folder: Path, *, ours: Callable[[str], bool] | None = None) -> None:
    """Raise unless the folder is new, empty, or one that a run left.

    Parameters
    ----------
    folder : Path
        The folder.
    ours : callable, optional
        Whether files of a name may be replaced; left out, those that a run writes.

    Raises
    ------
    ResultError
        If something else is in the way.
    """
    if not folder.exists():
        return
    if not folder.is_dir():
        msg = f"{folder} is a file; name a folder for the result"
        raise ResultError(msg)
    foreign = sorted(str(path.relative_to(folder)) for path in _foreign(folder, ours or _ours))
    if foreign:
        listed = ", ".join(foreign[:3])
        msg = f"{folder} holds files that no {'run' if ours is None else 'such command'} left "
        msg += f"({listed}); name another folder"
        raise ResultError(msg)


def _foreign(folder: Path, ours: Callable[[str], bool]) -> Iterator[Path]:
    """Whatever in a folder is not ours, in those of variants too if these are a run's."""
    for path in folder.iterdir():
        if path.name == variants_name and path.is_dir() and ours is _ours:
            for inner in path.iterdir():
                yield from _foreign(inner, ours) if inner.is_dir() else [inner]
        elif path.is_dir() or not ours(path.name):
            yield path


def _ours(name: str) -> bool:
    """Whether a run writes files of that name."""
    fixed = {result_name, "case.yaml", "potential.png", "step.png", "scene.png"}
    fixed |= {
        f"{stem}.csv"
        for stem in ("electrodes", "parts", "worst", "verdict", "surface", "leakage")
    }
    fixed |= {f"{stem}.vtu" for stem in ("soil", "surface", "conductors")}
    fixed |= {"report.html", "report.pdf"}
    fixed |= {f"comparison.{ending}" for ending in ("csv", "png", "svg")}
    fixed |= {"section.png", "section.svg", "sounding.png", "sounding.svg"}
    fixed |= {"soil-readings.csv", "soil-models.csv"}
    return name in fixed or name.startswith(("touch-", "profile-", "margin-"))


def write_whole(
    folder: Path,
    *,
    write: Callable[[Path], Sequence[Path]],
    ours: Callable[[str], bool] | None = None,
) -> tuple[Path, ...]:
    """Write files to a folder, all or nothing.

    Parameters
    ----------
    folder : Path
        Folder to make, or to replace if it holds nothing but what is ours.
    write : callable
        Writes into the folder it is given; returns the files it wrote.
    ours : callable, optional
        As for `check_free`.

    Returns
    -------
    files : tuple of Path
        The files, in the folder.

    Raises
    ------
    ResultError
        If the folder exists and holds something else.
    """
    check_free(folder, ours=ours)
    with _whole_folder(folder) as temporary:
        names = [path.relative_to(temporary) for path in write(temporary)]
    return tuple(folder / name for name in names)


@contextmanager
def _whole_folder(target: Path) -> Iterator[Path]:
    """Give a temporary folder that takes the place of the target once all went well.

    Parameters
    ----------
    target : Path
        Folder to make or to replace; untouched if anything is raised.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    temporary = Path(tempfile.mkdtemp(prefix=f".{target.name}-", dir=target.parent))
    try:
        temporary.chmod(0o755)
        yield temporary
        aside = temporary.with_name(temporary.name + "-old")
        if target.exists():
            target.rename(aside)
        temporary.rename(target)
        shutil.rmtree(aside, ignore_errors=True)
    finally:
        shutil.rmtree(temporary, ignore_errors=True)
