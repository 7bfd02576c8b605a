"""A case under other conditions: what a variant says, laid over what the case says.

A variant repeats the keys of the case with what differs. Blocks are laid over each other key
by key; a key takes the place of those it excludes. Entries of lists with names are found by
their name: they change that entry, are added, or with ``absent: true`` taken away. All else,
a survey and lists without names among it, is given whole. The outcome is a document like any
other, validated and built like one; it remembers where each piece of it was written.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from types import NoneType, UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from ..solver.errors import Problem
from .changes import CHANGEABLE, GIVEN_WHOLE
from .reading.blocks import Block
from .reading.documents import Document, Step
from .reading.messages import not_among
from .reading.raw_content import blocks, name_of, names, put, text
from .schema import CaseFile

Path = tuple[Step, ...]


@dataclass(frozen=True)
class VariantDocument(Document):
    """Content of a case as one of its variants has it."""

    # The document of the case, in which everything was written
    case: Document = field(default_factory=lambda: Document({}))
    # Where the nearest changed or moved things of a path stand in `case`
    origins: dict[Path, Path] = field(default_factory=dict)
    name: str = ""
    # What is to be taken away or switched and is not there
    problems: tuple[Problem, ...] = ()
    # Numbers of the variants of the case that it has: its own, then that which it is also in
    numbers: tuple[int, ...] = ()
    # The case in that other variant, over which it was laid
    below: "VariantDocument | None" = None

    @property
    def prefix(self) -> str:
        """What stands before a problem of something that was written for the case itself."""
        return f"in variant {self.name!r}: "

    def problem(self, message: str, *, path: Path = ()) -> Problem:
        """Problem at a path, said where that was written: in the variant or in the case."""
        origin = self.origin(path)
        own = origin[:1] == ("variants",)
        return self.case.problem(message if own else self.prefix + message, path=origin)

    def place(self, path: Path) -> str:
        """Path as the user reads it, where it was written."""
        return self.case.place(self.origin(path))

    def origin(self, path: Path) -> Path:
        """Path in the document of the case of what a path leads to."""
        for length in range(len(path), -1, -1):
            if (found := self.origins.get(path[:length])) is not None:
                path = found + path[length:]
                break
        return path if self.below is None else self.below.origin(path)


def laid_over(
    document: Document, *, change: dict[str, Any], path: Path, left: tuple[str, ...] = ()
) -> VariantDocument:
    """The case with a change that stands at a path; keys to be left out of it are not taken."""
    laid = _Laid(document)
    content = laid.over(change, path, left)
    return VariantDocument(
        content,
        document.lines,
        document.file,
        document,
        laid.origins,
        name_of(change),
        tuple(laid.problems),
    )


def with_value(document: Document, *, value: Any, at: Path, path: Path) -> VariantDocument:
    """The case with one value that stands at a path put in at another."""
    content = put(document.content, at, value)
    return VariantDocument(content, document.lines, document.file, document, {(): (), at: path})


@dataclass
class _Laid:
    """One variant being laid over its case."""

    document: Document
    origins: dict[Path, Path] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def over(
        self, variant: dict[str, Any], path: Path, left: tuple[str, ...]
    ) -> dict[str, Any]:
        base = {key: item for key, item in self.document.content.items() if key not in left}
        change = {key: item for key, item in variant.items() if key in CHANGEABLE}
        content = self._block(CaseFile, base, (), change, path, ())
        self.origins[()] = path
        for key, wanted, places in _switches(variant):
            for name, place in places:
                switched = self._switched(content, key, name, wanted, (*path, *place))
                if switched is content:
                    message = _nothing_to_switch(content, key, name)
                    self.problems.append(self.document.problem(message, path=(*path, *place)))
                content = switched
        return content

    def _switched(
        self, content: dict[str, Any], key: str, name: str, wanted: bool, origin: Path
    ) -> dict[str, Any]:
        """The content with every bond, path or device of a name set."""
        for list_path in _lists_of[key]:
            here = content
            for step in list_path[:-1]:
                here = here.get(step) if isinstance(here.get(step), dict) else {}  # type: ignore[assignment]
            for place, item in blocks(here, str(list_path[-1])):
                if name_of(item) == name:
                    full: Path = (*list_path[:-1], *place)
                    content = put(content, (*full, _switch[list_path]), wanted)
                    known = self.origins.get(full, full)
                    for inner in item:
                        self.origins.setdefault((*full, inner), (*known, inner))
                    self.origins[full] = origin
                    self.origins[(*full, _switch[list_path])] = origin
        return content

    def _block(
        self,
        model: type[Block],
        base: dict[str, Any],
        base_path: Path,
        change: dict[str, Any],
        change_path: Path,
        here: Path,
    ) -> dict[str, Any]:
        """A block with what a variant gives of it; `here` is its path in the outcome."""
        excluded = {
            key
            for keys in (*model.exactly_one, *model.at_most_one)
            if set(keys) & set(change)
            for key in keys
            if key not in change
        }
        found = {key: item for key, item in base.items() if key not in excluded}
        self.origins[here] = change_path
        for key in found:
            if key not in change:
                self.origins[(*here, key)] = (*base_path, key)
        annotations = {f.alias or name: f.annotation for name, f in model.model_fields.items()}
        for key, value in change.items():
            at, before = (*here, key), found.get(key)
            laid = self._value(
                annotations.get(key),
                before,
                (*base_path, key),
                value,
                (*change_path, key),
                at,
            )
            if laid == [] and before:
                del found[key]  # a list of which nothing is left is left out
            else:
                found[key] = laid
        return found

    def _value(
        self, annotation: Any, base: Any, base_path: Path, change: Any, path: Path, here: Path
    ) -> Any:
        models = list(_models(annotation))
        if isinstance(base, dict) and isinstance(change, dict):
            model = _kind_of(models, change, base)
            if model is not None and not issubclass(model, GIVEN_WHOLE):
                return self._block(model, base, base_path, change, path, here)
        elif isinstance(change, list) and any("name" in m.model_fields for m in models):
            before = base if isinstance(base, list) else []
            return self._named(models, before, base_path, change, path, here)
        self.origins[here] = path
        return change

    def _named(
        self,
        models: list[type[Block]],
        base: list[Any],
        base_path: Path,
        change: list[Any],
        path: Path,
        here: Path,
    ) -> list[Any]:
        """A list of entries with names, changed, added to and taken away from."""
        places = {name_of(item): k for k, item in enumerate(base) if isinstance(item, dict)}
        changed: dict[int, tuple[dict[str, Any], Path]] = {}
        added: list[tuple[Any, Path]] = []
        for number, item in enumerate(change):
            at: Path = (*path, number)
            name = name_of(item) if isinstance(item, dict) else ""
            if name and name in places:
                changed[places[name]] = (item, at)
            elif isinstance(item, dict) and "absent" in item:
                known = [given for given in places if given]
                message = not_among(name, known, what="entry of this list to take away")
                self.problems.append(self.document.problem(message, path=at))
            else:
                added.append((item, at))
        found: list[Any] = []
        self.origins[here] = path
        for k, item in enumerate(base):
            new: Path = (*here, len(found))
            difference, at = changed.get(k, (None, ()))
            if difference is None:
                self.origins[new] = (*base_path, k)
                found.append(item)
            elif difference.get("absent") is True:
                continue
            else:
                model = _kind_of(models, difference, item)
                if model is None:
                    self.origins[new] = at
                    found.append(difference)
                else:
                    laid = self._block(model, item, (*base_path, k), difference, at, new)
                    found.append(laid)
        for item, at in added:
            self.origins[(*here, len(found))] = at
            found.append(item)
        return found


_lists_of: dict[str, tuple[tuple[str, ...], ...]] = {
    "switch": (
        ("bonds",),
        ("circuit", "paths"),
        ("along_metal", "leads"),
        ("along_metal", "joints"),
    ),
    "fit": (("protection",),),
}
_switch: dict[tuple[str, ...], str] = {
    ("bonds",): "closed",
    ("circuit", "paths"): "connected",
    ("along_metal", "leads"): "connected",
    ("along_metal", "joints"): "connected",
    ("protection",): "fitted",
}


def _switches(variant: dict[str, Any]) -> Iterator[tuple[str, bool, list[tuple[str, Path]]]]:
    """What `close`, `open`, `fit` and `remove` of a variant name, and where."""
    for key, kind, wanted in (
        ("close", "switch", True),
        ("open", "switch", False),
        ("fit", "fit", True),
        ("remove", "fit", False),
    ):
        given = variant.get(key)
        listed = given if isinstance(given, list) else []
        yield (
            kind,
            wanted,
            [(text(name), (key, k)) for k, name in enumerate(listed) if text(name)],
        )


def _nothing_to_switch(content: dict[str, Any], key: str, name: str) -> str:
    """Message that a variant has no bond, path or device of a name it switches."""
    what = "bond or path" if content.get("circuit") else "bond"
    known = [
        given
        for *above, last in _lists_of[key]
        for given in names(content.get(above[0]) if above else content, last)
    ]
    return not_among(name, known, what="protective device" if key == "fit" else what)


def _models(annotation: Any) -> Iterator[type[Block]]:
    """Blocks that a field may hold, one or as entries of its list."""
    if isinstance(annotation, type):
        if issubclass(annotation, Block):
            yield annotation
        return
    origin = get_origin(annotation)
    if origin is Annotated:
        yield from _models(get_args(annotation)[0])
    elif origin in (Union, UnionType, tuple):
        for inner in get_args(annotation):
            if inner not in (NoneType, Ellipsis):
                yield from _models(inner)


def _kind_of(
    models: list[type[Block]], change: dict[str, Any], base: Any
) -> type[Block] | None:
    """Block that a change and what it changes are both of; None where that cannot be told."""
    if not isinstance(base, dict):
        return None
    for tag in ("kind", "array"):
        if tag in base or tag in change:
            if change.get(tag, base.get(tag)) != base.get(tag):
                return None  # another kind is given whole
            models = [
                model
                for model in models
                if tag in model.model_fields
                and base.get(tag) in get_args(model.model_fields[tag].annotation)
            ]
    return models[0] if len(models) == 1 else None
