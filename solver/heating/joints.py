"""How hot metal may get by the kind of its joints."""

from dataclasses import dataclass

from ..errors import CaseError
from .materials import Material

# [°C]; None is the fusing temperature of the metal itself.
_limits: dict[str, float | None] = {
    "fusing": None,
    "brazed": 450.0,
    "welded": 450.0,
    "bolted": 250.0,
    "pressed": 250.0,
}
JOINTS = tuple(_limits)
"""Kinds of joint that case files can name. ``fusing``: joints shown to outlast the metal, as
exothermic welds and connectors qualified by IEEE Std 837 are."""


@dataclass(frozen=True)
class JointLimit:
    """What limits the temperature of some metal, in words and as a number. [°C]"""

    words: str
    temperature: float


def joint_limit(joint: str, *, material: Material) -> JointLimit:
    """Limit of a kind of joint: about 450 °C brazed or welded, 250 °C bolted or pressed.

    IEEE Std 80-2000 and common practice (from memory). Standards and makers differ (bolted 250
    to 350 °C): a value of one's own goes before (`own_limit`). Metal that melts sooner than its
    joint is limited by that.
    """
    limit = _limits[joint]
    if limit is None or limit >= material.fusing:
        return JointLimit("fusing", material.fusing)
    return JointLimit(joint, limit)


def own_limit(temperature: float, *, material: Material, ambient: float) -> JointLimit:
    """A limit that the user gave.

    Raises
    ------
    CaseError
        If the metal is hotter from the beginning, or melts sooner.
    """
    if not ambient < temperature <= material.fusing:
        msg = (
            f"limit of {temperature:g} °C for {material.name}; it must be above the ambient "
            f"{ambient:g} °C and at most the {material.fusing:g} °C at which it melts"
        )
        raise CaseError(msg)
    return JointLimit("as given", temperature)
