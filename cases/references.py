"""Names in a case file: each once, and each one referred to exists.

This looks at the document itself, not at the validated models, so that a wrong name is
reported beside a wrong unit and not one run later.
"""

from collections import Counter
from collections.abc import Iterator
from difflib import get_close_matches
from typing import Any

from ..errors import Problem
from .documents import Document, Step

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
            close = get_close_matches(name, allowed, n=1)
            hint = f"did you mean {close[0]!r}? " if close else ""
            there = ", ".join(map(repr, allowed[:20])) or "none"
            found.append(
                document.problem(f"no {what} {name!r}; {hint}there are {there}", path=path)
            )

    for path, bond in _items(content, "bonds"):
        between = bond.get("between")
        for number, name in enumerate(between if isinstance(between, list) else []):
            known(name, (*path, "between", number), names, "electrode")
    for path, touch in _items(content.get("study"), "touch"):
        known(touch.get("electrode"), ("study", *path, "electrode"), names, "electrode")
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
    return found + _contradictions(document, names)


def _repeated(document: Document) -> list[Problem]:
    content = document.content
    study = content.get("study")
    lists: list[tuple[str, list[tuple[Path, str | None]]]] = [
        ("electrode", [(p, _name(item)) for p, item in _items(content, "electrodes")]),
        ("part", list(part_names(document).items())),
        ("bond", [(p, _name(item)) for p, item in _items(content, "bonds")]),
        ("profile", [(("study", *p), _name(item)) for p, item in _items(study, "profiles")]),
        (
            "touchable metal",
            [(("study", *p), _name(item)) for p, item in _items(study, "touch")],
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
    """Closed bonds that join two driven electrodes, and cases in which nothing is driven."""
    found = []
    electrodes = list(_items(document.content, "electrodes"))
    driven = {_name(item): _is_driven(item) for _, item in electrodes}
    if electrodes and not any(driven.values()):
        msg = "no electrode is driven; give one a voltage or a current other than 0"
        found.append(document.problem(msg, path=("electrodes",)))
    joined = {name: {name} for name in names}
    for path, bond in _items(document.content, "bonds"):
        between = bond.get("between")
        if not (isinstance(between, list) and len(between) == 2):
            continue
        a, b = (name.strip() if isinstance(name, str) else None for name in between)
        if a == b:
            msg = f"joins {a!r} to itself; name two electrodes"
            found.append(document.problem(msg, path=(*path, "between")))
        if bond.get("closed") is not True or a not in joined or b not in joined or a == b:
            continue
        assert a is not None
        assert b is not None
        both = joined[a] | joined[b]
        with_drive = [name for name in names if name in both and _has_drive(electrodes, name)]
        if len(with_drive) > 1 and joined[a] is not joined[b]:
            msg = (
                f"closed, it joins {' and '.join(map(repr, with_drive))}, each of them "
                "driven; make one of them floating, or open the bond"
            )
            found.append(document.problem(msg, path=path))
        for name in both:
            joined[name] = both
    return found


def _has_drive(electrodes: list[tuple[Path, dict[str, Any]]], name: str) -> bool:
    for _, item in electrodes:
        if _name(item) == name and isinstance(item.get("drive"), dict):
            return "voltage" in item["drive"] or "current" in item["drive"]
    return False


def _is_driven(electrode: dict[str, Any]) -> bool:
    """Whether an electrode has a drive that is not zero; one that cannot be read counts."""
    drive = electrode.get("drive")
    if not isinstance(drive, dict):
        return True
    given = [drive[key] for key in ("voltage", "current") if key in drive]
    if not given:
        return "floating" not in drive
    words = str(given[0]).split()
    try:
        return not words or float(words[0]) != 0
    except ValueError:
        return True


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
