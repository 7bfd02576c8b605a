"""From the heating block of a case to what the solver holds against its temperature."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from ...solver.circuit import SUPPLY
from ...solver.errors import CaseError, Problem
from ...solver.heating import (
    EQUATIONS,
    Conductor,
    HeatingPlan,
    JointLimit,
    Material,
    SoilHeat,
    joint_limit,
    material,
    own_limit,
)
from ..case import PartSummary
from ..reading.documents import Document, Step
from ..reading.messages import not_among
from ..reading.problems import in_order
from .schema import HeatedPart, Heating, Joined, Lead

_Path = tuple[Step, ...]
_Found = TypeVar("_Found")


def heating_plan(
    given: Heating,
    *,
    parts: Sequence[PartSummary],
    part_paths: Sequence[_Path],
    measurable: Sequence[str],
    lasts: bool,
    document: Document,
) -> HeatingPlan:
    """What is held against its temperature.

    Parameters
    ----------
    parts, part_paths
        All parts of the case and where they stand in it.
    measurable : sequence of str
        Currents that a lead may carry, as the circuit spells them.
    lasts : bool
        Whether another block says how long the fault lasts.

    Raises
    ------
    CaseError
        If nothing is asked for, or something of it cannot be judged; all such problems at once.
    """
    reader = _Reader(given, document, [])
    conductors = [
        *reader.leads(measurable),
        *reader.parts(list(zip(parts, part_paths, strict=True))),
    ]
    if not lasts and given.duration is None:
        reader.say(
            "needs the duration of the fault: give 'duration', a 'safety' block that has one, "
            "or 'protection'",
        )
    if not conductors and not reader.problems:
        reader.say("judges nothing: give it 'leads', or parts of electrodes a 'material'")
    if reader.problems:
        raise CaseError(in_order(reader.problems))
    soil = given.soil
    return HeatingPlan(
        given.equation,
        given.ambient,
        given.duration,
        tuple(conductors),
        None if soil is None else SoilHeat(soil.thermal_conductivity, soil.highest_temperature),
    )


@dataclass
class _Reader:
    """The block being read, with what is wrong with it so far."""

    given: Heating
    document: Document
    problems: list[Problem]

    def say(self, message: str, *path: Step) -> None:
        problem = self.document.problem(message, path=("heating", *path))
        if problem not in self.problems:  # what holds for the whole block is said once
            self.problems.append(problem)

    def leads(self, measurable: Sequence[str]) -> Iterator[Conductor]:
        for number, lead in enumerate(self.given.leads):
            path: _Path = ("leads", number)
            self._check_current(lead, measurable, path)
            metal = self._metal(lead.material)
            assert metal is not None  # names are checked before
            self._check_equation(metal, ("heating", *path, "material"))
            limit = self._limit(lead, metal, path)
            if limit is None or lead.section is None:
                continue
            yield Conductor(
                name=lead.name,
                use="lead",
                material=metal,
                section=lead.section,
                corrosion=self._corrosion(lead),
                limit=limit,
                current=lead.current,
                carries="" if lead.current is not None else lead.carries or SUPPLY,
                share=lead.share,
            )

    def parts(self, every: Sequence[tuple[PartSummary, _Path]]) -> Iterator[Conductor]:
        named: dict[str, tuple[int, HeatedPart | None]] = {}
        for number, item in enumerate(self.given.parts):
            named.setdefault(item.name, (number, item))
            if any(part.name == item.name and not part.material for part, _ in every):
                self.say(
                    f"part {item.name!r} has no material, so that its heat is unknown; give it "
                    "one under 'electrodes'",
                    "parts",
                    number,
                )
            if named[item.name][0] != number:
                self.say(f"part {item.name!r} is given twice; join both", "parts", number)
        for index, (part, where) in enumerate(every):
            metal = self._metal(part.material)
            if metal is None:
                continue
            row, more = named.get(part.name, (-1, None))
            self._check_equation(metal, (*where, "material"))
            path: _Path = () if more is None else ("parts", row)
            limit = self._limit(more or self.given, metal, path)
            if limit is not None:
                yield self._part(part, index, more, metal, limit)

    def _part(
        self,
        part: PartSummary,
        index: int,
        item: HeatedPart | None,
        metal: Material,
        limit: JointLimit,
    ) -> Conductor:
        return Conductor(
            name=part.name,
            use="rod" if part.rods else "wire",
            material=metal,
            section=part.section,
            corrosion=self._corrosion(item or self.given),
            limit=limit,
            current=None if item is None else item.current,
            share=None if item is None else item.share,
            part=index,
        )

    def _metal(self, name: str) -> Material | None:
        """The material of a name, of the case or of the table."""
        own = {item.name: item.material for item in self.given.materials}
        return own.get(name) or material(name)

    def _corrosion(self, item: Joined) -> float:
        return next(c for c in (item.corrosion, self.given.corrosion, 0.0) if c is not None)

    def _check_current(self, lead: Lead, measurable: Sequence[str], path: _Path) -> None:
        """Say what is wrong with the current that a lead carries."""
        if lead.current is not None:
            if lead.current <= 0:
                self.say("must be above 0 A: the size of the current", *path, "current")
            return
        name = lead.carries or SUPPLY
        if name in measurable:
            return
        if lead.carries is None:
            self.say(
                "says no current, and the case has no circuit whose supply it could carry: "
                "give 'current', or 'carries' with one of " + ", ".join(map(repr, measurable)),
                *path,
            )
        else:
            self.say(not_among(name, measurable, what="current"), *path, "carries")

    def _check_equation(self, metal: Material, path: _Path) -> None:
        """Say so where the equation has no constants for a material."""
        try:
            EQUATIONS[self.given.equation](metal)
        except CaseError as error:
            self.problems.append(self.document.problem(str(error), path=path))

    def _limit(self, item: Joined, metal: Material, path: _Path) -> JointLimit | None:
        """Limit of an entry or else of the block; None where something is wrong with it."""
        own = item if item.joint is not None or item.limit is not None else self.given
        at: _Path = path if own is item else ()
        if own.limit is not None:
            number = own.limit
            return self._or_say(
                lambda: own_limit(number, material=metal, ambient=self.given.ambient),
                *at,
                "limit",
            )
        assert own.joint is not None  # the schema wants one of the two of the block
        if self.given.equation == "en_50522":
            self.say(
                "EN 50522 has no limit by the kind of joint: give 'limit', for bare copper "
                "with joints that stand it 300 degC, less where something tinned, a sheath or "
                "a bolted joint is near (its annex D, from memory)",
                *at,
                "joint",
            )
            return None
        limit = joint_limit(own.joint, material=metal)
        if limit.temperature > self.given.ambient:
            return limit
        self.say(
            f"limit of {limit.temperature:g} °C ({limit.words} of {metal.name}) is not above "
            f"the ambient {self.given.ambient:g} °C; give a lower ambient, or 'limit'",
            *at,
            "joint",
        )
        return None

    def _or_say(self, found: Callable[[], _Found], *path: Step) -> _Found | None:
        try:
            return found()
        except CaseError as error:
            self.say(str(error), *path)
            return None
