r"""What stands behind a stray voltage: from a reading open and one over a known resistor.

A source of :math:`U_0` behind :math:`R_s` drives :math:`U = U_0 R / (R_s + R)` over a resistor
R, so that

.. math:: R_s = R \left(\frac{U_0}{U} - 1\right) .
"""

from ..errors import CaseError

SHUNT = 500.0
"""Resistor that stands for an animal or a person in such readings, by custom. [Ω]"""


def source_resistance(opened: float, *, loaded: float, shunt: float = SHUNT) -> float:
    """Resistance behind a voltage. [Ω]

    Parameters
    ----------
    opened, loaded : float
        Reading without and with the resistor between the same two places, > 0. [V]
    shunt : float, default 500
        The resistor, > 0. [Ω]

    Raises
    ------
    CaseError
        If a value is not above 0, or the loaded reading is above the open one: a source that
        changed meanwhile, or the two were swapped.

    Examples
    --------
    >>> source_resistance(3.0, loaded=2.0)
    250.0
    """
    if not (opened > 0 and loaded > 0 and shunt > 0):
        msg = "readings and resistor have to be above 0; a dead reading says nothing"
        raise CaseError(msg)
    if loaded > opened:
        msg = (
            f"the loaded reading, {loaded:g} V, is above the open one, {opened:g} V: the "
            "source changed between them, or they were swapped; read both again"
        )
        raise CaseError(msg)
    return shunt * (opened / loaded - 1.0)
