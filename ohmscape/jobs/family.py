"""All rows of a family: checked, tried, the near ones solved; what `batch` does."""

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

from .. import __version__
from ..cases.family.reading import BadRow, Family, row_case, row_case_text
from ..cases.family.rows import Row
from ..cases.fitting import fit_soil
from ..cases.loading import load_case_text
from ..solver.design import Method, Targets
from ..solver.errors import CaseError, Problem
from ..solver.family import (
    BadLine,
    Batch,
    Record,
    Remedy,
    RowFound,
    needs_elements,
    sampled,
    within,
)
from ..solver.family.batch import difference
from ..solver.progress import Progress, parts, unwatched
from ..solver.results.result import Result
from .family_engines import Engine, Lost, PlainLoop
from .family_kept import KeptRemedies, KeptRows, kept_answers
from .family_rows import Asked, checked, remedied, solved, tried
from .pace import Pace
from .run import run_variants
from .ways import currency_of, kind_of_ways

BAND, SAMPLE, SEED = 0.1, 5, 1
"""Half the band round a limit; rows drawn for proof; of what draws them."""

# Of the time, where progress is shown.
_checking, _trying, _solving, _remedying = 1.0, 10.0, 20.0, 20.0
_most_widening = 0.5
_drawn = "drawn for proof"


@dataclass
class _Rows:
    """Rows being worked on, and what is known of each by its number."""

    family: Family
    engine: Engine
    kept: KeptRows
    kept_remedies: KeptRemedies
    accuracy: str | None
    targets: Targets
    sha256: dict[int, str] = field(default_factory=dict)
    bad: list[BadRow] = field(default_factory=list)
    thin: dict[int, Record] = field(default_factory=dict)
    elements: dict[int, Record] = field(default_factory=dict)
    why: dict[int, str] = field(default_factory=dict)
    remedies: dict[int, Remedy] = field(default_factory=dict)

    def check(self, progress: Progress) -> None:
        """Find the hash of each row's case, or what is wrong with it."""
        template, rows = self.family.template, self.family.rows
        done = Pace("checking", len(rows), progress)
        for number, found in self.engine.answers(partial(checked, template), rows):
            row = rows[number]
            if isinstance(found, str):
                self.sha256[row.number] = found
            else:
                problems = found if isinstance(found, tuple) else (_lost(found, row),)
                self.bad.append(BadRow(row, problems))
            done.more(1)

    def try_all(self, progress: Progress) -> None:
        """Try all good rows by thin conductors."""
        work = partial(tried, self.family.template, self.targets)
        tier = f"thin conductors, {self.targets}"
        self._each(self._good(), work, "thin conductors", tier, self.thin, progress)

    def solve(self, numbers: Sequence[int], progress: Progress) -> None:
        """Solve rows by finite elements that have not been yet."""
        wanted = set(numbers) - set(self.elements)
        rows = [row for row in self._good() if row.number in wanted]
        work = partial(solved, self.family.template, self.targets, self.accuracy)
        tier = f"finite elements, {self.targets}, {self.accuracy}"
        self._each(rows, work, "finite elements", tier, self.elements, progress)

    def _good(self) -> list[Row]:
        return [row for row in self.family.rows if row.number in self.sha256]

    def _each(
        self,
        rows: Sequence[Row],
        work: Callable[[Row], Record],
        method: Method,
        tier: str,
        found: dict[int, Record],
        progress: Progress,
    ) -> None:
        """Records of rows by a method; rows of one case have it done once."""
        records = kept_answers(
            self.engine,
            work,
            [((tier, self.sha256[row.number]), row) for row in rows],
            kept=self.kept,
            lost=lambda why: Record(method, "not solved", fault=why),
            pace=partial(Pace, method, progress=progress),
        )
        found.update((row.number, one) for row, one in zip(rows, records, strict=True))

    def remedy(self, numbers: Sequence[int], *, band: float, progress: Progress) -> None:
        """Look for what would make rows pass, near to a limit by finite elements."""
        template = self.family.template
        rows = [row for row in self._good() if row.number in set(numbers)]
        asked = [
            Asked(row, self.thin[row.number].condition, self.why.get(row.number) == _drawn)
            for row in rows
        ]
        offered = json.dumps(self.family.case.document.content.get("design"), sort_keys=True)
        tier = f"{self.targets}, {self.accuracy}, {band}, {_hash(offered)}"
        found = kept_answers(
            self.engine,
            partial(remedied, template, self.targets, self.accuracy, band),
            [((f"{tier}, {one.proof}", self.sha256[one.row.number]), one) for one in asked],
            kept=self.kept_remedies,
            lost=lambda why: Remedy(fault=why),
            pace=partial(Pace, "what would make rows pass", progress=progress),
        )
        self.remedies.update((row.number, one) for row, one in zip(rows, found, strict=True))


