"""Units of length that a drawing may be in."""

from ...solver.errors import CaseError
from ...solver.plan_place import UNITS, Unit
from ..reading.messages import not_among, shown

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
