"""The words of bills of quantities: prices, what a line is about, how much of it."""

from ...solver.design import BillLine
from .amounts import length
from .text import Text, in_units, say


def cost_text(value: float, *, currency: str | None, signed: bool = False) -> Text:
    """Price in its currency, or metres of metal where there are no prices."""
    if currency is not None:
        sign = "+" if signed and value > 0 else ""
        return say("{} {}", f"{sign}{value:,.0f}".replace("-", "−"), currency)
    sign = "+" if signed and value > 0 else "−" if value < 0 else ""
    return say("{}{} of metal", sign, length(abs(value)))


_names = {
    "conductor": "conductor",
    "rods": "rods",
    "driven": "rod driven",
    "joints": "joints",
    "surface": "surface layer",
    "fixed": "fixed",
}


def bill_name(line: BillLine) -> Text:
    """What a line of a bill is about."""
    if line.what == "conductor":
        return say("conductor of {}", _section(line.section))
    return say("{}", _names.get(line.what, line.what))


def _section(section: float) -> Text:
    return in_units(lambda _: f"{1e6 * section:.4g} mm²")


def bill_amount(line: BillLine) -> Text:
    """How much of it, with its unit."""
    if line.what in ("conductor", "driven"):
        return length(line.amount)
    if line.what == "surface":
        return in_units(
            lambda units: (
                f"{line.amount / 0.9144**3:,.1f} yd³"
                if units == "US"
                else f"{line.amount:,.1f} m³"
            )
        )
    return say(f"{line.amount:,.0f}")
