"""The variants of a case as documents: each over the case, and in other variants too."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from ..solver.errors import Problem
from .changes import NOT_TAKEN
from .differences import Path, VariantDocument, laid_over
from .reading.documents import Document
from .reading.raw_content import blocks, name_of, text

_of_the_case = ("variants", "prices", *NOT_TAKEN)  # what a variant does not have


def variant_documents(document: Document) -> list[VariantDocument]:
    """The case as each of its variants has it, in their order, valid or not.

    One that is also in others is followed by itself in each of them. Variants that are no
    blocks are passed over, and so are names that nothing has.
    """
    given = list(blocks(document.content, "variants"))
    found = []
    for path, variant in given:
        found.append(_variant(document, variant, path))
        for name in _names_in(variant, "also_in"):
            for other, below in given:
                if name_of(below) == name and other != path:
                    found.append(_combined(document, (variant, path), (below, other)))
    return found


def problems_of_combinations(document: Document) -> Iterator[Problem]:
    """Variants that are also in themselves, or whose name in another is taken."""
    given = list(blocks(document.content, "variants"))
    taken = {name_of(variant) for _, variant in given}
    for path, variant in given:
        own = name_of(variant)
        for number, name in enumerate(_names_in(variant, "also_in")):
            at = (*path, "also_in", number)
            both = joined_names((own, name))
            if name == own:
                yield document.problem("is the variant itself; name others", path=at)
            elif both in taken:
                msg = f"makes a variant {both!r}, which there is already; take one of them out"
                yield document.problem(msg, path=at)
            taken.add(both)


def joined_names(names: Sequence[str]) -> str:
    """Name of variants laid over each other."""
    return ", ".join(names)


def _names_in(variant: dict[str, Any], key: str) -> list[str]:
    given = variant.get(key)
    return list(map(text, given)) if isinstance(given, list) else []


def _variant(document: Document, variant: dict[str, Any], path: Path) -> VariantDocument:
    laid = laid_over(document, change=variant, path=path, left=_of_the_case)
    return replace(laid, numbers=(int(path[-1]),))


def _combined(
    document: Document, variant: tuple[dict[str, Any], Path], other: tuple[dict[str, Any], Path]
) -> VariantDocument:
    """A variant laid over the case in another one."""
    below = laid_over(document, change=other[0], path=other[1])
    laid = laid_over(below, change=variant[0], path=variant[1], left=_of_the_case)
    return replace(
        laid,
        case=document,
        name=joined_names((laid.name, below.name)),
        problems=(*below.problems, *laid.problems),
        numbers=(int(variant[1][-1]), int(other[1][-1])),
        below=below,
    )
