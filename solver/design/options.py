"""What is built in a run, what it costs, and in which condition it is held."""

from dataclasses import dataclass

from .quantities import BillLine


@dataclass(frozen=True)
class PricedOption:
    """An option in one condition, with its bill.

    Attributes
    ----------
    name : str
        Of the variant that says what is built; empty for what the case has as it stands.
    condition : str
        Of the variant that says in what it is held; empty as the case stands.
    bill : tuple of BillLine
        What all of its metal and its surface layers take and cost.
    currency : str
    """

    name: str
    condition: str
    bill: tuple[BillLine, ...]
    currency: str

    @property
    def price(self) -> float:
        """Of all of it, in the currency."""
        return sum(line.price or 0.0 for line in self.bill)
