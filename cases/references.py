"""Names in a case file: each once, and each one referred to exists.

This looks at the document itself, not at the validated models, so that a wrong name is
reported beside a wrong unit and not one run later.
"""

from collections import Counter
from collections.abc import Iterator
from difflib import get_close_matches
from typing import Any

from ..errors import CaseError, Problem
from .circuit import problems_of_circuit, switch_names
from .documents import Document, Step
from .earth_tests import names_in_earth_tests
from .measured_names import names_in_measured
from .quantities import CURRENT, VOLTAGE, quantity, shown
from .safety_names import names_in_safety

Path = tuple[Step, ...]


def part_names(document: Document) -> dict[Path, str]:
    """Name of each part by its path: the user's, or its kind and a number.

    Parameters
    ----------
    document : Document
        Document of a case.
    """
    names: dict[Path, str] = {}
    seen: Counter[str] = Counter()
    for path, electrode in _items(document.content, "electrodes"):
        for inner, part in _items(electrode, "parts"):
            kind = part.get("kind")
            kind = kind if isinstance(kind, str) else "part"
            seen[kind] += 1
            names[path + inner] = _name(part) or f"{kind} {seen[kind]}"
    return names


def problems_of_names(document: Document) -> list[Problem]:
    """Names used twice, names that nothing carries, bonds and drives that contradict.

    Parameters
    ----------
    document : Document
        Document of a case, valid or not.
    """
    found = _repeated(document)
    content = document.content
    electrodes = {_name(item): item for _, item in _items(content, "electrodes") if _name(item)}
    names = [str(name) for name in electrodes]

    def known(name: object, path: Path, allowed: list[str], what: str) -> None:
        if isinstance(name, str) and name.strip() and name.strip() not in allowed:
            close = get_close_matches(name[:80], allowed, n=1)
            hint = f"did you mean {close[0]!r}? " if close else ""
            there = ", ".join(map(shown, allowed[:20])) or "none"
            found.append(
                document.problem(f"no {what} {shown(name)}; {hint}there are {there}", path=path)
            )

    for path, bond in _items(content, "bonds"):
        between = bond.get("between")
        for number, name in enumerate(between if isinstance(between, list) else []):
            known(name, (*path, "between", number), names, "electrode")
    switches = [name for _, name in switch_names(content)]
    devices = [str(_name(item)) for _, item in _items(content, "protection") if _name(item)]
    what = "bond or path" if content.get("circuit") else "bond"
    for path, variant in _items(content, "variants"):
        for key in ("open", "close"):
            switched = variant.get(key)
            for number, name in enumerate(switched if isinstance(switched, list) else []):
                known(name, (*path, key, number), switches, what)
        for key in ("fit", "remove"):
            named = variant.get(key)
            for number, name in enumerate(named if isinstance(named, list) else []):
                known(name, (*path, key, number), devices, "protective device")
    for path, touch in _items(content.get("study"), "touch"):
        known(touch.get("electrode"), ("study", *path, "electrode"), names, "electrode")
    touchable = [str(_name(item)) for _, item in _items(content.get("study"), "touch")]
    if not touchable:  # the footprint of each driven electrode
        touchable = [name for name, item in electrodes.items() if name and _is_driven(item)]
    for name, where, allowed, what in names_in_safety(
        content, electrodes=names, touchable=touchable
    ):
        known(name, where, allowed, what)
    paths = [name for place, name in switch_names(content) if place[0] == "circuit"]
    for name, where, allowed, what in names_in_earth_tests(
        content, electrodes=names, paths=paths
    ):
        known(name, where, allowed, what)
    for name, where, allowed, what in names_in_measured(content, electrodes=names):
        known(name, where, allowed, what)
    every = part_names(document)
    for path, electrode in _items(content, "electrodes"):
        for inner, part in _items(electrode, "parts"):
            hosts = [
                every[path + other]
                for other, host in _items(electrode, "parts")
                if host is not part
                and host.get("kind") in ("grid", "ring", "loop", "conductor")
            ]
            for key in ("along", "nodes"):
                if isinstance(part.get(key), dict):
                    where = (*path, *inner, key, "part")
                    known(
                        part[key].get("part"),
                        where,
                        hosts,
                        "part of this electrode to hang from",
                    )
    return found + _contradictions(document, names) + problems_of_circuit(document)


def _repeated(document: Document) -> list[Problem]:
    content = document.content
    study, safety = content.get("study"), content.get("safety")
    lists: list[tuple[str, list[tuple[Path, str | None]]]] = [
        ("electrode", [(p, _name(item)) for p, item in _items(content, "electrodes")]),
        ("part", list(part_names(document).items())),
        ("bond or path" if content.get("circuit") else "bond", [*switch_names(content)]),
        ("variant", [(p, _name(item)) for p, item in _items(content, "variants")]),
        ("earth test", [(p, _name(item)) for p, item in _items(content, "earth_tests")]),
        (
            "series of readings",
            [
                (("measured", *p), _name(item))
                for p, item in _items(content.get("measured"), "series")
            ],
        ),
        ("profile", [(("study", *p), _name(item)) for p, item in _items(study, "profiles")]),
        (
            "touchable metal",
            [(("study", *p), _name(item)) for p, item in _items(study, "touch")],
        ),
        *(
            (what, [(("safety", *p), _name(item)) for p, item in _items(safety, key)])
            for what, key in (
                ("limit", "limits"),
                ("surface layer", "surface"),
                ("exposure", "exposures"),
            )
        ),
    ]
    found = []
    for what, named in lists:
        first: dict[str, Path] = {}
        for path, name in named:
            if name is None:
                continue
            if name in first:
                where = document.place(first[name])
                msg = f"{what} name {name!r} is taken by {where}; give each its own"
                found.append(document.problem(msg, path=path))
            first.setdefault(name, path)
    return found


def _contradictions(document: Document, names: list[str]) -> list[Problem]:
    """Closed bonds whose electrodes cannot share a potential, and cases without any drive."""
    found = []
    electrodes = list(_items(document.content, "electrodes"))
    if electrodes and not any(_is_driven(item) for _, item in electrodes):
        msg = "no electrode is driven; give one a voltage or a current other than 0"
        found.append(document.problem(msg, path=("electrodes",)))
    drives = {_name(item): _drive(item) for _, item in electrodes}
    joined = {name: {name} for name in names}
    for path, bond in _items(document.content, "bonds"):
        between = bond.get("between")
        if not (isinstance(between, list) and len(between) == 2):
            continue
        a, b = (name.strip() if isinstance(name, str) else "" for name in between)
        if a == b:
            msg = f"joins {a!r} to itself; name two electrodes"
            found.append(document.problem(msg, path=(*path, "between")))
        elif bond.get("closed") is True and a in joined and b in joined:
            both = joined[a] | joined[b]
            driven = {name: drive for name in names if name in both and (drive := drives[name])}
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


def _name(item: dict[str, Any]) -> str | None:
    name = item.get("name")
    return name.strip() if isinstance(name, str) and name.strip() else None


def _items(content: object, key: str) -> Iterator[tuple[Path, dict[str, Any]]]:
    """Blocks in the list under a key, with their paths; anything else is passed over."""
    items = content.get(key) if isinstance(content, dict) else None
    if isinstance(items, list):
        for number, item in enumerate(items):
            if isinstance(item, dict):
                yield (key, number), item