def batch_of(
    family: Family,
    *,
    folder: Path | None = None,
    engine: Engine | None = None,
    accuracy: str | None = None,
    band: float = BAND,
    sample: int = SAMPLE,
    seed: int = SEED,
    remedies: bool = True,
    progress: Progress = unwatched,
) -> Batch:
    """What becomes of each row of a family, worst first.

    Parameters
    ----------
    family : Family
        What `read_family` gave.
    folder : Path, optional
        Where records are kept as they come; a command that was killed goes on from them. Left
        out, they are kept in memory.
    engine : Engine, optional
        Who does the work; left out, this process alone. The numbers are the same whoever does.
    accuracy : {"coarse", "normal", "fine"}, optional
        Of the finite elements, in place of the template's own.
    band : float
        Rows whose worst share of what is allowed is so near to 1 are solved by finite
        elements; so are those that thin conductors cannot tell from it or cannot solve. Where
        the methods differ by more, the band is widened to that.
    sample : int
        So many other rows are solved too, for proof, drawn by `seed`.
    remedies : bool, default True
        Whether to look for the cheapest option or design of the template, where it has some,
        with which each row that does not pass would.
    progress : callable, optional
        Told how many rows are done, how fast, and the time left.

    Returns
    -------
    batch : Batch
        Rows that make no case, or could not be solved, are listed in it.

    Raises
    ------
    CaseError
        If no row makes a case.
    ResultError
        If what was kept cannot be read.
    """
    engine = engine or PlainLoop()
    offers = kind_of_ways(family.case) if remedies else ""
    checking, trying, solving, remedying = parts(
        progress, [_checking, _trying, _solving, _remedying if offers else 0.0]
    )
    kept, kept_remedies = KeptRows(folder), KeptRemedies(folder)
    design = family.case.design
    targets = Targets() if design is None else design.targets
    rows = _Rows(family, engine, kept, kept_remedies, accuracy, targets, bad=list(family.bad))
    try:
        rows.check(checking)
        if not rows.sha256:
            raise CaseError([problem for item in rows.bad for problem in item.problems][:100])
        rows.try_all(trying)
        widened = _proven(rows, band=band, sample=sample, seed=seed, progress=solving)
        if offers:
            _remedied(rows, band=widened, progress=remedying)
    finally:
        kept.close()
        kept_remedies.close()
    found = [_row_found(rows, row) for row in family.rows if row.number in rows.sha256]
    return Batch(
        title=family.case.title,
        template=family.template.file,
        table=family.template.table,
        units=family.case.units,
        rows=tuple(sorted(found, key=lambda row: row.rank)),
        bad=tuple(sorted(map(_bad_line, rows.bad), key=lambda item: item.line)),
        band=band,
        widened=widened,
        sample=sample,
        seed=seed,
        coordinates=family.coordinates,
        lost=engine.deaths(),
        offers=offers,
        currency=currency_of(family.case),
    )


