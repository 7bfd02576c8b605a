"""Bill of quantities: metres by section, rods, joints, rock, and what they cost."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import CaseError
from ..model import Floats
from ..wording import AS_GIVEN, plain

_same = 0.02  # sections this near are one: a gauge, a diameter and a rounded area


@dataclass(frozen=True)
class Quantities:
    """What a design takes.

    Attributes
    ----------
    conductors : tuple of (float, float)
        Section of the metal, and the length of all conductors that have it. [m²], [m]
    rods : int
        Number of rods.
    driven : float
        Length of all rods. [m]
    joints : int
        Places where metal meets metal.
    surface : float
        Volume of all surface layers. [m³]
    """

    conductors: tuple[tuple[float, float], ...]
    rods: int
    driven: float
    joints: int
    surface: float

    @property
    def metal(self) -> float:
        """Length of all metal. [m]"""
        return sum(length for _, length in self.conductors) + self.driven


@dataclass(frozen=True)
class PriceList:
    """What metal, joints and rock cost.

    Attributes
    ----------
    currency : str
    conductors : tuple of (float, float)
        Section, and the price of a length of it. [m²], [1/m]
    rod, driven : float
        Of each rod, and of a length of it. [1], [1/m]
    joint : float
    surface : float
        Of a volume of surface layer. [1/m³]
    fixed : float
        What every design costs.
    """

    currency: str
    conductors: tuple[tuple[float, float], ...] = ()
    rod: float = 0.0
    driven: float = 0.0
    joint: float = 0.0
    surface: float = 0.0
    fixed: float = 0.0

    def of_section(self, section: float) -> float:
        """Price of a length of conductor. [1/m]

        `CaseError` if there is none for its section.
        """
        for listed, price in self.conductors:
            if math.isclose(listed, section, rel_tol=_same):
                return price
        known = ", ".join(
            f"{plain(1e6 * one, figures=AS_GIVEN)} mm²" for one, _ in self.conductors
        )
        msg = (
            f"no price for conductor of {plain(1e6 * section)} mm²; there are prices for "
            f"{known or 'none'}: add one to prices.conductors"
        )
        raise CaseError(msg)


@dataclass(frozen=True)
class BillLine:
    """One line of a bill.

    Attributes
    ----------
    what : {"conductor", "rods", "driven", "joints", "surface", "fixed"} or str
        What it is; of an option with a price of its own, its name.
    amount : float
        In the unit. [m], [m³], or a number
    section : float
        Of conductor, 0 of all else. [m²]
    price : float or None
        Of all of it; None without a price list.
    """

    what: str
    amount: float
    section: float = 0.0
    price: float | None = None


def bill(
    quantities: Quantities,
    *,
    prices: PriceList | None = None,
    extras: Sequence[tuple[str, float]] = (),
) -> tuple[BillLine, ...]:
    """Lines of the bill of a design, with their prices where there is a price list.

    Parameters
    ----------
    extras : sequence of (str, float)
        Names of options with prices of their own, and those.

    Raises
    ------
    CaseError
        If a conductor has a section without a price.

    Examples
    --------
    >>> taken = Quantities(((50e-6, 120.0),), rods=4, driven=10.0, joints=6, surface=0.0)
    >>> paid = bill(taken, prices=PriceList("EUR", ((50e-6, 9.0),), rod=30.0, driven=12.0))
    >>> sum(line.price for line in paid)
    1320.0
    """
    rates = prices or PriceList("")

    def priced(what: str, amount: float, rate: float, section: float = 0.0) -> BillLine:
        return BillLine(what, amount, section, None if prices is None else amount * rate)

    lines = [
        priced("conductor", length, prices.of_section(section) if prices else 0.0, section)
        for section, length in quantities.conductors
    ]
    lines += [
        priced("rods", quantities.rods, rates.rod),
        priced("driven", quantities.driven, rates.driven),
        priced("joints", quantities.joints, rates.joint),
        priced("surface", quantities.surface, rates.surface),
    ]
    lines = [line for line in lines if line.amount > 0]
    lines += [BillLine(name, 1.0, price=price) for name, price in extras if price > 0]
    if rates.fixed > 0:
        lines.append(BillLine("fixed", 1.0, price=rates.fixed))
    return tuple(lines)


def polygon_area(corners: Floats) -> float:
    """Area of a simple polygon with corners of shape (n, 2). [m²]

    Examples
    --------
    >>> polygon_area(np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]]))
    12.0
    """
    x, y = np.asarray(corners, dtype=float).T
    return float(abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2)
