"""What is not solved in layers with a vertical resistivity of their own."""

from collections.abc import Sequence

from ..solver.anisotropy import problems_of_bodies, problems_of_pieces
from ..solver.errors import CaseError
from .case import Case
from .reading.documents import Document, Step
from .reading.problems import in_order


def refuse_without_twin(
    case: Case, *, part_paths: Sequence[tuple[Step, ...]], document: Document
) -> None:
    """`CaseError` with the first piece of each part, and all bodies, that have no twin."""
    if case.layers is None or case.layers.isotropic:
        return
    first: dict[int, str] = {}
    for piece, words in problems_of_pieces(case.conductors, soil=case.layers):
        first.setdefault(int(case.conductors.part[piece]), words)
    problems = [document.problem(words, path=part_paths[k]) for k, words in first.items()]
    problems += [
        document.problem(words, path=("soil", "bodies", k))
        for k, words in problems_of_bodies(case.layers)
    ]
    if problems:
        raise CaseError(in_order(problems))
