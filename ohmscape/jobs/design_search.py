"""A search among the designs of a case: tried by thin conductors, proven by finite elements."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from ..cases.case import Case
from ..cases.design.space import Chosen
from ..cases.designs import design_case, quantities_of
from ..solver.design import (
    BillLine,
    Evaluation,
    Excluded,
    Sizing,
    Tried,
    front,
    searched,
    side_by_side,
    undecided,
)
from ..solver.errors import CaseError, OhmscapeError
from ..solver.memory import usable_memory
from ..solver.progress import Progress
from .crew import Crew
from .design_work import Outline
from .expected_time import expected_run
from .kept_designs import Answer, KeptDesigns
from .ruling_out import cap_of, part_of, reaches_not
from .trying import trying_time

_batch = 8  # designs tried at once, then kept
_metals_at_once = 2  # solved, then kept
_worth_helpers = 8.0  # of work [s]


@dataclass
class DesignSearch:
    """A search under way."""

    case: Case
    kept: KeptDesigns
    crew: Crew
    progress: Progress

    def __post_init__(self) -> None:
        assert self.case.design is not None
        self.space = self.case.design
        self.targets = self.space.targets
        self.counts = [len(choice.options) for choice in self.space.choices]
        self.designs = list(self.space.designs())
        self.excluded: dict[Chosen, Excluded] = {}
        # What this search has asked for; more may have been kept by one before it, and is only
        # taken when this one asks, so that both come to the same.
        self._thin: dict[Chosen, Answer] = {}
        self._proofs: dict[Chosen, Answer] = {}
        self._outlines: dict[Chosen, Outline] = {}
        self._deciding: Counter[str] = Counter()
        self._proofs_at_once = 0  # not known yet

    # ------------------------------------------------------------------ trying

    def try_all(self) -> None:
        """Try every possible design, or search where there are too many."""
        most = self.space.most_tried
        if trying_time(self.case, designs=min(len(self.designs), most)) > _worth_helpers:
            self.crew.call_helpers()
        if len(self.designs) > most:
            searched(self.designs, counts=self.counts, merit=self._merits, most=most)
            return
        if len(self.designs) <= side_by_side:
            self.ask(self.designs, total=len(self.designs))
            return
        self._outline(self.designs)
        unseen = [one for one in self.designs if one not in self._thin]
        unseen.sort(key=lambda one: (self.cost(one), one))
        self.decide(unseen)

    def decide(self, unseen: Sequence[Chosen] = ()) -> None:
        """Look at designs until front and cheapest would stay, whatever else was looked at.

        The cheapest ones first: what they reach decides how far dearer ones are looked at.
        """
        while (some := self._undecided()[:_batch]) or unseen:
            room = _batch - len(some)
            some, unseen = [*some, *unseen[:room]], unseen[room:]
            self._look([(one, self._next_of(one)) for one in some], total=len(self.designs))

    def ask(self, batch: Sequence[Chosen], *, total: int) -> None:
        """Try some designs by thin conductors in all conditions, unless that was done."""
        self._outline(batch)
        for first in range(0, len(batch), _batch):
            some = batch[first : first + _batch]
            self._look(
                [(one, name) for one in some for name in self._left_of(one)], total=total
            )

    def _outline(self, some: Sequence[Chosen]) -> None:
        """Lay designs out, those that cannot be built with the reason why."""
        fresh = [one for one in dict.fromkeys(some) if one not in self._outlines]
        found = self.crew.answers("outline", [(one,) for one in fresh], of=fresh)
        for one, outline in zip(fresh, found, strict=True):
            self._outlines[one] = outline
            if outline.fault:
                self._thin[one] = (None, outline.fault)

    def _undecided(self) -> list[Chosen]:
        """Designs of which more has to be known, the cheapest first."""
        tried = map(self.tried, self._thin)
        return [item.chosen for item in undecided(tried, targets=self.targets)]

    def _left_of(self, one: Chosen) -> tuple[str, ...]:
        """Conditions that a design has not been looked at in; none of one with a fault."""
        if one not in self._thin:
            return self._outlines[one].conditions
        found = self._thin[one][0]
        return () if found is None else found.left

    def _next_of(self, one: Chosen) -> str:
        """The condition to look at a design in next: the one that has decided most often."""
        return max(self._left_of(one), key=lambda name: self._deciding[name])

    def _look(self, some: Sequence[tuple[Chosen, str]], *, total: int) -> None:
        """Look at designs in one more condition each, unless that was done before."""
        kept = self.kept.thin
        fresh = [pair for pair in some if not _is_known(kept.get(pair[0]), pair[1])]
        done = min(len(self._thin), total - 1)
        self.progress(f"design {done + 1:,} of {total:,}{self._best()}", done / total)
        answers = self.crew.answers(
            "look",
            [(one, self._number(one, name)) for one, name in fresh],
            of=[self._outlines[one].metal for one, _ in fresh],
        )
        for (one, _), answer in zip(fresh, answers, strict=True):
            self.kept.add(kept, one, answer, of=self._outlines[one].conditions)
        for one, name in some:
            self._thin[one] = self._taken(self._thin.get(one), kept[one], one, name)
            found = self._thin[one][0]
            need = None if found is None or found.left else found.deciding(self.targets)
            if need is not None:
                self._deciding[need.condition.variant] += 1
        self.kept.save()

    def _number(self, one: Chosen, name: str) -> int:
        return self._outlines[one].conditions.index(name)

    def _taken(self, mine: Answer | None, kept: Answer, one: Chosen, name: str) -> Answer:
        """What this search knows of a design with one condition more of what is kept."""
        found, fault = kept
        if found is None or (mine is not None and mine[0] is None):
            return None, fault
        every = self._outlines[one].conditions
        before = () if mine is None or mine[0] is None else mine[0].conditions
        return found.among((*(each.variant for each in before), name), of=every), fault

    def _merits(self, batch: list[Chosen]) -> list[float]:
        """Cost of designs that may pass, beyond all costs what others take; ruled out first."""
        # Most metal first: what misses with it rules out what has less.
        order = batch if cap_of(self.case) is None else sorted(batch, key=self._metal)
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
        cap = cap_of(self.case)
        if cap is None:
            return False
        misses = [
            other
            for other, (found, _) in self._thin.items()
            if found is not None and reaches_not(found, cap[0])
        ]
        if not misses:
            return False
        try:
            mine = self.crew.work.design(chosen)
        except CaseError:
            return False
        for other in misses:
            if part_of(mine, self.crew.work.design(other)):
                self.excluded[chosen] = Excluded(chosen, other, cap[1])
                return True
        return False

    # ----------------------------------------------------------------- proving

    def tried(self, chosen: Chosen) -> Tried:
        """What is known of a design that was tried."""
        thin, fault = self._thin[chosen]
        proof, proof_fault = self._proofs.get(chosen, (None, ""))
        return Tried(chosen, self.cost(chosen), thin, proof, fault or proof_fault)

    def cost(self, chosen: Chosen) -> float:
        """Price of a design, or the length of its metal; infinite where it cannot be built."""
        return self._outlines[chosen].cost

    def prove(self, wanted: Sequence[Chosen]) -> None:
        """Solve some of these designs by finite elements in all conditions, and keep them.

        Those of the metals of the first ones: designs of one metal share its solutions.
        """
        every = self._outlines
        metals = list(dict.fromkeys(every[one].metal for one in wanted))[:_metals_at_once]
        taken = [one for one in wanted if every[one].metal in metals]
        jobs = []
        for metal in metals:
            some = [one for one in taken if every[one].metal == metal]
            for number, name in enumerate(every[some[0]].conditions):
                known = self.kept.proofs
                fresh = tuple(one for one in some if not _is_known(known.get(one), name))
                jobs += [(fresh, number)] if fresh else []

        def came(job: int, answers: list[Answer]) -> None:
            for one, answer in zip(jobs[job][0], answers, strict=True):
                self.kept.add(self.kept.proofs, one, answer, of=every[one].conditions)
            self.kept.save(now=True)

        if jobs and not self._proofs_at_once:
            self._proofs_at_once = 1
            self._expect_proofs(wanted)
        words = f"finite elements, design {len(self._proofs) + 1}{self._best()}"
        share = len(self._proofs) / (len(self._proofs) + len(wanted))
        self.crew.answers(
            "prove",
            jobs,
            of=jobs,
            at_once=self._proofs_at_once,
            progress=lambda step, done: self.progress(
                f"{words}: {step}" if step else words,
                share + done * (1 - share) * len(taken) / len(wanted),
            ),
            came=came,
        )
        self._proofs |= {one: self.kept.proofs[one] for one in taken}

    def _expect_proofs(self, wanted: Sequence[Chosen]) -> None:
        """Find for how many solutions there is memory; call helpers where they take long."""
        work = self.crew.work
        largest = max(wanted, key=lambda one: len(work.design(one).conductors.radius))
        try:
            run = expected_run(work.design(largest), accuracy=work.accuracy).plain
        except OhmscapeError:
            return  # the proof says what is wrong
        if run.seconds * len(wanted) > _worth_helpers:
            self.crew.call_helpers()
        self._proofs_at_once = max(1, int(usable_memory() / run.memory))

    def outcome(self) -> Sizing:
        """The cheapest that passes and the front, proven as far as they must be."""
        while wanted := self._to_prove():
            self.prove(wanted)
        tried = self._every_tried()
        able = self._may_pass(tried)
        cheapest = able[0] if able else None
        prices = self.space.prices
        return Sizing(
            title=self.case.title,
            units=self.case.units,
            choices=tuple((choice.name, choice.options) for choice in self.space.choices),
            targets=self.targets,
            currency=None if prices is None else prices.currency,
            possible=len(self.designs),
            tried=tried,
            bills=self.bills(),
            excluded=tuple(self.excluded[one] for one in sorted(self.excluded)),
            front=front(tried, targets=self.targets),
            cheapest=cheapest,
            nearest=None if cheapest is not None else self._nearest(tried),
            unsettled=self._unsettled(tried, cheapest),
        )

    def _to_prove(self) -> list[Chosen]:
        """Designs to be solved by finite elements, the first ones first; none in the end.

        The cheapest that may pass, what is on the front, and where none may pass the nearest.
        What the first show may take others off the front, or ask for more of the rest.
        """
        self.decide()
        tried = self._every_tried()
        able = self._may_pass(tried)
        nearest = None if able else self._nearest(tried)
        wanted = [*able[:1], *front(tried, targets=self.targets)]
        wanted += [] if nearest is None else [nearest]
        return list(dict.fromkeys(item.chosen for item in wanted if item.proof is None))

    def shown_in_full(self, chosen: Chosen, evaluation: Evaluation) -> None:
        """Take what the run in full of the design that is shown has found, a finer proof."""
        self._proofs[chosen] = self.kept.proofs[chosen] = (evaluation, "")

    def _every_tried(self) -> tuple[Tried, ...]:
        """All designs tried, in the order of choices and options."""
        return tuple(self.tried(one) for one in self.designs if one in self._thin)

    def _may_pass(self, tried: Sequence[Tried]) -> list[Tried]:
        """Designs that may pass, or do, the cheapest first."""
        able = (item for item in tried if item.may_pass(self.targets))
        return sorted(able, key=lambda item: (item.cost, item.chosen))

    def _nearest(self, tried: Sequence[Tried]) -> Tried | None:
        """The design that takes least of what is allowed."""
        able = [item for item in tried if not item.fault]
        return min(able, key=lambda one: (one.worst(self.targets), one.chosen), default=None)

    def _unsettled(self, tried: Sequence[Tried], cheapest: Tried | None) -> tuple[Tried, ...]:
        """Cheaper designs that could be built and not be solved."""
        most = float("inf") if cheapest is None else cheapest.cost
        return tuple(
            item
            for item in tried
            if item.cost < most and item.proof is None and item.chosen in self._proofs
        )

    def bills(self) -> dict[Chosen, tuple[BillLine, ...]]:
        """Of all designs laid out that can be built."""
        return {one: each.bill for one, each in self._outlines.items() if not each.fault}

    def _best(self) -> str:
        """Cost of the cheapest design that may pass so far, in words."""
        able = [
            self.cost(one)
            for one, (found, _) in self._thin.items()
            if found is not None and not found.left and self.tried(one).may_pass(self.targets)
        ]
        if not able:
            return ""
        unit = "m of metal" if self.space.prices is None else self.space.prices.currency
        return f", best so far {min(able):,.0f} {unit}"


def _is_known(answer: Answer | None, condition: str) -> bool:
    """Whether an answer says what is reached in a condition, or that nothing can."""
    if answer is None:
        return False
    return answer[0] is None or condition not in answer[0].left
