"""Units of length that a drawing may be in."""

from dataclasses import dataclass

from ...solver.errors import CaseError
from ..reading.messages import not_among, shown


@dataclass(frozen=True)
class Unit:
    """A unit of length."""

    name: str
    code: int  # in the head of a drawing, from the format
    metres: float


# The survey foot is 1200/3937 m (NIST, Federal Register Notice 2020-21902).
UNITS = (
    Unit("m", 6, 1.0),
    Unit("dm", 14, 0.1),
    Unit("cm", 5, 0.01),
    Unit("mm", 4, 0.001),
    Unit("km", 7, 1000.0),
    Unit("ft", 2, 0.3048),
    Unit("in", 1, 0.0254),
    Unit("yd", 10, 0.9144),
    Unit("US survey ft", 21, 1200.0 / 3937.0),
)
_by_name = {unit.name: unit for unit in UNITS}
_by_code = {unit.code: unit for unit in UNITS}


def unit_name(value: object) -> str:
    """Name of a unit, as a case file may give it; `CaseError` if there is none such."""
    if not isinstance(value, str) or value.strip() not in _by_name:
        raise CaseError(not_among(shown(value), list(_by_name), what="unit of a drawing"))
    return value.strip()


def unit_of(name: str) -> Unit:
    """Unit of one of the names that `unit_name` lets pass."""
    return _by_name[name]


def unit_said(code: int) -> Unit | None:
    """Unit that the head of a drawing says; None where it says none, or one not taken here."""
    return _by_code.get(code)
