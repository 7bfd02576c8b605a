"""What is done with one design at a time: priced, looked at, solved; in any process alike."""

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from hashlib import blake2b

from threadpoolctl import threadpool_limits

from ..cases.case import Case
from ..cases.design.space import Chosen, Partly
from ..cases.designs import bill_of, design_case, quantities_of
from ..cases.fitting import fit_soil
from ..solver.design import BillLine, Condition, Evaluation
from ..solver.errors import BudgetError, CaseError, MeshError, TrustError
from ..solver.model import metal_key
from ..solver.progress import Progress, parts, unwatched
from .kept_designs import Answer
from .run import Solutions
from .trying import Trials, judged

# Proofs begin their searches from a raster so much coarser than that of maps. The design that
# is shown in the end is run in full, and does not pass where that finds more.
_coarser = 4.0
_most_kept = 1000  # designs as cases


@dataclass(frozen=True)
class Outline:
    """What is known of a design before anything is solved.

    Attributes
    ----------
    conditions : tuple of str
        The case as it stands and its variants, by their names.
    metal : str
        The same for designs of the same metal in all conditions.
    cost : float
        Price, or the length of the metal; infinite where it cannot be built.
    bill : tuple of BillLine
    fault : str
        Why it cannot be built; empty where it can.
    """

    conditions: tuple[str, ...] = ("",)
    metal: str = ""
    cost: float = float("inf")
    bill: tuple[BillLine, ...] = ()
    fault: str = ""


class DesignWork:
    """Work on the designs of a case; what they share is made once.

    Parameters
    ----------
    case : Case
        Fitted, with its block `design`.
    accuracy : str or None
        Of the finite elements, in place of the case's own.
    """

    def __init__(self, case: Case, accuracy: str | None) -> None:
        self.case, self.accuracy = case, accuracy
        self._trials = Trials()
        self._designs: OrderedDict[Chosen, Case] = OrderedDict()
        self._soundings = [
            each.survey.found for each in (case, *case.variants) if each.survey is not None
        ]

    def design(self, chosen: Chosen) -> Case:
        """A design as a case, its survey fitted."""
        if chosen not in self._designs:
            found = fit_soil(design_case(self.case, chosen), kept=self._soundings)
            self._designs[chosen] = found
            if len(self._designs) > _most_kept:
                self._designs.popitem(last=False)
        return self._designs[chosen]

    def condition(self, chosen: Chosen, number: int) -> Case:
        """A design as it stands, number 0, or in one of its variants, alone."""
        design = self.design(chosen)
        return replace(design, variants=()) if number == 0 else design.variants[number - 1]

    def outline(self, chosen: Chosen) -> Outline:
        """Conditions, metal, bill and cost of a design."""
        try:
            return self.outline_of(self.design(chosen), chosen)
        except CaseError as error:
            return Outline(fault=str(error))

    def outline_of(self, design: Case, chosen: Partly) -> Outline:
        """The same of a design that was made already; `CaseError` if it has no price."""
        assert self.case.design is not None  # it has been sized
        bill = bill_of(self.case, design, chosen)
        cost = sum(line.price or 0.0 for line in bill)
        if self.case.design.prices is None:
            cost = quantities_of(design).metal
        every = (design, *design.variants)
        metal = repr([metal_key(each.conductors) for each in every]).encode()
        return Outline(
            conditions=tuple(each.variant for each in every),
            metal=blake2b(metal, digest_size=16).hexdigest(),
            cost=cost,
            bill=bill,
        )

    def look(self, chosen: Chosen, number: int) -> Answer:
        """What a design reaches by thin conductors in one condition."""
        try:
            with threadpool_limits(1):
                return self._trials.evaluation(self.condition(chosen, number)), ""
        except (BudgetError, TrustError):
            return None, ""  # finite elements may do what thin conductors cannot
        except CaseError as error:
            return None, str(error)

    def prove(
        self, some: Sequence[Chosen], number: int, *, progress: Progress = unwatched
    ) -> list[Answer]:
        """What designs of one metal reach by finite elements in one condition."""
        many = len(some) > 1
        solutions = Solutions(accuracy=self.accuracy, coarser=_coarser, for_many=many)
        found: list[Answer] = []
        for chosen, each in zip(some, parts(progress, [1.0] * len(some)), strict=True):
            case = self.condition(chosen, number)
            try:
                condition: Condition = judged(case, solutions.result(case, progress=each))
            except (BudgetError, MeshError, TrustError) as error:
                found.append((None, f"finite elements: {error}"))
            else:
                found.append((Evaluation("finite elements", (condition,)), ""))
        return found
