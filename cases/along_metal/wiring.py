"""From the along_metal block to the wiring that the solver takes."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import TypeVar

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from ...solver.circuit import REMOTE_EARTH, Circuit
from ...solver.drives import Drive
from ...solver.errors import CaseError, Problem
from ...solver.heating import Material, material
from ...solver.metal import Bar, Feed, FeedPlace
from ...solver.metal import wiring as solver
from ...solver.model import Conductors
from ..case import Bond, PartSummary
from ..electrodes.feeding import feed_on
from ..reading.documents import Document, Step
from ..reading.problems import in_order
from .bars import bar_of
from .places import OnMetal
from .raised import raised_leads
from .schema import AlongMetal, Lead

_Path = tuple[Step, ...]
_At = str | tuple[float, ...]
_Found = TypeVar("_Found")
_block = "along_metal"
_steel = {"low": 0, "usual": 1, "high": 2}


@dataclass(frozen=True)
class Metalwork:
    """What of a case its wiring is made from."""

    conductors: Conductors
    parts: Sequence[PartSummary]
    own_materials: Sequence[Material]
    feeds: Sequence[FeedPlace | None]  # of each electrode
    drives: Sequence[Drive]
    bonds: Sequence[Bond]
    circuit: Circuit | None
    frequency: float | None  # None where nobody says [Hz]
    contact: tuple[float, ...] = ()  # of each electrode, in series with its metal [Ω]


def wiring_of(
    given: AlongMetal,
    *,
    metalwork: Metalwork,
    part_paths: Sequence[_Path],
    document: Document,
) -> tuple[solver.Wiring, tuple[solver.Port, ...]]:
    """Wiring of a case, and all its places by name, ports or not.

    Raises
    ------
    CaseError
        With all that is missing or contradicts: materials, places, feeds, the frequency,
        leads without impedance that close a loop.
    """
    reader = _Reader(given, metalwork, tuple(part_paths), document)
    bars = reader.bars()
    breaks = list(reader.breaks())
    ends = reader.ends({item.feed for item in breaks})
    leads = [*reader.leads(ends), *reader.bonds(ends), *reader.raised()]
    ports = list(reader.ports(ends))
    reader.refuse_dangling(ports, leads)
    if metalwork.circuit is not None and metalwork.circuit.split_factor is not None:
        msg = (
            "a split factor stands for metal that is not in the case, and leads are in it; "
            "write 'leads_divide: true' in its place, and name what else there is as paths"
        )
        reader.problems.append(document.problem(msg, path=("circuit", "split_factor")))
    frequency = metalwork.frequency
    if frequency is None:
        msg = "the voltage along metal needs the frequency: give system.frequency (0 Hz for "
        reader.say(msg + "direct current), or a circuit")
    reader.refuse_loops(leads)
    if reader.problems:
        raise CaseError(in_order(reader.problems))
    try:
        wiring = solver.Wiring(
            bars=tuple(bars),
            frequency=frequency or 0.0,
            ports=tuple(ports),
            leads=tuple(leads),
            breaks=tuple(breaks),
            contact=metalwork.contact if any(metalwork.contact) else (),
        )
    except CaseError as error:
        raise CaseError([document.problem(str(error), path=(_block,))]) from error
    met = {end for lead in leads for end in lead.ends}
    places = (
        solver.Port(name, end)
        for name, end in ends.items()
        if name != REMOTE_EARTH and (isinstance(end, Feed) or end in met)
    )
    return wiring, tuple(places)


@dataclass
class _Reader:
    """The block being read, with what was found wrong in it."""

    given: AlongMetal
    metalwork: Metalwork
    part_paths: tuple[_Path, ...]
    document: Document
    problems: list[Problem] = field(default_factory=list)

    def say(self, message: str, *path: Step) -> None:
        """Note something that is wrong in the block."""
        self.problems.append(self.document.problem(message, path=(_block, *path)))

    def tried(self, make: Callable[[], _Found], *path: Step) -> _Found | None:
        """What a function gives; None where something is wrong, which is noted."""
        try:
            return make()
        except CaseError as error:
            self.say(str(error), *path)
            return None

    def bars(self) -> list[Bar]:
        """What each part is made of."""
        found = []
        for part, path in zip(self.metalwork.parts, self.part_paths, strict=True):
            metal = self._material(part.material)
            if metal is None:
                msg = (
                    "has no material, and the voltage along it is worked out (along_metal); "
                    "give it a 'material'"
                )
                self.problems.append(self.document.problem(msg, path=path))
                continue
            found.append(bar_of(part, metal, permeability=self._permeability(metal)))
        return found

    def _material(self, name: str) -> Material | None:
        own = {item.name: item for item in self.metalwork.own_materials}
        return own.get(name) or material(name)

    def _permeability(self, metal: Material) -> float:
        return metal.permeability[_steel[self.given.steel]]

    def ends(self, broken: set[Feed]) -> dict[str, solver.End]:
        """Where electrodes are fed and places are, by name; on metal that `broken` leaves."""
        work, names = self.metalwork, self.metalwork.conductors.group_names
        metal = OnMetal(work.conductors)
        found: dict[str, solver.End] = {REMOTE_EARTH: solver.REMOTE_EARTH}
        for group, place in enumerate(work.feeds):
            if place is not None:
                path = ("electrodes", group, "fed_at")
                try:
                    found[names[group]] = metal.feed(place, broken)
                except CaseError as error:
                    self.problems.append(self.document.problem(str(error), path=path))
        for number, item in enumerate(self.given.places):
            at_place: tuple[Step, ...] = ("places", number)
            if item.name in names:
                self.say(f"{item.name!r} is an electrode; take another name", *at_place, "name")
            elif item.electrode is None or item.at is None:
                found[item.name] = solver.Terminal(item.name)
            else:
                group, at = names.index(item.electrode), item.at
                on = partial(_on_metal, metal, at, group=group, broken=broken)
                made = self.tried(on, *at_place, "at")
                if made is not None:
                    found[item.name] = made
        return found

    def _end(self, name: str, ends: dict[str, solver.End], *path: Step) -> solver.End | None:
        """A node by its name; None where it has no place, which is noted."""
        if name not in ends and name in self.metalwork.conductors.group_names:
            msg = (
                f"{name!r} is met here and nothing says where on its metal; give the electrode "
                "'fed_at', or name a place on it in along_metal.places"
            )
            self.problems.append(self.document.problem(msg, path=path))
        return ends.get(name)

    def leads(self, ends: dict[str, solver.End]) -> Iterator[solver.Lead]:
        """Leads that are connected."""
        for number, item in enumerate(self.given.leads):
            path = (_block, "leads", number)
            both = [self._end(name, ends, *path, "between") for name in item.between]
            if None in both or not item.connected:
                continue
            made = self.tried(lambda item=item, both=both: self._lead(item, both), *path[1:])  # type: ignore[misc]
            if made is not None:
                yield made

    def _lead(self, item: Lead, both: list[solver.End]) -> solver.Lead:
        ends = (both[0], both[1])
        if item.impedance is not None:
            return solver.Lead(item.name, ends, impedance=item.impedance.phasor)
        made = item.made_of
        assert made is not None  # it has one or the other
        metal = self._material(made.material)
        if metal is None:
            msg = f"material {made.material!r} is not known"
            raise CaseError(msg)
        return solver.Lead(
            item.name,
            ends,
            bar=Bar(
                metal,
                permeability=self._permeability(metal),
                temperature=20.0 if made.temperature is None else made.temperature,
                area=None if made.stranded is None else made.stranded.cross_section,
                strip=made.strip,
            ),
            radius=made.radius or 0.0,
            route=made.route or (),
        )

    def raised(self) -> Iterator[solver.Lead]:
        """What parts bring along: rails of fences, bonds of rails."""
        for number, part in enumerate(self.metalwork.parts):
            if part.raised is None:
                continue
            metal, bar = self._material(part.raised.material), None
            if part.raised.radius > 0:
                if metal is None:
                    continue  # its posts have none either, which is noted
                bar = Bar(
                    metal,
                    permeability=self._permeability(metal),
                    temperature=part.temperature,
                    area=part.raised.stranded,
                    strip=part.raised.strip,
                )
            yield from raised_leads(number, part, conductors=self.metalwork.conductors, bar=bar)

    def bonds(self, ends: dict[str, solver.End]) -> Iterator[solver.Lead]:
        """Closed bonds: leads without impedance from feed to feed."""
        names = self.metalwork.conductors.group_names
        for number, bond in enumerate(self.metalwork.bonds):
            if bond.closed:
                path = ("bonds", number, "between")
                both = [self._end(names[group], ends, *path) for group in bond.groups]
                if both[0] is not None and both[1] is not None:
                    yield solver.Lead(bond.name, (both[0], both[1]), impedance=0j)

    def breaks(self) -> Iterator[solver.Break]:
        """Joints that are not sound."""
        metal = OnMetal(self.metalwork.conductors)
        for number, item in enumerate(self.given.joints):
            feed = self.tried(partial(metal.joint, item), "joints", number)
            if feed is not None and not (item.connected and item.resistance == 0):
                impedance = complex(item.resistance) if item.connected else None
                yield solver.Break(item.name, feed, impedance)

    def ports(self, ends: dict[str, solver.End]) -> Iterator[solver.Port]:
        """Where current can enter or leave: driven electrodes, and nodes of the circuit."""
        work, names = self.metalwork, self.metalwork.conductors.group_names
        wanted: dict[str, _Path] = {
            name: ("electrodes", group)
            for group, name in enumerate(names)
            if work.drives[group].kind in ("voltage", "current")
        }
        if work.circuit is not None:
            for name in work.circuit.ends:
                if name != REMOTE_EARTH and (name in ends or name in names):
                    group = names.index(name) if name in names else None
                    wanted[name] = ("circuit",) if group is None else ("electrodes", group)
        for name, path in wanted.items():
            end = self._end(name, ends, *path)
            if end is not None:
                yield solver.Port(name, end)

    def refuse_dangling(
        self, ports: Iterable[solver.Port], leads: Iterable[solver.Lead]
    ) -> None:
        """Note ports on no metal to which no connected lead leads."""
        met = {end for lead in leads for end in lead.ends}
        for port in ports:
            if isinstance(port.at, solver.Terminal) and port.at not in met:
                self.say(
                    f"the circuit ends at {port.name!r}, which is on no metal and to which no "
                    "connected lead leads; connect one, or give the place an electrode"
                )

    def refuse_loops(self, leads: Iterable[solver.Lead]) -> None:
        """Note leads without impedance that close a loop: how current divides is open."""
        bare = [lead for lead in leads if lead.impedance == 0]
        if not bare:
            return
        every = dict.fromkeys(end for lead in bare for end in lead.ends)
        nodes = {end: k for k, end in enumerate(every)}
        pairs = np.array([[nodes[end] for end in lead.ends] for lead in bare])
        graph = coo_array((np.ones(len(pairs)), pairs.T), shape=(len(nodes),) * 2)
        count, _ = connected_components(graph, directed=False)
        if len(bare) > len(nodes) - count:
            listed = ", ".join(repr(lead.name) for lead in bare)
            self.say(
                f"bonds and leads without impedance close a loop ({listed}): nothing says how "
                "current divides in it; give one of them an impedance, or open it"
            )


def _on_metal(metal: OnMetal, at: _At, *, group: int, broken: set[Feed]) -> Feed:
    return metal.feed(feed_on(at, group, metal.conductors), broken)