def _proven(rows: _Rows, *, band: float, sample: int, seed: int, progress: Progress) -> float:
    """Solve what is near a limit and a sample, until the band holds what the methods differ by.

    Returns the band.
    """
    rows.why = {
        k: why for k, found in rows.thin.items() if (why := needs_elements(found, band=band))
    }
    drawn = sampled(rows.thin, left_out=list(rows.why), count=sample, seed=seed)
    rows.why |= dict.fromkeys(drawn, _drawn)
    first, more = parts(progress, [3.0, 1.0])
    rows.solve(list(rows.why), first)
    while True:
        differ = [
            abs(difference(one).share) for row in rows.family.rows
            if row.number in rows.elements and _told(one := _row_found(rows, row))
        ]  # fmt: skip
        wider = min(max([band, *differ]), _most_widening)
        near = [
            k for k, found in rows.thin.items()
            if k not in rows.elements and within(found, band=wider)
        ]  # fmt: skip
        if not near:
            return wider
        rows.why |= dict.fromkeys(near, "near a limit by what the methods differ")
        rows.solve(near, more)


def _remedied(rows: _Rows, *, band: float, progress: Progress) -> None:
    """Find what would make rows pass, until the band holds what the methods differ by."""
    found = [_row_found(rows, row) for row in rows.family.rows if row.number in rows.thin]
    wanted = [row.number for row in found if row.best.fails]
    first, more = parts(progress, [3.0, 1.0])
    while wanted:
        rows.remedy(wanted, band=band, progress=first)
        differ = [one.differ for one in rows.remedies.values()]
        wider = min(max([band, *differ]), _most_widening)
        near = [k for k, one in rows.remedies.items() if band < one.margin <= wider]
        wanted, band, first = near, wider, more


def _told(row: RowFound) -> bool:
    """Whether both methods hold a row against something."""
    both = (row.thin, row.elements)
    return all(one is not None and one.solved and one.share > 0 for one in both)


def _row_found(rows: _Rows, row: Row) -> RowFound:
    own = rows.family.own(row)
    return RowFound(
        number=row.number,
        line=row.line,
        name=row.name,
        sha256=rows.sha256[row.number],
        thin=rows.thin[row.number],
        elements=rows.elements.get(row.number),
        why=rows.why.get(row.number, ""),
        place=rows.family.place(row),
        notes={key: text for key, text in own.items() if key not in _places},
        remedy=rows.remedies.get(row.number),
    )


_places = ("east", "north", "latitude", "longitude")


def _hash(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _bad_line(bad: BadRow) -> BadLine:
    problems = tuple((problem.path, problem.message) for problem in bad.problems)
    return BadLine(bad.row.number, bad.row.line, bad.row.name, problems)


def _lost(lost: Lost, row: Row) -> Problem:
    return Problem(f"could not be checked: {lost.why}", line=row.line)


def row_named(family: Family, name: str) -> Row:
    """A row of good form by its name, or by its number; `CaseError` if there is none."""
    named = [row for row in family.rows if row.name == name]
    named += [row for row in family.rows if str(row.number) == name]
    if named:
        return named[0]
    msg = f"no row {name!r} of good form in {family.template.table}; give a name or a number"
    raise CaseError([Problem(msg)])


def row_text_of(family: Family, row: Row, *, accuracy: str | None) -> str | None:
    """Text of the case file of a row; None if that of the template cannot be edited."""
    how = "" if accuracy is None else f", to be solved with --accuracy {accuracy}"
    heading = [
        f"Row '{row.name}' (line {row.line}) of {family.template.table}{how}.",
        f"Written by ohmscape {__version__}.",
    ]
    try:
        return row_case_text(family.template, row, heading=heading)
    except CaseError:
        return None


def run_row(
    family: Family, row: Row, *, accuracy: str | None = None, progress: Progress = unwatched
) -> tuple[Result, ...]:
    """Results of the case of one row and of its variants, as a run of its case file gives.

    Raises
    ------
    OhmscapeError
        As `run_case`.
    """
    text = row_text_of(family, row, accuracy=accuracy)
    if text is None:
        case = row_case(family.template, row)
    else:
        case = load_case_text(text, folder=family.template.folder)
        case = replace(case, source=replace(case.source, file=family.template.file))
    return run_variants(fit_soil(case), accuracy=accuracy, progress=progress)
