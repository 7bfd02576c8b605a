"""Names in a case file: each once, and each one referred to exists.

This looks at the document itself, not at the validated models, so that a wrong name is
reported beside a wrong unit and not one run later.
"""

from collections import Counter
from collections.abc import Iterator
from typing import Any

from ..solver.errors import CaseError, Problem
from .circuit.names import problems_of_circuit, switch_names
from .earth_tests.plans import names_in_earth_tests
from .field_readings.names import names_in_measured
from .reading.documents import Document
from .reading.messages import not_among
from .reading.quantities import CURRENT, VOLTAGE, quantity
from .reading.raw_content import Mention, Place, blocks, entries, name_of, names, text
from .safety.names import names_in_safety


def part_names(document: Document) -> dict[Place, str]:
    """Name of each part by its path: the user's, or its kind and a number."""
    found: dict[Place, str] = {}
    seen: Counter[str] = Counter()
    for path, electrode in blocks(document.content, "electrodes"):
        for inner, part in blocks(electrode, "parts"):
            kind = part.get("kind")
            kind = kind if isinstance(kind, str) else "part"
            seen[kind] += 1
            found[path + inner] = name_of(part) or f"{kind} {seen[kind]}"
    return found


def problems_of_names(document: Document) -> list[Problem]:
    """Names used twice, names that nothing carries, bonds and drives that contradict.

    Parameters
    ----------
    document : Document
        Document of a case, valid or not.
    """
    found = _repeated(document)
    electrodes = names(document.content, "electrodes")
    for mention in _mentions(document, electrodes):
        name = text(mention.name)
        if name and name not in mention.allowed:
            message = not_among(name, mention.allowed, what=mention.what)
            found.append(document.problem(message, path=mention.place))
    return found + _contradictions(document, electrodes) + problems_of_circuit(document)


def _mentions(document: Document, electrodes: list[str]) -> Iterator[Mention]:
    """All names that a case speaks of something by."""
    content = document.content
    for path, bond in blocks(content, "bonds"):
        for place, name in entries(bond, "between"):
            yield Mention(name, path + place, electrodes, "electrode")
    yield from _in_variants(content)
    touched = list(blocks(content.get("study"), "touch"))
    for path, touch in touched:
        yield Mention(
            touch.get("electrode"), ("study", *path, "electrode"), electrodes, "electrode"
        )
    if touched:
        touchable = names(content.get("study"), "touch")
    else:  # the footprint of each driven electrode
        touchable = [
            name
            for _, item in blocks(content, "electrodes")
            if (name := name_of(item)) and _is_driven(item)
        ]
    yield from names_in_safety(content, electrodes=electrodes, touchable=touchable)
    paths = [name for place, name in switch_names(content) if place[0] == "circuit"]
    yield from names_in_earth_tests(content, electrodes=electrodes, paths=paths)
    yield from names_in_measured(content, electrodes=electrodes)
    yield from _in_parts(document)


def _in_variants(content: dict[str, Any]) -> Iterator[Mention]:
    """What variants open and close, and the devices they fit and remove."""
    switches = [name for _, name in switch_names(content)]
    devices = names(content, "protection")
    switched = "bond or path" if content.get("circuit") else "bond"
    for path, variant in blocks(content, "variants"):
        for keys, allowed, what in (
            (("open", "close"), switches, switched),
            (("fit", "remove"), devices, "protective device"),
        ):
            for key in keys:
                for place, name in entries(variant, key):
                    yield Mention(name, path + place, allowed, what)


def _in_parts(document: Document) -> Iterator[Mention]:
    """The parts from which rods hang."""
    every = part_names(document)
    for path, electrode in blocks(document.content, "electrodes"):
        for inner, part in blocks(electrode, "parts"):
            hosts = [
                every[path + other]
                for other, host in blocks(electrode, "parts")
                if host is not part
                and host.get("kind") in ("grid", "ring", "loop", "conductor")
            ]
            for key in ("along", "nodes"):
                if isinstance(part.get(key), dict):
                    where = (*path, *inner, key, "part")
                    what = "part of this electrode to hang from"
                    yield Mention(part[key].get("part"), where, hosts, what)


