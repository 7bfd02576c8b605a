"""The designs of a case as cases of their own, and the check that each option makes one."""

from collections.abc import Sequence

from ..solver.design import BillLine
from ..solver.errors import BudgetError, CaseError, Problem
from .building import built
from .case import Case
from .design.space import Chosen, Partly
from .laying import design_document
from .pricing import priced
from .pricing import quantities_of as quantities_of
from .reading.problems import in_order
from .reading.yaml_edits import edited


def design_case(case: Case, chosen: Partly) -> Case:
    """One of the designs of a case with its variants, checked; nothing is solved.

    `CaseError` if its options do not go together, said where they were written;
    `BudgetError` if it is too large.
    """
    assert case.design is not None  # whoever chooses has choices
    document = design_document(case.document, space=case.design, chosen=chosen)
    if document.problems:
        raise CaseError(in_order(list(document.problems)))
    return built(document, source=case.source, folder=case.design.folder)


def design_text(case: Case, chosen: Chosen, *, heading: Sequence[str]) -> str:
    """Text of the case file of one of the designs, with the comments of the original.

    Parameters
    ----------
    heading : sequence of str
        Lines of comment to stand on top.

    Raises
    ------
    CaseError
        If the text of the case cannot be edited to say that.
    """
    assert case.design is not None  # whoever chooses has choices
    document = design_document(case.document, space=case.design, chosen=chosen)
    try:
        text = edited(case.source.text, before=case.document.content, after=document.content)
    except CaseError as error:
        raise CaseError([case.document.problem(str(error), path=("design",))]) from error
    return "".join(f"# {line}\n" for line in heading) + "\n" + text


def bill_of(case: Case, design: Case, chosen: Partly) -> tuple[BillLine, ...]:
    """Bill of one of the designs of a case; `CaseError` if a section has no price."""
    space = case.design
    assert space is not None  # whoever chooses has choices
    extras = space.extras(chosen)
    return priced(design, prices=space.prices, extras=extras, document=case.document)


def with_options_checked(case: Case) -> Case:
    """The case, each of its options found to make a case in a design that the rules allow.

    `CaseError` with all that is wrong with them, each said once.
    """
    if case.design is None:
        return case
    problems: list[Problem] = []
    kind: type[CaseError] = CaseError
    tried: set[Chosen] = set()
    for number, choice in enumerate(case.design.choices):
        for option in range(len(choice.options)):
            chosen = case.design.first_with(number, option)
            if chosen is None or chosen in tried:
                continue
            tried.add(chosen)
            try:
                bill_of(case, design_case(case, chosen), chosen)
            except CaseError as error:
                kind = BudgetError if isinstance(error, BudgetError) else kind
                problems += error.problems
    if problems:
        raise kind(_each_once(problems))
    return case


def _each_once(problems: list[Problem]) -> list[Problem]:
    """Problems in the order of the file, those of one line and place once.

    What is wrong with one option shows in every design that was tried with it.
    """
    first = {(one.line, one.path, one.message.split("': ")[-1]): one for one in problems[::-1]}
    return in_order(list(first.values()))
