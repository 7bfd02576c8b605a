"""Designs: what they take and cost, what they reach, and which of them to look at next."""

from .quantities import BillLine, PriceList, Quantities, bill, polygon_area
from .targets import Targets

__all__ = ["BillLine", "PriceList", "Quantities", "Targets", "bill", "polygon_area"]
