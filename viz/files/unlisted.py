"""What release 0.1.0, which left no list, made in a folder: exact names from what is in it."""

import csv
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from ...solver.errors import ResultError
from ...solver.results.result import Result
from ...solver.results.storage import load
from ..wording import file_stems
from .manifest import Made, Manifest, digest

_always = (
    "result.npz", "electrodes.csv", "parts.csv", "worst.csv", "surface.csv", "leakage.csv",
    "soil.vtu", "surface.vtu", "conductors.vtu",
)  # fmt: skip
_drawn = ("potential.png", "step.png", "scene.png", "section.png", "section.svg")
_reports = ("report.html", "report.pdf")
# Tables by kind, with the headings that show whose they are, and what came with the first one.
_tables = {
    "earth-test": {
        "earth-tests.csv": "test,variant,method,",
        "earth-test-readings.csv": "test,variant,current probe at [m],",
        "driven-rods.csv": "test,variant,driven length [m],",
    },
    "compare": {
        "explanations.csv": "fitted alone,unit,in the case,",
        "calibration.csv": "fitted together,unit,value,",
        "readings.csv": "series,number,first end,second end,",
    },
    "soil": {
        "soil-models.csv": "layers,chosen,supported,layer,",
        "soil-readings.csv": "traverse,array,pin 1 [m],",
    },
}
_with_tables = {
    "earth-test": _reports,
    "compare": ("compare.png", "compare.svg", *_reports),
    "soil": ("sounding.png", "sounding.svg", "soil.yaml"),
}


def unlisted(folder: Path) -> Manifest | None:
    """The files that release 0.1.0 left in a folder without a list, as they are now.

    None if it left nothing there. Names that only look like its own are not taken for them:
    of a run, those that the names in its result give; of other commands, tables by their
    headings and pictures by the tests in them.
    """
    if not folder.is_dir():
        return None
    found = _run(folder)
    if found is not None:
        return _as_they_are(folder, "result", found)
    for kind in _tables:
        found = _by_tables(folder, kind)
        if found:
            return _as_they_are(folder, kind, found)
    return None


def run_names(
    *,
    metals: Sequence[str],
    profiles: Sequence[str],
    exposures: Sequence[str],
    surveyed: bool,
    pictures: bool = True,
) -> Iterator[str]:
    """Names of the files of one result, its case file apart.

    Parameters
    ----------
    metals, profiles, exposures : sequence of str
        The user's names of touchable metal, profiles and exposures judged, in order.
    surveyed : bool
        Whether its layers were fitted to a survey.
    pictures : bool
        Whether it was drawn.
    """
    yield from _always
    lines = [f"profile-{stem}" for stem in file_stems(tuple(profiles))]
    yield from (f"{line}.csv" for line in lines)
    if exposures:
        yield "verdict.csv"
    if surveyed:
        yield from _tables["soil"]
    if not pictures:
        return
    yield from _drawn
    yield from (f"{line}.{ending}" for line in lines for ending in ("png", "svg"))
    yield from (f"touch-{stem}.png" for stem in file_stems(tuple(metals)))
    yield from (f"margin-{stem}.png" for stem in file_stems(tuple(exposures)))
    if surveyed:
        yield from ("sounding.png", "sounding.svg")


def run_names_beside(
    *, variants: bool, options: bool = False, pictures: bool = True
) -> Iterator[str]:
    """Names of the files that a run leaves once, beside those of each result."""
    for name, wanted in (("comparison", variants), ("options", options)):
        yield from (f"{name}.{ending}" for ending in ("csv", "png", "svg") if wanted)
    if pictures:
        yield from _reports


def _as_they_are(folder: Path, kind: str, names: Iterable[str]) -> Manifest:
    there = [name for name in names if (folder / name).is_file()]
    made = {name: Made(digest(folder / name), "0.1.0") for name in there}
    return Manifest(kind, made)


def _run(folder: Path) -> list[str] | None:
    """Names of a run by its results; None where there is no result that can be read."""
    names = _of_result(folder)
    if names is None:
        return None
    variants = folder / "variants"
    for inner in sorted(variants.iterdir()) if variants.is_dir() else []:
        names += [f"variants/{inner.name}/{name}" for name in _of_result(inner) or ()]
    return [*names, *run_names_beside(variants=True)]


def _of_result(folder: Path) -> list[str] | None:
    if not (folder / "result.npz").is_file():
        return None
    try:
        result = load(folder / "result.npz")
    except ResultError:
        return None
    judgements = () if result.verdict is None else result.verdict.judgements
    names = run_names(
        metals=[item.name for item in result.metals],
        profiles=[item.name for item in result.profiles],
        exposures=[item.name for item in judgements],
        surveyed=result.sounding is not None,
    )
    return [*names, *(["case.yaml"] if _is_its_case(folder / "case.yaml", result) else [])]


def _is_its_case(path: Path, result: Result) -> bool:
    return path.is_file() and path.read_bytes() == result.case_text.encode()


def _by_tables(folder: Path, kind: str) -> list[str]:
    """Names by the tables of a kind; none without the first of them."""
    tables = _tables[kind]
    found = [name for name, heading in tables.items() if _headed(folder / name, heading)]
    if next(iter(tables)) not in found:
        return []
    if kind == "earth-test":
        stems = file_stems(tuple(_tests(folder, found)))
        found += [f"test-{stem}.{ending}" for stem in stems for ending in ("png", "svg")]
    return [*found, *_with_tables[kind]]


def _headed(path: Path, heading: str) -> bool:
    rows = _rows(path) if path.is_file() else iter(())
    return next(rows, "").startswith(heading)


def _tests(folder: Path, tables: Sequence[str]) -> list[str]:
    """Names of the tests of a case as it stands, once each."""
    names: dict[str, None] = {}
    for table in tables:
        for row in csv.reader(_rows(folder / table)):
            if len(row) > 1 and not row[1]:
                names[row[0]] = None
    return list(names)


def _rows(path: Path) -> Iterator[str]:
    """Lines of a table without what stands on top."""
    with path.open(encoding="utf-8", newline="", errors="replace") as file:
        yield from (line for line in file if not line.startswith("#"))
