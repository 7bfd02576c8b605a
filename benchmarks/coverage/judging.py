"""One case at one preset beside its reference: a row for each quantity with its stated band."""

from dataclasses import asdict, dataclass, fields
from functools import lru_cache
from time import process_time

import numpy as np

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.run import run_case
from ohmscape.jobs.solving import studied_places
from ohmscape.solver.errors import CaseError, OhmscapeError

from .drawing import drawn
from .questions import Questions
from .references import LEVELS, solved

_most_attempts = 6
_share_of_band = 1 / 3  # that a reference may be unsettled by


@dataclass(frozen=True)
class Row:
    """One quantity of one case at one preset.

    Errors and bands of resistances are shares of them, those of voltages shares of the rise.
    """

    kind: str  # class of the case
    seed: int
    number: int
    attempt: int
    preset: str
    # resistance, touch, step, map, touch on map, floating; or "no answer", "unsettled"
    quantity: str
    where: str
    value: float = float("nan")  # Ω, V
    reference: float = float("nan")
    error: float = float("nan")
    band: float = float("nan")
    unsettled: float = float("nan")  # of the reference, in the terms of the error
    seconds: float = float("nan")  # processor time of the finite elements
    elements: int = 0
    note: str = ""

    @property
    def within(self) -> bool:
        """Whether the error is within the stated band."""
        return abs(self.error) <= self.band


COLUMNS = [item.name for item in fields(Row)]


def judged(kind: str, *, seed: int, number: int, preset: str) -> list[Row]:
    """Rows of one case; drawn anew while its reference does not settle, with a row for that."""
    rows: list[Row] = []
    for attempt in range(_most_attempts):
        common = {"kind": kind, "seed": seed, "number": number, "attempt": attempt}
        common["preset"] = preset
        text = drawn(kind, seed=seed, number=number, attempt=attempt)
        try:
            case = load_case_text(text)
        except CaseError as error:  # layers farther apart than cases may have
            note = f"no case: {error}"[:300]
            rows.append(Row(**common, quantity="unsettled", where="", note=note))
            continue
        begin = process_time()
        try:
            result = run_case(case, accuracy=preset)
        except OhmscapeError as error:
            note = f"{type(error).__name__}: {error}"[:300]
            return [*rows, Row(**common, quantity="no answer", where="", note=note)]
        common["seconds"] = round(process_time() - begin, 2)
        common["elements"] = len(result.solution.mesh.tetrahedra)
        items = _compared(case, result, text=text, key=[seed, number])
        worst = max(items, key=lambda item: item.unsettled / item.band)
        if _settled([worst]):
            return [*rows, *(Row(**common, **asdict(item)) for item in items)]
        where = f"{worst.quantity} {worst.where}"
        moved = {"unsettled": worst.unsettled, "band": worst.band}
        rows.append(Row(**common, quantity="unsettled", where=where, **moved))
    return rows


@lru_cache(maxsize=len(LEVELS))  # so that presets of one case share it
def _solved(text: str, level: float):
    """Reference of a case file at one level."""
    case = load_case_text(text)
    # From any place that is looked at to any metal.
    reach = 1.0 + 2 * np.sqrt(2) * float(np.abs(studied_places(case)[:, :2]).max())
    return solved(case, fineness=level, reach=reach)


def _compared(case, result, *, text, key):
    """Quantities of a result beside the first two neighbouring levels that agree."""
    asked = Questions(case, result, key=key)
    answers, items = None, []
    for level in LEVELS:
        reference = _solved(text, level)
        if reference is None:
            break
        before, answers = answers, asked.answered(reference)
        if before is not None:
            items = asked.items(answers, before=before)
            if _settled(items):
                break
    return items


def _settled(items) -> bool:
    return all(item.unsettled <= _share_of_band * item.band for item in items)
