"""A search among the designs of a case: tried by thin conductors, proven by finite elements."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from threadpoolctl import threadpool_limits

from ..cases.case import Case
from ..cases.design.space import Chosen
from ..cases.designs import bill_of, design_case, quantities_of
from ..cases.fitting import fit_soil
from ..solver.design import (
    BillLine,
    Evaluation,
    Excluded,
    Sizing,
    Step,
    Tried,
    front,
    metal_within,
    neighbours,
    searched,
)
from ..solver.errors import BudgetError, CaseError, MeshError, TrustError
from ..solver.progress import Progress, headed, parts
from ..solver.threads import in_threads
from .kept_designs import Answer, KeptDesigns
from .run import run_variants
from .trying import Trials, evaluation_of

_batch, _at_once = 8, 2  # designs tried, and solved, at once, then kept
# Proofs begin their searches from a raster so much coarser than that of maps. The design that
# is shown in the end is run in full, and does not pass where that finds more.
_coarser = 4.0
_least_help, _most_onward = 0.01, 12  # of what is taken; dearer steps looked for


@dataclass
class DesignSearch:
    """A search under way."""

    case: Case
    kept: KeptDesigns
    accuracy: str | None
    progress: Progress

    def __post_init__(self) -> None:
        assert self.case.design is not None
        self.space = self.case.design
        self.targets = self.space.targets
        self.counts = [len(choice.options) for choice in self.space.choices]
        self.designs = list(self.space.designs())
        self.excluded: dict[Chosen, Excluded] = {}
        # What this search has asked for, in its order; more may have been kept by another.
        self.mine: dict[Chosen, None] = {}
        self._trials = Trials()
        self._costs: dict[Chosen, float] = {}
        self.bills: dict[Chosen, tuple[BillLine, ...]] = {}
        self._soundings = [
            each.survey.found
            for each in (self.case, *self.case.variants)
            if each.survey is not None
        ]

    def design(self, chosen: Chosen) -> Case:
        """A design as a case, its survey fitted."""
        return fit_soil(design_case(self.case, chosen), kept=self._soundings)

    # ------------------------------------------------------------------ trying

    def try_all(self) -> None:
        """Try every possible design, or search where there are too many."""
        if len(self.designs) <= self.space.most_tried:
            self.ask(self.designs, total=len(self.designs))
            return
        searched(
            self.designs, counts=self.counts, merit=self._merits, most=self.space.most_tried
        )

    def ask(self, batch: Sequence[Chosen], *, total: int) -> None:
        """Try some designs by thin conductors, unless that was done before."""
        self.mine |= dict.fromkeys(batch)
        fresh = [one for one in dict.fromkeys(batch) if one not in self.kept.thin]
        for first in range(0, len(fresh), _batch):
            some = fresh[first : first + _batch]
            done = len(self.kept.thin)
            self.progress(f"design {done + 1:,} of {total:,}{self._best()}", done / total)
            with threadpool_limits(1):
                answers = in_threads(self._thin, some)
            self.kept.thin.update(zip(some, answers, strict=True))
            self.kept.save()

    def _thin(self, chosen: Chosen) -> Answer:
        try:
            return self._trials.evaluation(self.design(chosen)), ""
        except (BudgetError, TrustError):
            return None, ""  # finite elements may do what thin conductors cannot
        except CaseError as error:
            return None, str(error)

    def _merits(self, batch: list[Chosen]) -> list[float]:
        """Cost of designs that may pass, beyond all costs what others take; ruled out first."""
        # Most metal first: what misses with it rules out what has less.
        order = batch if _cap(self.case) is None else sorted(batch, key=self._metal)
        for first in range(0, len(order), _batch):
            some = order[first : first + _batch]
            wanted = [one for one in some if not self._ruled_out(one)]
            self.ask(wanted, total=self.space.most_tried)
        tried = {one: self.tried(one) for one in batch if one not in self.excluded}

        def merit(one: Chosen) -> float:
            if one in self.excluded or tried[one].fault:
                return 1e6
            if tried[one].may_pass(self.targets):
                return tried[one].cost / (1.0 + tried[one].cost)  # below 1, by cost
            return 1.0 + min(tried[one].worst(self.targets), 1e5)

        return [merit(one) for one in batch]

    def _metal(self, chosen: Chosen) -> float:
        """Length of the metal of a design, below zero, to sort by. [m]"""
        try:
            return -quantities_of(design_case(self.case, chosen)).metal
        except CaseError:
            return 0.0

    def _ruled_out(self, chosen: Chosen) -> bool:
        """Whether metal of a design that misses holds all of its metal, see `solver.design`."""
        cap = _cap(self.case)
        if cap is None:
            return False
        known = ((other, self.kept.thin[other][0]) for other in self.mine)
        misses = [
            other for other, found in known if found is not None and _reaches_not(found, cap[0])
        ]
        if not misses:
            return False
        try:
            mine = self.design(chosen)
        except CaseError:
            return False
        for other in misses:
            if _part_of(mine, self.design(other)):
                self.excluded[chosen] = Excluded(chosen, other, cap[1])
                return True
        return False

    # ----------------------------------------------------------------- proving

    def tried(self, chosen: Chosen) -> Tried:
        """What is known of a design that was tried."""
        thin, fault = self.kept.thin[chosen]
        proof, proof_fault = self.kept.proofs.get(chosen, (None, ""))
        return Tried(chosen, self.cost(chosen), thin, proof, fault or proof_fault)

    def cost(self, chosen: Chosen) -> float:
        """Price of a design, or the length of its metal; infinite where it cannot be built."""
        if chosen not in self._costs:
            try:
                design = design_case(self.case, chosen)
                lines = self.bills[chosen] = bill_of(self.case, design, chosen)
                cost = sum(line.price or 0.0 for line in lines)
                if self.space.prices is None:
                    cost = quantities_of(design).metal
            except CaseError:
                cost = float("inf")
            self._costs[chosen] = cost
        return self._costs[chosen]

    def prove(self, some: Sequence[Chosen], *, left: int) -> None:
        """Solve designs by finite elements in all variants, two at once, and keep what came.

        `left` is how many more may have to be, for the progress.
        """
        fresh = [one for one in some if one not in self.kept.proofs]
        if not fresh:
            return
        done = len(self.kept.proofs)
        words = f"finite elements, design {done + 1}{self._best()}"
        within = headed(parts(self.progress, [max(done, 1), len(fresh), left])[1], words)
        with threadpool_limits(1):
            answers = in_threads(lambda one: self._solved(one, within), fresh)
        self.kept.proofs.update(zip(fresh, answers, strict=True))
        self.kept.save(now=True)

    def _solved(self, chosen: Chosen, progress: Progress) -> Answer:
        design = self.design(chosen)
        try:
            results = run_variants(
                design, accuracy=self.accuracy, coarser=_coarser, progress=progress
            )
        except (BudgetError, MeshError, TrustError) as error:
            return None, f"finite elements: {error}"
        return evaluation_of(design, results), ""

    def outcome(self) -> Sizing:
        """The cheapest that passes and the front, proven as far as they must be."""
        everything = [one for one in self.designs if one in self.mine]
        cheapest = self._cheapest(everything)
        self._prove_front(everything)
        nearest = None if cheapest is not None else self._nearest(everything)
        tried = tuple(map(self.tried, everything))
        prices = self.space.prices
        return Sizing(
            title=self.case.title,
            units=self.case.units,
            choices=tuple((choice.name, choice.options) for choice in self.space.choices),
            targets=self.targets,
            currency=None if prices is None else prices.currency,
            possible=len(self.designs),
            tried=tried,
            bills=self.bills,
            excluded=tuple(self.excluded[one] for one in sorted(self.excluded)),
            front=front(tried, targets=self.targets),
            cheapest=None if cheapest is None else self.tried(cheapest),
            nearest=nearest,
            unsettled=self._unsettled(tried, cheapest),
        )

    def _cheapest(self, everything: Sequence[Chosen]) -> Chosen | None:
        """The cheapest design that passes by finite elements; all cheaper ones do not."""
        by_cost = sorted(everything, key=lambda one: (self.cost(one), one))
        while True:
            able = [one for one in by_cost if self.tried(one).may_pass(self.targets)]
            if not able or self.tried(able[0]).proof is not None:
                return next(iter(able), None)
            unproven = [one for one in able if one not in self.kept.proofs]
            self.prove(unproven[:_at_once], left=len(unproven))

    def _nearest(self, everything: Sequence[Chosen]) -> Tried | None:
        """The design that takes least of what is allowed, solved by finite elements."""
        while True:
            able = [item for item in map(self.tried, everything) if not item.fault]
            least = min(
                able, key=lambda one: (one.worst(self.targets), one.chosen), default=None
            )
            if least is None or least.proof is not None:
                return least
            self.prove([least.chosen], left=1)

    def _prove_front(self, everything: Sequence[Chosen]) -> None:
        """Solve what is on the front, until all that is on it has been."""
        while True:
            found = front(map(self.tried, everything), targets=self.targets)
            unproven = [item.chosen for item in found if item.proof is None]
            if not unproven:
                return
            # What the first show may take others off the front.
            self.prove(unproven[:_at_once], left=len(unproven))

    def _unsettled(self, tried: Sequence[Tried], cheapest: Chosen | None) -> tuple[Tried, ...]:
        """Cheaper designs that could be built and not be solved."""
        most = float("inf") if cheapest is None else self.cost(cheapest)
        return tuple(
            item
            for item in tried
            if item.cost < most and item.proof is None and item.chosen in self.kept.proofs
        )

    # ------------------------------------------------------------------- steps

    def with_steps(self, sizing: Sizing) -> Sizing:
        """The outcome with what each single step buys, and where more no longer helps."""
        steps = self._steps(sizing.shown)
        onward: list[Step] = []
        here = sizing.shown
        while len(onward) < _most_onward:
            step = self._best_buy(here)
            if step is None:
                break
            onward.append(step)
            here = step.tried
        return replace(sizing, steps=steps, onward=tuple(onward), bills=self.bills)

    def _steps(self, start: Tried) -> tuple[Step, ...]:
        """Each single step from a design to one that thin conductors can tell of."""
        possible = set(self.designs)
        beside = neighbours(start.chosen, counts=self.counts)
        there = [one for one in beside if one in possible]
        self.ask(there, total=self.space.most_tried)
        found = []
        for one in there:
            tried = self.tried(one)
            if start.thin is None or tried.thin is None:
                continue
            number = next(k for k, option in enumerate(one) if option != start.chosen[k])
            choice = self.space.choices[number]
            before, after = (choice.options[each[number]] for each in (start.chosen, one))
            found.append(Step(choice.name, before, after, start, tried))
        return tuple(found)

    def _best_buy(self, start: Tried) -> Step | None:
        """The dearer step that lowers what is taken most for its cost; None if none helps."""

        def gain(step: Step) -> float:
            assert step.start.thin is not None
            assert step.tried.thin is not None
            before, after = (
                item.worst(self.targets) for item in (step.start.thin, step.tried.thin)
            )
            return 1.0 - after / before

        able = [
            step for step in self._steps(start) if step.cost > 0 and gain(step) > _least_help
        ]
        return max(
            able, key=lambda step: (gain(step) / step.cost, step.tried.chosen), default=None
        )

    def _best(self) -> str:
        """Cost of the cheapest design that may pass so far, in words."""
        able = [
            self.cost(one)
            for one, (found, fault) in self.kept.thin.items()
            if self.tried(one).may_pass(self.targets) and not fault and found is not None
        ]
        if not able:
            return ""
        unit = "m of metal" if self.space.prices is None else self.space.prices.currency
        return f", best so far {min(able):,.0f} {unit}"


def _cap(case: Case) -> tuple[float, str] | None:
    """Resistance that no design may exceed, and by which target; None where no bound holds.

    A rise follows from the resistance where one electrode is driven by a given current.
    """
    assert case.design is not None
    targets = case.design.targets
    caps = []
    if targets.resistance is not None:
        caps.append((targets.resistance, "resistance"))
    alone = case.circuit is None and len(case.drives) == 1 and case.drives[0].kind == "current"
    if targets.rise is not None and alone:
        currents = [abs(each.drives[0].value) for each in (case, *case.variants)]
        caps.append((targets.rise / min(currents), "rise"))
    return min(caps, default=None)


def _reaches_not(found: Evaluation, cap: float) -> bool:
    """Whether a resistance is above a cap by more than its estimated error."""
    return any(each.resistance * (1 - each.resistance_error) > cap for each in found.conditions)


def _part_of(one: Case, other: Case) -> bool:
    """Whether a design has no metal that another lacks, in the same soils and bonds."""
    pairs = list(zip((one, *one.variants), (other, *other.variants), strict=True))
    return all(
        mine.soil == theirs.soil
        and mine.drives == theirs.drives
        and mine.contact_resistance == theirs.contact_resistance
        and {b.groups for b in mine.bonds if b.closed}
        == {b.groups for b in theirs.bonds if b.closed}
        and metal_within(mine.conductors, theirs.conductors)
        for mine, theirs in pairs
    )
