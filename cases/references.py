"""Names in a case file: each once, and each one referred to exists.

This looks at the document itself, guided by the marks of the schema, and not at the validated
models, so that a wrong name is reported beside a wrong unit and not one run later.
"""

from collections import Counter
from collections.abc import Iterator
from typing import Any

from ..solver.errors import CaseError, Problem
from .circuit.names import problems_of_circuit
from .reading.documents import Document
from .reading.messages import not_among
from .reading.naming import Declares, Found, Place, Refers, marked
from .reading.quantities import CURRENT, VOLTAGE, quantity
from .reading.raw_content import blocks, name_of, names, text
from .schema import CaseFile

_hosts = ("grid", "ring", "loop", "conductor")  # kinds of part that rods can hang from


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


def problems_of_names(
    document: Document, *, taken_from: Document | None = None
) -> list[Problem]:
    """Names used twice, names that nothing carries, bonds and drives that contradict.

    Parameters
    ----------
    taken_from : Document or None
        The case of which the document is a variant, for names that only the variant misses.
    """
    content = document.content
    declared, referring = marked(content, CaseFile)
    carried = _by_kind(declared)
    before = {} if taken_from is None else _by_kind(marked(taken_from.content, CaseFile)[0])
    if not any(blocks(content.get("study"), "touch")):
        carried["touchable metal"] = [  # the footprint of each driven electrode
            name
            for _, item in blocks(content, "electrodes")
            if (name := name_of(item)) and _is_driven(item)
        ]
    return [
        *_repeated(document, declared),
        *_unknown(document, referring, carried, before),
        *_contradictions(document, names(content, "electrodes")),
        *problems_of_circuit(
            document, ends=[(r.place, r.name) for r in referring if r.mark.kinds == ("node",)]
        ),
    ]


def _by_kind(declared: list[Found[Declares]]) -> dict[str, list[str]]:
    """Names by the kind of what carries them."""
    found: dict[str, list[str]] = {}
    for one in declared:
        found.setdefault(one.mark.kind, []).append(one.name)
    return found


def _unknown(
    document: Document,
    referring: list[Found[Refers]],
    carried: dict[str, list[str]],
    before: dict[str, list[str]],
) -> Iterator[Problem]:
    """Names that nothing carries; nodes apart, for which the circuit has a rule of its own."""
    for one in referring:
        mark = one.mark
        if mark.kinds == ("node",):
            continue
        if mark.kinds == ("host",):
            there = _hosts_beside(document, one.place)
        elif mark.kinds == ("part",):
            there = list(part_names(document).values())
        else:
            there = [name for kind in mark.kinds for name in carried.get(kind, [])]
        allowed = list(dict.fromkeys([*there, *mark.also]))
        if one.name not in allowed:
            message = not_among(one.name, allowed, what=mark.what)
            if any(one.name in before.get(kind, ()) for kind in mark.kinds):
                message += "; the variant takes it away"
            yield document.problem(message, path=one.place)


def _words(what: str, content: dict[str, Any]) -> str:
    """What something is called in a case: without a circuit nobody needs to hear of paths."""
    return "bond" if what == "bond or path" and not content.get("circuit") else what


def _hosts_beside(document: Document, place: Place) -> list[str]:
    """Names of the parts of an electrode that the rods at a place can hang from."""
    electrode, own = place[:2], place[:4]
    every = part_names(document)
    return [
        every[electrode + inner]
        for inner, part in blocks(document.content[place[0]][place[1]], "parts")
        if electrode + inner != own and part.get("kind") in _hosts
    ]


def _repeated(document: Document, declared: list[Found[Declares]]) -> Iterator[Problem]:
    """Names that something else of their kind has already."""
    first: dict[tuple[str, Place, str], Place] = {}
    claims: list[tuple[str, Place, Place, str]] = [
        ("part", (), path, name) for path, name in part_names(document).items()
    ]
    for one in declared:
        path = one.place[:-1]
        among = path[:-1] if one.mark.in_its_list else ()
        claims.append((one.mark.once_among, among, path, one.name))
    for kind, among, path, name in claims:
        taken = first.setdefault((kind, among, name), path)
        if taken != path:
            what, where = _words(kind, document.content), document.place(taken)
            msg = f"{what} name {name!r} is taken by {where}; give each its own"
            yield document.problem(msg, path=path)


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
