"""What a person or animal can bear: limit sets, feet, body, time-current zones.

Every set answers the same two questions (`LimitSet`): which prospective voltage is
permissible, and what a prospective voltage does. Most values are from memory and say so in
`source`. None of them replaces the standard itself, the local code or licensed practice.
"""

from .body import Body
from .body_table import BODY_FACTOR, HEART_CURRENT_FACTOR, TOTAL_IMPEDANCE, Skin
from .contract import (
    EVERY_EXPOSURE,
    Effect,
    Exposure,
    Limit,
    LimitSet,
    Standing,
    duration_in_words,
)
from .en_50522 import En50522, rebuilt_touch_voltage
from .feet import (
    FOOT_RADIUS,
    disc_layer_factor,
    feet_resistance,
    formula_resistance,
    surface_layer_factor,
)
from .iec_60479 import TOUCH_PATHS, Iec60479
from .ieee_80 import NO_OTHER_BODY, Ieee80
from .livestock import Livestock
from .own import OwnCurrent, OwnVoltage
from .people import PEOPLE, Person, fitted, unjudged
from .time_current import CURVE_MEANING, Curve, LimitCurve, curve_current, zone
from .touch_table import TOUCH_POINTS

__all__ = [
    "BODY_FACTOR",
    "CURVE_MEANING",
    "EVERY_EXPOSURE",
    "FOOT_RADIUS",
    "HEART_CURRENT_FACTOR",
    "NO_OTHER_BODY",
    "PEOPLE",
    "TOTAL_IMPEDANCE",
    "TOUCH_PATHS",
    "TOUCH_POINTS",
    "Body",
    "Curve",
    "Effect",
    "En50522",
    "Exposure",
    "Iec60479",
    "Ieee80",
    "Limit",
    "LimitCurve",
    "LimitSet",
    "Livestock",
    "OwnCurrent",
    "OwnVoltage",
    "Person",
    "Skin",
    "Standing",
    "curve_current",
    "disc_layer_factor",
    "duration_in_words",
    "feet_resistance",
    "fitted",
    "formula_resistance",
    "rebuilt_touch_voltage",
    "surface_layer_factor",
    "unjudged",
    "zone",
]
