"""Families of cases: what was found of each row, which to look at closer, which is worst."""

from .batch import BadLine, Batch, Difference, RowFound
from .record import Record, record_of
from .remedy import Remedy
from .tiers import needs_elements, sampled, within

__all__ = [
    "BadLine",
    "Batch",
    "Difference",
    "Record",
    "Remedy",
    "RowFound",
    "needs_elements",
    "record_of",
    "sampled",
    "within",
]
