"""Blocks that know round metal only, refused in a case with plates."""

from collections.abc import Iterator

from ..solver.errors import CaseError, Problem
from .case import Case
from .reading.documents import Document
from .reading.problems import in_order

# Block, and what of it knows round metal only.
_blocks = (
    ("heating", "how hot metal gets is worked out from the section of round metal"),
    ("design", "designs are priced and compared by lengths of round metal"),
    ("measured", "readings are predicted for round metal"),
)


def refuse_beside_plates(case: Case, *, document: Document) -> None:
    """`CaseError` with all that stands in a case with plates and does not know them."""
    conductors = case.conductors
    if not conductors.flat.any():
        return
    parts = sorted(set(conductors.part[conductors.flat].tolist()))
    names = ", ".join(repr(conductors.part_names[part]) for part in parts)
    problems = list(_problems(case, names=names, document=document))
    if problems:
        raise CaseError(in_order(problems))


def _problems(case: Case, *, names: str, document: Document) -> Iterator[Problem]:
    for block, why in _blocks:
        if getattr(case, block):
            msg = f"{why}, and there are plates ({names}); leave the block or the plates out"
            yield document.problem(msg, path=(block,))
    if "along_metal" in document.content:
        msg = (
            "the voltage along metal is worked out for round metal, and there are plates "
            f"({names}); leave the block or the plates out"
        )
        yield document.problem(msg, path=("along_metal",))
    for number, feed in enumerate(case.feeds):
        if feed is not None:
            msg = (
                "the voltage along metal is worked out for round metal, and there are plates "
                f"({names}); leave fed_at out: all metal of an electrode is at one potential"
            )
            yield document.problem(msg, path=("electrodes", number, "fed_at"))
    if "prices" in document.content:
        msg = f"a bill has no plates, and there are some ({names}); leave the prices out"
        yield document.problem(msg, path=("prices",))
