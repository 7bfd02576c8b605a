"""Metal that current drives a voltage along: impedances, network, drop."""

from .along_field import AlongField, MetalLines, SolvedAlong
from .internal import Bar
from .network import Feed
from .one_potential import (
    ESTIMATE_TO_RISE,
    NEARLY_TO_RISE,
    TOUCH_OF_DROP,
    FeedPlace,
    MetalDrop,
    OnePotential,
    one_potential,
)

__all__ = [
    "ESTIMATE_TO_RISE",
    "NEARLY_TO_RISE",
    "TOUCH_OF_DROP",
    "AlongField",
    "Bar",
    "Feed",
    "FeedPlace",
    "MetalDrop",
    "MetalLines",
    "OnePotential",
    "SolvedAlong",
    "one_potential",
]
