"""A family as lines of text for the terminal."""

from ...solver.family import Batch
from ...solver.wording import number_text
from ..words.lines import aligned, hanging, page
from .remedy_words import ABOUT_REMEDIES, remedies_text, remedy_text
from .words import (
    ABOUT_FAMILIES,
    counts_text,
    decides_text,
    share_words,
    standing_text,
    tiers_text,
    unplaced_text,
)

_most_rows, _most_bad, _most_doubts = 10, 20, 10


def batch_text(batch: Batch) -> str:
    """What was found of all rows: counts, the worst, bad ones, what to mind."""
    blocks = [[counts_text(batch), *filter(None, [unplaced_text(batch)]), *tiers_text(batch)]]
    if batch.bad:
        blocks.append(_bad(batch))
    if batch.lost:
        died = ", ".join(batch.lost)
        blocks.append([f"{number_text(len(batch.lost), 'worker')} died on the way: {died}."])
    if doubts := _doubts(batch):
        blocks.append(doubts)
    if batch.remedied:
        blocks.insert(1, _remedies(batch))
    blocks.append([*ABOUT_FAMILIES, *[ABOUT_REMEDIES] * bool(batch.remedied)])
    first, *others = map(_wrapped, blocks)
    return page(f"{batch.title}: {batch.table}", [first, _worst(batch), *others])


def _worst(batch: Batch) -> list[str]:
    """The worst rows in columns, each with what decides; lines that are whole."""
    shown = [
        (row.name, "" if row.fault else share_words(row.best), standing_text(row.best),
         decides_text(row))
        for row in batch.rows[:_most_rows]
    ]  # fmt: skip
    return [
        f"The worst of {number_text(len(batch.rows), 'row')} and what they take of what is "
        "allowed:",
        *aligned(shown, right=1),
    ]


def _remedies(batch: Batch) -> list[str]:
    """What would make the worst rows pass."""
    some = batch.remedied[:_most_rows]
    lines = [f"- {row.name}: {remedy_text(batch, remedy)}" for row, remedy in some]
    if len(batch.remedied) > len(some):
        more = len(batch.remedied) - len(some)
        lines.append(f"and {more:,} more, column 'would pass with' of summary.csv")
    return [*remedies_text(batch), *lines]


def _bad(batch: Batch) -> list[str]:
    lines = [f"{number_text(len(batch.bad), 'bad row')}, in no count of sites that pass:"]
    for item in batch.bad[:_most_bad]:
        lines += [
            f"- {batch.table}:{item.line}: {item.name}: {': '.join(filter(None, problem))}"
            for problem in item.problems
        ]
    if len(batch.bad) > _most_bad:
        lines.append(f"and {len(batch.bad) - _most_bad:,} more in bad-rows.csv")
    return lines


def _doubts(batch: Batch) -> list[str]:
    found = [(row.name, text) for row in batch.rows for text in row.doubts]
    lines = [f"! {name}: {text}" for name, text in found[:_most_doubts]]
    if len(found) > _most_doubts:
        lines.append(f"and {len(found) - _most_doubts:,} more, column 'mind' of summary.csv")
    return lines


def _wrapped(block: list[str]) -> list[str]:
    return [line for text in block for line in hanging(text)]
