"""Designs: what they take and cost, what they reach, and which of them to look at next."""

from .bounds import metal_within
from .curve import Curve, CurvePoint, pays_until
from .evaluation import Condition, Evaluation, Met, Method, Need
from .front import Tried, front, least_gain, side_by_side, undecided
from .looking import met_by
from .options import PricedOption
from .quantities import BillLine, PriceList, Quantities, bill, polygon_area
from .search import neighbours, searched
from .sizing import Excluded, Sizing, Step
from .targets import Targets

__all__ = [
    "BillLine",
    "Condition",
    "Curve",
    "CurvePoint",
    "Evaluation",
    "Excluded",
    "Met",
    "Method",
    "Need",
    "PriceList",
    "PricedOption",
    "Quantities",
    "Sizing",
    "Step",
    "Targets",
    "Tried",
    "bill",
    "front",
    "least_gain",
    "met_by",
    "metal_within",
    "neighbours",
    "pays_until",
    "polygon_area",
    "searched",
    "side_by_side",
    "undecided",
]
