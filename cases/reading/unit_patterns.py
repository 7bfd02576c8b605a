"""Patterns by which an editor tells a quantity with a usual unit from anything else.

They hold the usual units of each kind; what reads a case asks pint, which knows more.
"""

from . import quantities as q

_decimal = r"([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?"
_fraction = "[0-9]+/[0-9]+"
_number = rf"([0-9]+ +{_fraction}|{_fraction}|{_decimal})"
_gauge = r"([1-4]/0|[0-9]|[1-3][0-9]|40) *AWG"
_times = "( *[*·⋅] *|-)"
_micro = "uµ\N{GREEK SMALL LETTER MU}"
_long = "(kilo|mega|centi|milli|micro)?"
_omega = "[Ω\N{OHM SIGN}]"
_ohm = f"([km{_micro}M]?(ohms?|{_omega})|Ohms?|{_long}ohms?)"
_metre = (
    f"([kcdm{_micro}n]?m|{_long}met(er|re)s?|ft|foot|feet|in|inch|inches|"
    "yd|yards?|mi|miles?|thou)"
)
_square = rf"{_metre}(\^2|²)"

_units = {
    q.LENGTH: _metre,
    q.DIAMETER: _metre,
    q.AREA: f"({_square}|k?cmil|MCM)",
    q.VOLUME: rf"({_metre}(\^3|³)|[lL]|lit(er|re)s?)",
    q.RESISTIVITY: f"({_ohm}{_times}{_metre}|{_omega}m)",
    q.FILM_RESISTIVITY: f"{_ohm}{_times}{_square}",
    q.VOLTAGE: f"([km{_micro}M]?V|{_long}volts?)",
    q.CURRENT: f"([km{_micro}M]?A|{_long}amperes?|amp)",
    q.DURATION: f"([m{_micro}]?s|secs?|{_long}seconds?|mins?|minutes?|hr?|hours?|d|days?)",
    q.RESISTANCE: _ohm,
    q.REACTANCE: _ohm,
    q.FREQUENCY: "([kmM]?Hz|hertz)",
    q.MASS: "(k?g|(kilo)?grams?|t|tonnes?|lbs?|pounds?|oz)",
    q.TEMPERATURE: "((deg|°)[CF]|K)",
    q.HEAT_CONDUCTIVITY: "[km]?W */ *m */ *K",
    q.HEAT_CAPACITY: r"[kM]?J */ *c?m(\^3|³) */ *K",
    q.TEMPERATURE_COEFFICIENT: r"K\^-1",
    q.CONDUCTIVITY: f"[km{_micro}M]?S */ *{_metre}",
    q.ANGLE: "(deg|degrees?|rad|radians?|°)",
}


def pattern_of(kind: q.Kind) -> str:
    """Regular expression of JSON Schema: a quantity of a kind with a usual unit."""
    usual = [f"{_number} *{_units[kind]}"]
    if kind.gauge:
        usual.append(_gauge)
    if kind.unit == "m":
        usual.append(f"[0-9]+ *ft +{_number} *in")
    return rf"^\s*[+-]?({'|'.join(usual)})\s*$"
