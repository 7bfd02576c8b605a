"""The cheapest of what may be built with which a row passes, or the nearest to that."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from ..cases.case import Case
from ..solver.design import Condition, Evaluation, Targets
from ..solver.errors import BudgetError, CaseError, MeshError, TrustError
from ..solver.family import Record, Remedy, needs_elements, record_of
from .run import Solutions
from .trying import Trials, judged
from .ways import Way, ways_of

_far = float("inf")


def remedy_of(
    case: Case,
    *,
    targets: Targets,
    accuracy: str | None,
    band: float,
    first: str,
    proof: bool,
) -> Remedy:
    """What would make a case pass: its options or designs, judged the cheapest first.

    Parameters
    ----------
    case : Case
        Fitted, with all that may be built.
    targets : Targets
        What it is held against beside the limits of its exposures.
    accuracy : str or None
        Of the finite elements, in place of the case's own.
    band : float
        What takes so nearly 1 of what is allowed is solved by finite elements, and what thin
        conductors cannot tell from it or cannot do.
    first : str
        Condition to look at first: what misses there by more is given up.
    proof : bool
        Whether what passes by thin conductors is solved by finite elements all the same.

    Raises
    ------
    CaseError
        If more designs are possible than may be tried.
    """
    ways = ways_of(case)
    search = _Search(targets, accuracy, band, first, proof)
    for number, way in enumerate(ways):
        if search.passes(way):
            return search.remedy(way, of=ways[: number + 1], count=len(ways), passes=True)
    return search.remedy(search.nearest(ways), of=ways, count=len(ways), passes=False)


@dataclass
class _Search:
    """Ways of one row looked at, and what was found of each by its name."""

    targets: Targets
    accuracy: str | None
    band: float
    first: str
    proof: bool
    thin: dict[str, Record] = field(default_factory=dict)
    elements: dict[str, Record] = field(default_factory=dict)

    def __post_init__(self) -> None:
        # Both share what ways of the same metal, or in the same soil, have in common.
        self._trials = Trials()
        self._solutions = Solutions(accuracy=self.accuracy)
        self._seen: dict[str, list[Condition]] = {}

    def passes(self, way: Way) -> bool:
        """Whether it does, by the method that has to say so."""
        thin = self._look(way)
        if needs_elements(thin, band=self.band) or (self.proof and thin.standing == "passes"):
            self.elements[way.name] = self._solved(way)
        return self.best(way).standing == "passes"

    def best(self, way: Way) -> Record:
        """By finite elements where they could, else by thin conductors."""
        elements = self.elements.get(way.name)
        return elements if elements is not None and elements.solved else self.thin[way.name]

    def nearest(self, ways: Sequence[Way]) -> Way | None:
        """What takes least of those that do not pass; None where none could be solved."""
        found: Way | None = None
        for way in sorted(ways, key=self._taken):
            if found is not None and self._taken(way) >= self._taken(found):
                break  # in the conditions seen it takes more already
            self._look(way, whole=True)
            if self.best(way).solved and (
                found is None or self._taken(way) < self._taken(found)
            ):
                found = way
        return found

    def _taken(self, way: Way) -> float:
        """Share of what is allowed, at least; infinite where that is not what it fails by."""
        found = self.best(way)
        return found.share if found.standing in ("too close", "misses") else _far

    def remedy(self, way: Way | None, *, of: Sequence[Way], count: int, passes: bool) -> Remedy:
        """What is said of a way, found among those that were looked at."""
        unsettled = sum(not self.best(one).solved for one in of)
        if way is None:
            return Remedy(count=count, unsettled=unsettled)
        both = [
            abs(self.elements[one.name].share / self.thin[one.name].share - 1)
            for one in of
            if one.name in self.elements and self.elements[one.name].share > 0
            and self.thin[one.name].share > 0
        ]  # fmt: skip
        alone = [
            abs(self.thin[one.name].share - 1)
            for one in of
            if one.name not in self.elements
            and self.thin[one.name].standing in ("passes", "misses")
        ]
        return Remedy(
            name=way.name,
            passes=passes,
            count=count,
            price=way.price,
            extra=way.extra,
            thin=self.thin[way.name],
            elements=self.elements.get(way.name),
            unsettled=unsettled,
            margin=min(alone, default=_far),
            differ=max(both, default=0.0),
        )

    def _look(self, way: Way, *, whole: bool = False) -> Record:
        """What thin conductors find of it, unless asked in the conditions until it misses."""
        seen = self._seen.setdefault(way.name, [])
        known = self.thin.get(way.name)
        if way.fault:
            known = Record("thin conductors", "not solved", fault=way.fault)
        if known is not None and not (whole and known.solved):
            self.thin[way.name] = known
            return known
        have = {each.variant for each in seen}
        left = [each for each in way.conditions if each.variant not in have]
        left.sort(key=lambda each: each.variant != self.first)
        for number, each in enumerate(left, start=1):
            try:
                seen += self._trials.evaluation(each).conditions
            except (BudgetError, TrustError) as error:
                known = Record(
                    "thin conductors", "not solved", fault=str(error), other_method=True
                )
                break
            except CaseError as error:
                known = Record("thin conductors", "not solved", fault=str(error))
                break
            rest = tuple(one.variant for one in left[number:])
            evaluation = Evaluation("thin conductors", tuple(seen), rest)
            known = record_of(evaluation, targets=self.targets)
            if not whole and known.standing == "misses" and known.share > 1 + self.band:
                break
        assert known is not None  # there is a condition at least
        self.thin[way.name] = known
        return known

    def _solved(self, way: Way) -> Record:
        """What finite elements find of it in all of its conditions."""
        try:
            found = [judged(each, self._solutions.result(each)) for each in way.conditions]
        except (CaseError, MeshError, TrustError) as error:
            return Record("finite elements", "not solved", fault=str(error))
        return record_of(Evaluation("finite elements", tuple(found)), targets=self.targets)
