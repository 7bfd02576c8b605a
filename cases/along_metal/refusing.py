"""What cannot stand beside the along_metal block: what takes metal at one potential."""

from collections.abc import Iterator

from ...solver.errors import CaseError, Problem
from ..case import Case
from ..reading.documents import Document
from ..reading.problems import in_order

_else = "and along_metal works out the voltage along it; leave one of the two out"


def refuse_beside(case: Case, *, document: Document) -> None:
    """`CaseError` with all blocks that take the metal of an electrode at one potential."""
    problems = list(_problems(case, document=document))
    if problems:
        raise CaseError(in_order(problems))


def _problems(case: Case, *, document: Document) -> Iterator[Problem]:
    blocks = {
        "earth_tests": (case.earth_tests, "earth tests are predicted with"),
        "measured": (case.measured, "readings are held against"),
    }
    for key, (block, what) in blocks.items():
        if block:
            yield document.problem(f"{what} metal at one potential, {_else}", path=(key,))
    if case.safety is not None and case.safety.solved_feet is not None:
        msg = f"somebody on solved feet touches metal at one potential, {_else}"
        yield document.problem(msg, path=("safety", "solved_feet"))
    if case.study.soil_shares:
        msg = f"shares are worked out with metal at one potential, {_else}"
        yield document.problem(msg, path=("study", "soil_shares"))
