"""What would make a row pass: the cheapest of what may be built, or the nearest to it."""

import math
from dataclasses import asdict, dataclass
from typing import Any

from .record import Record


@dataclass(frozen=True)
class Remedy:
    """What was found of the options or designs of one row that does not pass.

    Attributes
    ----------
    name : str
        The cheapest that passes in all conditions or, where none does, the nearest to it;
        empty where none could be solved.
    passes : bool
        Which of them it is.
    count : int
        How many there are.
    price, extra : float
        Of all of it, and over what the row has as it stands, in the currency of the case; of
        designs without prices the length of the metal. [m]
    thin, elements : Record or None
        What each method finds with it; None where that was not asked.
    unsettled : int
        Others that could not be built or solved: cheaper ones where one passes, else of all.
    margin : float
        How near to a limit, as a share of it, thin conductors were believed.
    differ : float
        Most that the methods differ by in the worst share, relative; 0 where only one was
        asked.
    fault : str
        Why nothing could be looked for; empty where it was.
    """

    name: str = ""
    passes: bool = False
    count: int = 0
    price: float = math.nan
    extra: float = math.nan
    thin: Record | None = None
    elements: Record | None = None
    unsettled: int = 0
    margin: float = math.inf
    differ: float = 0.0
    fault: str = ""

    @property
    def best(self) -> Record | None:
        """What it reaches: by finite elements where they could, else by thin conductors."""
        solved = self.elements is not None and self.elements.solved
        return self.elements if solved else self.thin

    def as_tree(self) -> dict[str, Any]:
        """The same as plain values, to be kept as JSON."""
        return asdict(self)

    @classmethod
    def of_tree(cls, tree: Any) -> "Remedy":
        """What `as_tree` gave, read again."""
        records = {
            key: None if tree[key] is None else Record.of_tree(tree[key])
            for key in ("thin", "elements")
        }
        return cls(**{**tree, **records})
