"""Impedance of the body, which falls with the voltage across it, and its current."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from ..errors import CaseError
from .body_table import BODY_FACTOR, TOTAL_IMPEDANCE, Skin
from .contract import refuse_unless_counted

PERCENTILES = (5, 50, 95)

_tables = {skin: np.array(rows) for skin, rows in TOTAL_IMPEDANCE.items()}


@dataclass(frozen=True)
class Body:
    """A body between two contacts.

    Attributes
    ----------
    path : str
        Way of the current, a key of `BODY_FACTOR`.
    percentile : int
        5, 50 or 95: share of the population with an impedance not above this one. A low
        one means a large current.
    skin : {"dry", "water-wet", "saltwater-wet"}
        What the contacts are like; wet skin lets more current pass below some 400 V.

    Raises
    ------
    CaseError
        If path, percentile or skin is not in the tables.

    Notes
    -----
    Total impedance by touch voltage of IEC TS 60479-1:2005 (from memory), linear in the
    voltage between its rows, times the body factor of the path. Below 25 V the value at
    25 V is kept, lower than the true one; above 1000 V the table is level.

    Examples
    --------
    >>> Body("left hand to both feet", percentile=50).impedance(100.0)
    1293.75
    """

    path: str
    percentile: int = 5
    skin: Skin = "dry"

    def __post_init__(self) -> None:
        if self.path not in BODY_FACTOR:
            there = ", ".join(BODY_FACTOR)
            msg = f"no body impedance for the path {self.path!r}; there are {there}"
            raise CaseError(msg)
        if self.percentile not in PERCENTILES:
            msg = f"no body impedance for {self.percentile} %; there are 5, 50 and 95 %"
            raise CaseError(msg)
        if self.skin not in _tables:
            msg = f"no body impedance for {self.skin!r} skin; there are {', '.join(_tables)}"
            raise CaseError(msg)

    def impedance(self, voltage: float) -> float:
        """Total impedance at a voltage across the body. [Ω]

        Parameters
        ----------
        voltage : float
            Voltage across the body, >= 0. [V]

        Raises
        ------
        CaseError
            If the voltage is negative or not finite.
        """
        refuse_unless_counted(voltage, what="voltage across the body", unit="V")
        column = 1 + PERCENTILES.index(self.percentile)
        table = _tables[self.skin]
        whole = np.interp(voltage, table[:, 0], table[:, column])
        return float(BODY_FACTOR[self.path] * whole)

    def voltage(self, current: float) -> float:
        """Voltage across the body that drives a current through it. [V]

        Parameters
        ----------
        current : float
            Body current, >= 0. [A]

        Raises
        ------
        CaseError
            If the current is negative or not finite.

        Notes
        -----
        Solves U = I Z(U). U/Z(U) rises with U in every column, so there is one answer.
        """
        refuse_unless_counted(current, what="body current", unit="A")
        if current == 0:
            return 0.0
        most = current * self.impedance(0.0)  # Z falls with U
        return _root(lambda u: u - current * self.impedance(u), most=most)

    def loaded(self, prospective: float, *, series: float) -> tuple[float, float]:
        """Voltage across the body [V] and current through it [A] behind a resistance.

        Parameters
        ----------
        prospective : float
            Voltage before anybody touches, >= 0. [V]
        series : float
            Feet, shoes and whatever else is in series, >= 0. [Ω]

        Raises
        ------
        CaseError
            If an argument is negative or not finite.
        """
        refuse_unless_counted(prospective, what="prospective voltage", unit="V")
        refuse_unless_counted(series, what="resistance in series", unit="ohm")
        if prospective == 0:
            return 0.0, 0.0
        across = _root(
            lambda u: u + series * u / self.impedance(u) - prospective, most=prospective
        )
        return across, across / self.impedance(across)


def _root(function: Callable[[float], float], *, most: float) -> float:
    """Where a rising function that starts below zero crosses it, at `most` at the latest."""
    if function(most) <= 0:  # at the end itself, but for round-off
        return most
    return float(brentq(function, 0.0, most, xtol=1e-12 * most))
