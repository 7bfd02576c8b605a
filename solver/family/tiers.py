"""Which rows are solved by finite elements: those near a limit, and a sample of the others."""

import random
from collections.abc import Mapping, Sequence

from .record import Record


def within(record: Record, *, band: float) -> bool:
    """Whether the worst share of what is allowed is within a band round all of it.

    Parameters
    ----------
    band : float
        Half the width of the band, as a share of what is allowed; one that is not told apart
        from the limit by its own estimated error is within it however narrow.
    """
    if not record.solved or record.standing in ("melts", "not judged", "no limits"):
        return False
    return abs(record.share - 1.0) <= band or record.least <= 1.0 <= record.most


def needs_elements(record: Record, *, band: float) -> str:
    """Why a row tried by thin conductors is solved by finite elements; empty if it need not."""
    if not record.solved:
        return "thin conductors could not" if record.other_method else ""
    return "near a limit" if within(record, band=band) else ""


def sampled(
    records: Mapping[int, Record], *, left_out: Sequence[int], count: int, seed: int
) -> list[int]:
    """Numbers of rows for proof, drawn from those that were solved, the same for a seed.

    Parameters
    ----------
    records : mapping of int to Record
        By the numbers of the rows.
    left_out : sequence of int
        Rows that are solved by finite elements anyway.
    """
    out = set(left_out)
    able = sorted(k for k, found in records.items() if found.solved and k not in out)
    return sorted(random.Random(seed).sample(able, min(count, len(able))))
