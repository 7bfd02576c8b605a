"""Total impedance of the body by touch voltage: the tables of IEC TS 60479-1:2005.

Hand to hand, large contact areas, AC 50/60 Hz, for 5, 50 and 95 % of the population, with
dry, water-wet and saltwater-wet skin. All from memory; only the 50 % column of dry skin is
confirmed, through the touch voltages of EN 50522. Skin matters below some 400 V: from there
the tables are one. The 1994 edition has other values; editions are not to be mixed.
"""

from typing import Literal

Skin = Literal["dry", "water-wet", "saltwater-wet"]

# Touch voltage [V]; impedance that 5, 50, 95 % of the population do not exceed [Ω].
_Rows = tuple[tuple[float, float, float, float], ...]

_ANY_SKIN: _Rows = (
    (400, 700, 950, 1275),
    (500, 625, 850, 1150),
    (700, 575, 775, 1050),
    (1000, 575, 775, 1050),
)
_FROM_125: _Rows = (
    (125, 900, 1550, 2675),
    (150, 850, 1400, 2350),
    (175, 825, 1325, 2175),
    (200, 800, 1275, 2050),
    (225, 775, 1225, 1900),
    *_ANY_SKIN,
)
_DRY: _Rows = (
    (25, 1750, 3250, 6100),
    (50, 1375, 2500, 4600),
    (75, 1125, 2000, 3600),
    (100, 990, 1725, 3125),
    *_FROM_125,
)
_WATER_WET: _Rows = (
    (25, 1175, 2175, 4100),
    (50, 1100, 2000, 3675),
    (75, 1025, 1825, 3275),
    (100, 975, 1675, 2950),
    *_FROM_125,
)
_SALTWATER_WET: _Rows = (
    (25, 960, 1300, 1755),
    (50, 940, 1275, 1720),
    (75, 920, 1250, 1685),
    (100, 880, 1225, 1655),
    (125, 850, 1200, 1620),
    (150, 830, 1180, 1590),
    (175, 810, 1155, 1560),
    (200, 790, 1135, 1530),
    (225, 770, 1115, 1505),
    *_ANY_SKIN,
)
TOTAL_IMPEDANCE: dict[Skin, _Rows] = {
    "dry": _DRY,
    "water-wet": _WATER_WET,
    "saltwater-wet": _SALTWATER_WET,
}

# Share of the hand-to-hand impedance in a path: limbs of equal impedance (from memory).
BODY_FACTOR: dict[str, float] = {
    "left hand to both feet": 0.75,
    "right hand to both feet": 0.75,
    "both hands to both feet": 0.5,
    "hand to hand": 1.0,
    "foot to foot": 1.0,
}

# IEC 60479-1:2005 table 12 (from memory): current from left hand to feet that endangers the
# heart as much as a current in this path, as a share of the latter.
HEART_CURRENT_FACTOR: dict[str, float] = {
    "left hand to left foot": 1.0,
    "left hand to right foot": 1.0,
    "left hand to both feet": 1.0,
    "both hands to both feet": 1.0,
    "hand to hand": 0.4,
    "right hand to left foot": 0.8,
    "right hand to right foot": 0.8,
    "right hand to both feet": 0.8,
    "back to right hand": 0.3,
    "back to left hand": 0.7,
    "chest to right hand": 1.3,
    "chest to left hand": 1.5,
    "seat to hands": 0.7,
    "foot to foot": 0.04,
}