def _repeated(document: Document) -> list[Problem]:
    content = document.content
    study, safety = content.get("study"), content.get("safety")
    lists: list[tuple[str, list[tuple[Place, str]]]] = [
        ("electrode", [(p, name_of(item)) for p, item in blocks(content, "electrodes")]),
        ("part", list(part_names(document).items())),
        ("bond or path" if content.get("circuit") else "bond", [*switch_names(content)]),
        ("variant", [(p, name_of(item)) for p, item in blocks(content, "variants")]),
        ("earth test", [(p, name_of(item)) for p, item in blocks(content, "earth_tests")]),
        (
            "series of readings",
            [
                (("measured", *p), name_of(item))
                for p, item in blocks(content.get("measured"), "series")
            ],
        ),
        ("profile", [(("study", *p), name_of(item)) for p, item in blocks(study, "profiles")]),
        (
            "touchable metal",
            [(("study", *p), name_of(item)) for p, item in blocks(study, "touch")],
        ),
        *(
            (what, [(("safety", *p), name_of(item)) for p, item in blocks(safety, key)])
            for what, key in (
                ("limit", "limits"),
                ("surface layer", "surface"),
                ("exposure", "exposures"),
            )
        ),
    ]
    found = []
    for what, named in lists:
        first: dict[str, Place] = {}
        for path, name in named:
            if not name:
                continue
            if name in first:
                where = document.place(first[name])
                msg = f"{what} name {name!r} is taken by {where}; give each its own"
                found.append(document.problem(msg, path=path))
            first.setdefault(name, path)
    return found


def _contradictions(document: Document, electrodes: list[str]) -> list[Problem]:
    """Closed bonds whose electrodes cannot share a potential, and cases without any drive."""
    found = []
    given = [item for _, item in blocks(document.content, "electrodes")]
    if given and not any(map(_is_driven, given)):
        msg = "no electrode is driven; give one a voltage or a current other than 0"
        found.append(document.problem(msg, path=("electrodes",)))
    drives = {name_of(item): _drive(item) for item in given}
    joined = {name: {name} for name in electrodes}
    for path, bond in blocks(document.content, "bonds"):
        between = bond.get("between")
        if not (isinstance(between, list) and len(between) == 2):
            continue
        a, b = map(text, between)
        if a == b:
            msg = f"joins {a!r} to itself; name two electrodes"
            found.append(document.problem(msg, path=(*path, "between")))
        elif bond.get("closed") is True and a in joined and b in joined:
            both = joined[a] | joined[b]
            driven = {
                name: drive for name in electrodes if name in both and (drive := drives[name])
            }
            if message := _clash(driven):
                found.append(document.problem(message, path=path))
            joined |= dict.fromkeys(both, both)
    return found


def _clash(driven: dict[str, tuple[str, float | None]]) -> str:
    """Why bonded electrodes cannot have these drives; empty when they can.

    Currents add up, equal voltages agree, floating metal follows.
    """
    voltages = {value for kind, value in driven.values() if kind == "voltage"} - {None}
    kinds = {kind for kind, _ in driven.values()}
    if len(kinds) <= 1 and len(voltages) <= 1:
        return ""
    why = "by voltage and by current" if len(kinds) > 1 else "by different voltages"
    return (
        f"closed, it joins {' and '.join(map(repr, driven))}, driven {why}; "
        "make one of them floating, or open the bond"
    )


def _drive(electrode: dict[str, Any]) -> tuple[str, float | None] | None:
    """Kind and value of a drive, the value None when it cannot be read; None without one."""
    drive = electrode.get("drive")
    for key, kind in (("voltage", VOLTAGE), ("current", CURRENT)):
        if isinstance(drive, dict) and key in drive:
            try:
                return key, quantity(drive[key], kind=kind)
            except CaseError:
                return key, None
    return None


def _is_driven(electrode: dict[str, Any]) -> bool:
    """Whether an electrode has a drive that is not zero; one that cannot be read counts."""
    given = _drive(electrode)
    if given is None:
        drive = electrode.get("drive")
        return not isinstance(drive, dict) or "floating" not in drive
    return given[1] != 0
