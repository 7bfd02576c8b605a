"""Sections whose pictures are drawn already, for a page and for paper."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from .contents import Block, Cell, Live, Picture, Section


def stills(chapters: Sequence[Section]) -> tuple[Picture, ...]:
    """Pictures that do not answer to the pointer, in their order."""
    blocks = (block for section in chapters for block in section.blocks)
    return tuple(block for block in blocks if isinstance(block, Picture))


def on_page(
    chapters: Sequence[Section], *, drawn: Sequence[Mapping[str, bytes]]
) -> tuple[Section, ...]:
    """Sections with each still picture as it is given by its units."""
    given = iter(drawn)

    def shown(picture: Picture) -> Picture:
        by_units = next(given)
        return replace(picture, draw=lambda units, ending: by_units[units])

    return _each(
        chapters, lambda block: [shown(block)] if isinstance(block, Picture) else [block]
    )


def on_paper(
    chapters: Sequence[Section],
    *,
    stills: Sequence[bytes],
    live: Mapping[str, Sequence[tuple[bytes, Cell]]],
) -> tuple[Section, ...]:
    """Sections with each still picture as it is given, and others for what is live."""
    given = iter(stills)

    def shown(block: Block) -> Sequence[Block]:
        if isinstance(block, Live):
            return [Picture(_giving(data), caption) for data, caption in live[block.name]]
        if isinstance(block, Picture):
            return [replace(block, draw=_giving(next(given)))]
        return [block]

    return _each(chapters, shown)


def _giving(data: bytes) -> Callable[[str, str], bytes]:
    return lambda units, ending: data


def _each(
    chapters: Sequence[Section], change: Callable[[Block], Sequence[Block]]
) -> tuple[Section, ...]:
    return tuple(
        replace(section, blocks=tuple(new for block in section.blocks for new in change(block)))
        for section in chapters
    )
