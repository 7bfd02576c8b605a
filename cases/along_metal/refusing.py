"""What cannot stand beside the along_metal block: what takes metal at one potential."""

from collections.abc import Iterator, Sequence

from ...solver.errors import CaseError, Problem
from ..case import Case, PartSummary
from ..reading.documents import Document, Step
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


def refuse_apart(
    parts: Sequence[PartSummary], *, part_paths: Sequence[tuple[Step, ...]], document: Document
) -> None:
    """`CaseError` where gates and breaks part a fence, all of which is at one potential."""
    problems = [
        document.problem(
            f"falls into {part.raised.apart} by its gates and breaks, and without along_metal "
            "all metal of an electrode is at one potential; write the block along_metal, give "
            "each length an electrode of its own, or leave breaks and open gates out",
            path=path,
        )
        for part, path in zip(parts, part_paths, strict=True)
        if part.raised is not None and part.raised.apart > 1
    ]
    if problems:
        raise CaseError(in_order(problems))
